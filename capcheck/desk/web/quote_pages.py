"""The list of quotes, a quote, and what is changed there."""

from __future__ import annotations

import datetime as dt
import shutil
from typing import TYPE_CHECKING, Final

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse

from capcheck.desk.web.answer_pages import taken_as_answers
from capcheck.desk.web.quote_rows import QuoteRow, row_of
from capcheck.desk.web.requests import SIGN, Form, back_to, board_of, desk_of, page, person, quote_of, refuse_unsigned
from capcheck.desk.web.uploads import LIMITS, Arrived, receive
from capcheck.store import STATES, Quote, now_text
from capcheck.values import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.requests import Request
    from starlette.responses import Response

_MOST_QUANTITY: Final = 100_000_000
_LONGEST: Final = 120


def list_of_quotes(request: Request) -> Response:
    """Return the list: what is searched for stands in the address."""
    words = request.query_params.get("q", "").strip()
    state = request.query_params.get("state", "")
    rows = [row_of(quote) for quote in desk_of(request).quotes.all()]
    found = [row for row in rows if (not state or row.state == state) and _matches(row, words)]
    today = dt.date.today().isoformat()  # noqa: DTZ011 - the shop's own calendar day
    return page(
        request,
        "list.html",
        rows=found,
        every=len(rows),
        counts={name: sum(row.state == name for row in rows) for name in STATES},
        words=words,
        state=state,
        today=today,
        limits=LIMITS,
    )


def _matches(row: QuoteRow, words: str) -> bool:
    text = " ".join((row.quote.customer, row.quote.name, *(board.board.name for board in row.boards))).casefold()
    return all(word in text for word in words.casefold().split())


def quote_page(request: Request) -> Response:
    """Return a quote with its boards."""
    quote = quote_of(request)
    desk = desk_of(request)
    row = row_of(quote)
    return page(
        request,
        "quote.html",
        took=request.query_params.get("took", ""),
        row=row,
        quote=quote,
        files=desk.quotes.files(quote.id),
        log=desk.quotes.logged(quote.id),
        folder=desk.of_quote(quote.folder) / "boards",
        limits=LIMITS,
    )


def _facts(form: Form) -> dict[str, str | int | None]:
    """Return customer, name, quantity and due day of a form. Raises :class:`~capcheck.values.InputError`."""
    given = form.get("quantity", "").replace(" ", "").replace(",", "")
    if given and not (given.isdecimal() and 0 < int(given) <= _MOST_QUANTITY):
        raise InputError.at("quantity", f'"{form["quantity"]}" is not a number of boards', remedy="write it like 500")
    due = form.get("due", "")
    if due:
        try:
            due = dt.date.fromisoformat(due).isoformat()
        except ValueError:
            raise InputError.at("due", f'"{due}" is not a day', remedy="write it like 2027-03-31") from None
    return {
        "customer": form.get("customer", "")[:_LONGEST],
        "name": form.get("name", "")[:_LONGEST],
        "quantity": int(given) if given else None,
        "due": due,
    }


async def bring(request: Request) -> Response:
    """Take files for a new quote, or for one that is there; a quote is made only where they came whole.

    One file for a quote that is there is told by its content: a list of its questions is read as answers, anything
    else is a newer revision of its board, where it has one.
    """
    desk = desk_of(request)
    quote, revised = await run_in_threadpool(_told_apart, request)
    made: list[tuple[str, Path]] = []
    signed = request.headers.get("x-desk-sign", "")

    def begin(fields: Form) -> Path:
        refuse_unsigned(request, signed or fields.get(SIGN, ""))
        facts = _facts(fields)
        folder = desk.new_folder() if quote is None else quote.folder
        made.append((folder, desk.arrived(folder, str(facts["name"]) or (quote.name if quote else ""))))
        return made[0][1]

    kept: list[int] = []

    def keep(came: Arrived) -> None:
        folder, source = made[0]
        root = desk.of_quote(folder)
        rows = [(shown, path.relative_to(root).as_posix(), size) for shown, path, size in came.files]
        inside, who = source.relative_to(root).as_posix(), person(request)
        if quote is None:
            facts = _facts(came.fields)
            facts["name"] = facts["name"] or _name_of(came.files[0][0])
            kept.append(desk.quotes.begin({"folder": folder, **facts}, inside, rows, who))
        else:
            desk.quotes.add_files(quote.id, inside, rows, who, revised=revised)
            kept.append(quote.id)

    try:
        came = await receive(request.stream(), request.headers.get("content-type", ""), begin, LIMITS)
        if not came.files:
            raise InputError.at("the files sent", "there are none", remedy="choose files, or drop them on the page")
        told = None
        if quote is not None and len(came.files) == 1:
            told = await taken_as_answers(request, quote, came.files[0][0], came.files[0][1])
        if told is None:
            if quote is not None and revised is None and len(quote.boards) == 1 and quote.boards[0].last_done:
                revised = quote.boards[0].id
            await run_in_threadpool(keep, came)
    finally:
        if made and not kept:  # whatever was in the way, nothing is left of it
            folder, source = made[0]
            shutil.rmtree(desk.of_quote(folder) if quote is None else source.parent, ignore_errors=True)
    request.app.state.crew.poke()
    where = told or f"/quotes/{kept[0]}{'?took=revision' if revised is not None else ''}"
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"location": where})
    return back_to(where)


def _told_apart(request: Request) -> tuple[Quote | None, int | None]:
    """Return the quote and the number of the board that an address names, where it names any."""
    if "board" in request.path_params:
        quote, board = board_of(request)
        return quote, board.id
    return (quote_of(request) if "quote" in request.path_params else None), None


def _name_of(shown: str) -> str:
    """Return a name for a quote: that of the folder or the archive that came first."""
    first, _, rest = shown.partition("/")
    return (first if rest else first.partition(".")[0]).replace("_", " ")[:_LONGEST]


def change_facts(request: Request, form: Form) -> Response:
    """Change customer, name, quantity or due day."""
    quote = quote_of(request)
    desk_of(request).quotes.change(quote.id, person(request), "changed what the quote says", **_facts(form))
    return back_to(f"/quotes/{quote.id}")


def change_state(request: Request, form: Form) -> Response:
    """Say that the customer was asked, that it is decided, or that it is not."""
    quote = quote_of(request)
    changes: dict[str, tuple[str, dict[str, str | int | None]]] = {
        "asked": ("sent the questions", {"waiting_since": now_text(), "decided_at": "", "decision": ""}),
        "decided": ("decided", {"decided_at": now_text(), "decision": form.get("decision", "")[:_LONGEST]}),
        "open": ("opened it again", {"waiting_since": "", "decided_at": "", "decision": ""}),
    }
    if form.get("state") not in changes:
        raise InputError.at("state", "is none that a quote may have", remedy="reload the page")
    what, columns = changes[form["state"]]
    desk_of(request).quotes.change(quote.id, person(request), what, **columns)
    return back_to(f"/quotes/{quote.id}")

"""Answers to open questions: typed, brought in a list, given to the customer, taken back; the mail to him."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from capcheck.desk.answering import CELLS, give_to_customer, new_list, settle, take_back, typed_list
from capcheck.desk.answers_kept import answered_in
from capcheck.desk.areas import AREAS, LANGUAGES, OpenQuestions
from capcheck.desk.letters import LONGEST, Edited, keep_letter
from capcheck.desk.web.board_pages import folder_shown
from capcheck.desk.web.requests import SIGN, Form, back_to, board_of, desk_of, person, refuse_unsigned
from capcheck.desk.web.uploads import UploadLimits, receive
from capcheck.desk.workers import Order, read_form
from capcheck.store import Question, now_text
from capcheck.values import InputError

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.store import Quote, QuoteBoard

LIMITS: Final = UploadLimits(files=1, each=32 * 1024 * 1024, total=32 * 1024 * 1024, field=200_000)
_UNSETTLED: Final = frozenset({"doubted", "changed", "unknown", "words"})


def open_questions_of(request: Request) -> tuple[Quote, QuoteBoard, OpenQuestions]:
    """Return the questions of the board that the address names. Raises HTTPException where none are known yet."""
    quote, board = board_of(request)
    folder = folder_shown(desk_of(request), quote, board)
    found = None if folder is None else read_form(folder / f"{AREAS['open_questions'].name}.json", OpenQuestions)
    if found is None:
        raise HTTPException(409, "The questions are not known yet: wait until the board has been checked.")
    return quote, board, found


def _board_page(quote: Quote, board: QuoteBoard, query: str = "", at: str = "open_questions") -> str:
    return f"/quotes/{quote.id}/boards/{board.id}{query}#{at}"


async def answer(request: Request, form: Form) -> Response:
    """Take one answer: the choice and the figures of a form, or what is assumed, for its question or part."""
    quote, board, open_ = await run_in_threadpool(open_questions_of, request)
    key = form.get("key", "")
    cells = {name: form.get(name, "") for name in CELLS}
    if form.get("accept"):
        cells = {"choice": form["accept"]}
    if not any(text.strip() for text in cells.values()):
        raise InputError.at("the answer", "is empty", remedy="choose one of the boxes, or write something")
    desk, who = desk_of(request), person(request)

    def ordered() -> tuple[str, Order]:
        token, path = new_list(desk, quote, "desk.csv")
        path.write_text(typed_list(key, form.get("asked", ""), cells), encoding="utf-8")
        return token, desk.order_to_answer(quote, board, path, path.parent)

    token, order = await run_in_threadpool(ordered)
    taken = (key,) if form.get("take") else ()
    order = replace(order, by=who, line=open_.line, taken=taken)
    states = await _done(request, order, quote, board, who)
    at = f"q-{key}"
    return back_to(_board_page(quote, board, f"?answer={token}" if states & _UNSETTLED else "", at))


async def _done(request: Request, order: Order, quote: Quote, board: QuoteBoard, who: str) -> set[str]:
    """Have a list worked out and written, and the board checked again where that changes anything.

    It is waited for without a thread: those who wait would else hold all threads that it needs.
    """
    crew, desk = request.app.state.crew, desk_of(request)
    answered = await settle(desk, crew.at_once, order, quote, who)
    if answered.answers:
        await run_in_threadpool(desk.quotes.ask_again, quote.id, board.id, who)
        crew.poke()
    return {one.state for one in answered.told}


async def bring_answers(request: Request) -> Response:
    """Take a list that the customer filled in, a workbook or the text of a mail, and say what became of each answer."""
    quote, board, open_ = await run_in_threadpool(open_questions_of, request)
    desk, who = desk_of(request), person(request)
    signed = request.headers.get("x-desk-sign", "")
    arrived: list[str] = []

    def begin(fields: Form) -> Path:
        refuse_unsigned(request, signed or fields.get(SIGN, ""))
        token, path = new_list(desk, quote, "came")
        arrived.append(token)
        (path.parent / "came").mkdir()
        return path.parent / "came"

    came = await receive(request.stream(), request.headers.get("content-type", ""), begin, LIMITS)
    refuse_unsigned(request, signed or came.fields.get(SIGN, ""))
    pasted = came.fields.get("pasted", "")
    if came.files:
        token, (name, source, _) = arrived[0], came.files[0]
        path = desk.of_answers(quote, token) / f"{token}-{source.name}"
        source.replace(path)
    elif pasted:
        token, path = new_list(desk, quote, "mail.txt")
        path.write_text(pasted, encoding="utf-8")
        name = "a mail"
    else:
        raise InputError.at("the answers", "there are none", remedy="choose the file that came back, or paste the mail")
    by = came.fields.get("by", "") or quote.customer or "the customer"
    order = await run_in_threadpool(desk.order_to_answer, quote, board, path, path.parent)
    order = replace(order, by=f"{by} (customer)", line=open_.line)
    await run_in_threadpool(desk.quotes.log, quote.id, who, "brought answers", name)
    await _done(request, order, quote, board, who)
    where = _board_page(quote, board, f"?answer={token}", "told-answers")
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"location": where})
    return back_to(where)


async def taken_as_answers(request: Request, quote: Quote, shown: str, source: Path) -> str | None:
    """Return where it is told what became of a file's answers; None where it is no list of questions of this quote.

    A worker tells it by what the file holds: the server reads none.
    """
    desk, who, crew = desk_of(request), person(request), request.app.state.crew
    for board in quote.boards:
        folder = await run_in_threadpool(folder_shown, desk, quote, board)
        open_ = None if folder is None else read_form(folder / f"{AREAS['open_questions'].name}.json", OpenQuestions)
        if open_ is None:
            continue
        token, path = await run_in_threadpool(new_list, desk, quote, shown)
        await run_in_threadpool(shutil.copyfile, source, path)
        order = await run_in_threadpool(desk.order_to_answer, quote, board, path, path.parent)
        order = replace(order, by=f"{quote.customer or 'the customer'} (customer)", line=open_.line)
        await crew.at_once(order)
        answered = answered_in(path.parent)
        # A list of another board of the quote has keys that this one does not ask.
        if answered and (len(quote.boards) == 1 or any(one.state != "unknown" for one in answered.told)):
            await run_in_threadpool(desk.quotes.log, quote.id, who, "brought answers", shown)
            await _done(request, order, quote, board, who)
            return _board_page(quote, board, f"?answer={token}", "told-answers")
        await run_in_threadpool(shutil.rmtree, path.parent, ignore_errors=True)
    return None


def undo(request: Request, form: Form) -> Response:
    """Take an answer back, with all that its list changed."""
    quote, board = board_of(request)
    token = form.get("token", "")
    if not token.isalnum():
        raise HTTPException(400, "That names no answer.")
    take_back(desk_of(request), quote, board, token, person(request))
    desk_of(request).quotes.ask_again(quote.id, board.id, person(request))
    request.app.state.crew.poke()
    return back_to(_board_page(quote, board))


def ask_customer(request: Request, form: Form) -> Response:
    """Give one question, or all of them, to the customer."""
    quote, board, open_ = open_questions_of(request)
    wanted = form.get("key", "")
    given = [
        Question(one.key, one.key.partition("-")[0], one.ask, one.asked, one.refs)
        for one in open_.questions
        if not wanted or one.key == wanted
    ]
    if not given:
        raise HTTPException(409, "That question is not open any more: reload the page.")
    desk, who = desk_of(request), person(request)
    give_to_customer(desk, quote, open_.board, given, who)
    if form.get("sent"):
        desk.quotes.change(quote.id, who, "sent the questions", waiting_since=now_text(), decided_at="", decision="")
    return back_to(_board_page(quote, board, at=f"q-{wanted}" if wanted else "letter"))


def edit_letter(request: Request, form: Form) -> Response:
    """Keep the mail as it was edited, or go back to what the program makes."""
    quote, board = board_of(request)
    language = form.get("language", "")
    if language not in LANGUAGES:
        raise HTTPException(400, "There is no such language.")
    desk, who = desk_of(request), person(request)
    text = form.get("text", "").replace("\r\n", "\n")
    if len(text) > LONGEST:
        raise InputError.at("the mail", f"is longer than {LONGEST:,} characters", remedy="shorten it")
    edited = None if form.get("anew") else Edited(text, form.get("version", ""), who, now_text())
    keep_letter(desk.letters_of(quote), board.id, language, edited)
    what = "took the mail as it is made" if edited is None else "edited the mail"
    desk.quotes.log(quote.id, who, what, f"{board.name} ({language})")
    return back_to(_board_page(quote, board, f"?language={language}", "letter"))

"""The shop's library: parts not known over all quotes, filled in once; brought in and taken out as a file."""

from __future__ import annotations

import datetime as dt
import secrets
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from starlette.responses import Response

from capcheck.answers import doubts_of, read_figure
from capcheck.desk.areas import Unknown, UnknownPart
from capcheck.desk.web.board_pages import folder_shown
from capcheck.desk.web.requests import SIGN, Form, back_to, desk_of, page, person, refuse_unsigned
from capcheck.desk.web.uploads import UploadLimits, receive
from capcheck.desk.workers import read_form
from capcheck.model import LeadStyle, Mounting
from capcheck.report import FIGURES
from capcheck.store import Given, PartKey, Statement, as_csv, statements_of_file
from capcheck.values import InputError, Interval, Place, Problem

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.desk.shop_at_desk import Desk

LIMITS: Final = UploadLimits(files=1, each=16 * 1024 * 1024, total=16 * 1024 * 1024)
_CHOICES: Final = {"lead style": tuple(LeadStyle), "mounting": tuple(Mounting)}


class Wanted(Struct):
    """A part of which something is not known, over all quotes: on which boards, how often, how many verdicts wait."""

    part: UnknownPart
    boards: dict[str, str]
    """Where each lies, by its name."""
    count: int = 0
    verdicts: int = 0
    missing: dict[str, None] = {}


def wanted_parts(desk: Desk) -> list[Wanted]:
    """Return the parts of all quotes of which something is missing, those on which most hangs first."""
    found: dict[tuple[str, ...], Wanted] = {}
    for quote in desk.quotes.all():
        for board in quote.boards if not quote.decided_at else ():
            folder = folder_shown(desk, quote, board)
            unknown = None if folder is None else read_form(folder / "library.json", Unknown)
            for part in () if unknown is None else unknown.parts:
                key = _key(part)
                if key is not None:
                    one = found.setdefault(key.compared, Wanted(part, {}))
                    one.boards[f"{board.name} ({quote.customer})"] = f"/quotes/{quote.id}/boards/{board.id}"
                    one.count += len(part.refs)
                    one.verdicts += part.verdicts
                    one.missing |= dict.fromkeys(part.missing)
    return sorted(found.values(), key=lambda one: (-one.verdicts, -one.count))


def _key(part: UnknownPart) -> PartKey | None:
    if part.part_number:
        return PartKey(part.part_number)
    return PartKey(footprint=part.footprint, value=part.value) if part.footprint else None


def library_page(request: Request) -> Response:
    """Return the parts that are not known."""
    desk = desk_of(request)
    return page(
        request,
        "library.html",
        wanted=wanted_parts(desk),
        figures=FIGURES,
        choices=_CHOICES,
        known=len({one.key.compared for one in desk.store.figures()}),
    )


def fill_in(request: Request, form: Form) -> Response:
    """Keep the figures of one part, and have every board with it checked again. Raises InputError for what is none."""
    desk, who = desk_of(request), person(request)
    key = PartKey(form.get("part_number", ""), form.get("footprint", ""), form.get("value", ""))
    if key.part_number:
        key = PartKey(key.part_number)
    values: dict[str, Interval | int | str] = {}
    problems, texts = [], {name: form[name] for name in FIGURES if form.get(name, "").strip()}
    read = {name: read_figure(name, text, "") for name, text in texts.items()}
    for name, figure in read.items():
        if isinstance(figure, Interval | int | str):
            values[name.replace(" ", "_")] = figure
        else:
            why = getattr(figure, "why", "") or "is no figure"
            problems.append(Problem(Place(name), f'"{texts[name]}": {why}', "", "write it with its unit, like 1.2 mm"))
    doubts = doubts_of({n: f for n, f in read.items() if isinstance(f, Interval | int | str)}, texts, [])
    problems += [Problem(Place(doubt.figure), f'"{doubt.text}": {doubt.why}') for doubt in doubts]
    if problems:
        raise InputError(problems)
    if not values or not any(key.compared):
        raise InputError.at("the part", "has no figure filled in", remedy="fill in at least one")
    given = Given(who, dt.datetime.now(dt.UTC).replace(microsecond=0), "entered", "", form.get("data sheet", "")[:500])
    desk.store.record([Statement(key, values, given)])
    desk.quotes.log(None, who, "filled in a part", str(key))
    _check_again(request, key)
    return back_to("/library")


def _check_again(request: Request, key: PartKey | None) -> None:
    """Ask for a check of each board that lacks something of a part; of every part where none is named."""
    desk = desk_of(request)
    for one in wanted_parts(desk):
        own = _key(one.part)
        if key is None or (own is not None and own.compared == key.compared):
            for where in one.boards.values():
                _, _, quote, _, board = where.split("/")
                desk.quotes.ask_again(int(quote), int(board), person(request), "filled in a part")
    request.app.state.crew.poke()


def export(request: Request) -> Response:
    """Return what the shop knows as a package library, which the commands and other shops read."""
    text, _ = as_csv(desk_of(request).store.figures())
    named = {"content-disposition": 'attachment; filename="library.csv"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=named)


async def bring(request: Request) -> Response:
    """Take a package library into the store, all of it or nothing."""
    from starlette.concurrency import run_in_threadpool

    desk, who = desk_of(request), person(request)
    folder = desk.folder / f"library-{secrets.token_hex(8)}"

    def begin(fields: Form) -> Path:
        refuse_unsigned(request, fields.get(SIGN, ""))
        folder.mkdir()
        return folder

    def record(path: Path, name: str) -> None:
        given = Given(who, dt.datetime.now(dt.UTC).replace(microsecond=0), "imported", name[-120:])
        desk.store.record(statements_of_file(path, given))
        desk.quotes.log(None, who, "brought a library", name)
        _check_again(request, None)

    try:
        came = await receive(request.stream(), request.headers.get("content-type", ""), begin, LIMITS)
        if not came.files:
            raise InputError.at("the library", "is not there", remedy="choose a file")
        name, path, _ = came.files[0]
        await run_in_threadpool(record, path, name)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return back_to("/library")

"""A board's page with its areas, each area alone, and the files that can be downloaded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response

from capcheck.desk.answers_kept import answered_in
from capcheck.desk.areas import AREAS, DOWNLOADS, Area, Seen, data_in, style_of_pictures
from capcheck.desk.readings import changes_kept
from capcheck.desk.web.quote_rows import row_of
from capcheck.desk.web.requests import Form, back_to, board_of, desk_of, page, person
from capcheck.desk.web.uploads import LIMITS
from capcheck.desk.workers import CHECKED

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, QuoteBoard, Work


def folder_shown(desk: Desk, quote: Quote, board: QuoteBoard) -> Path | None:
    """Return the folder with what is shown of a board: of the last check that came to something.

    Of a check that runs that is so once its rules are answered; until then the one before it stays.
    """
    shown = work_shown(desk, quote, board)
    folder = None if shown is None else desk.of_work(quote, shown.id)
    return folder if folder is not None and folder.is_dir() else None


def work_shown(desk: Desk, quote: Quote, board: QuoteBoard) -> Work | None:
    """Return the check that is shown of a board."""
    last = board.last
    if last is not None and last.is_open and (desk.of_work(quote, last.id) / CHECKED).exists():
        return last
    return board.last_done or last


def _before(desk: Desk, quote: Quote, board: QuoteBoard) -> Path | None:
    """Return the folder of the check that came to a result before the one that is shown."""
    shown = work_shown(desk, quote, board)
    done = [work for work in board.works if work.outcome == "done" and shown is not None and work.id < shown.id]
    return desk.of_work(quote, done[-1].id) if done else None


def seen_of(request: Request) -> Seen:
    """Return what the address of a request names, as an area shows it."""
    quote, board = board_of(request)
    desk = desk_of(request)
    line = request.query_params.get("line", "")
    number = int(line) if line.isdecimal() and len(line) < 4 else None
    token = request.query_params.get("answer", "")
    return Seen(
        quote,
        board,
        folder_shown(desk, quote, board),
        desk.store,
        number,
        before=_before(desk, quote, board),
        undoable=changes_kept(desk.readings_kept(quote, board)),
        part=request.query_params.get("part", "").strip()[:80],
        earlier=next((folder_shown(desk, quote, one) for one in quote.boards if one.id == board.revises), None),
        answered=answered_in(desk.of_answers(quote, token)) if token.isalnum() else None,
        letters=desk.letters_of(quote),
        language=request.query_params.get("language", ""),
    )


def _data(area: Area, seen: Seen) -> object:
    stored = None
    if area.form is not None:
        stored = data_in(seen.folder, area.name, area.form)
    return area.shown(seen, stored)


def board_page(request: Request) -> Response:
    """Return a board with all its areas."""
    seen = seen_of(request)
    data = {area.name: _data(area, seen) for area in AREAS.values()}
    here = next(row for row in row_of(seen.quote).boards if row.board.id == seen.board.id)
    return page(request, "board.html", limits=LIMITS, seen=seen, areas=AREAS, data_of=data, here=here, Markup=Markup)


def area_alone(request: Request) -> Response:
    """Return one area, for a page that is open already."""
    area = AREAS.get(request.path_params["area"])
    if area is None:
        raise HTTPException(404, "There is no such area.")
    seen = seen_of(request)
    return page(request, "area.html", area=area, seen=seen, data=_data(area, seen), limits=LIMITS, Markup=Markup)


def download(request: Request) -> Response:
    """Return a file that a worker wrote for people to take away."""
    seen = seen_of(request)
    name = request.path_params["name"]
    folder = None if seen.folder is None else seen.folder / DOWNLOADS
    if folder is None or name not in {path.name for path in folder.iterdir() if not path.is_symlink()}:
        raise HTTPException(404, "There is no such file.")
    return FileResponse(folder / name, filename=name, content_disposition_type="attachment")


def check_again(request: Request, _: Form) -> Response:
    """Ask for a check."""
    quote, board = board_of(request)
    desk_of(request).quotes.ask_again(quote.id, board.id, person(request))
    request.app.state.crew.poke()
    return back_to(f"/quotes/{quote.id}/boards/{board.id}")


def picture_style(_: Request) -> Response:
    """Return the look of drawings, for drawings alone."""
    return Response(style_of_pictures(), media_type="text/css")

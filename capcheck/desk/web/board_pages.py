"""A board's page with its areas, each area alone, and the files that can be downloaded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response

from capcheck.desk.answers_kept import answered_in
from capcheck.desk.areas import AREAS, DOWNLOADS, Area, Seen
from capcheck.desk.web.quote_pages import row_of
from capcheck.desk.web.requests import Form, back_to, board_of, desk_of, page, person
from capcheck.desk.workers import read_form
from capcheck.report import PICTURE_STYLE

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, QuoteBoard


def folder_shown(desk: Desk, quote: Quote, board: QuoteBoard) -> Path | None:
    """Return the folder with what is shown of a board: of the check that runs once it has something, else of the last.

    A check again keeps what the last one came to until it is done itself.
    """
    last = board.last
    shown = board.last_done or last
    folder = None if shown is None else desk.of_work(quote, shown.id)
    return folder if folder is not None and folder.is_dir() else None


def _seen(request: Request) -> Seen:
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
        answered_in(desk.of_answers(quote, token)) if token.isalnum() else None,
        desk.letters_of(quote),
        request.query_params.get("language", ""),
    )


def _data(area: Area, seen: Seen) -> object:
    stored = None
    if area.form is not None and seen.folder is not None:
        stored = read_form(seen.folder / f"{area.name}.json", area.form)
    return area.shown(seen, stored)


def board_page(request: Request) -> Response:
    """Return a board with all its areas."""
    seen = _seen(request)
    data = {area.name: _data(area, seen) for area in AREAS.values()}
    here = next(row for row in row_of(seen.quote).boards if row.board.id == seen.board.id)
    return page(request, "board.html", seen=seen, areas=AREAS, data_of=data, here=here, Markup=Markup)


def area_alone(request: Request) -> Response:
    """Return one area, for a page that is open already."""
    area = AREAS.get(request.path_params["area"])
    if area is None:
        raise HTTPException(404, "There is no such area.")
    seen = _seen(request)
    return page(request, "area.html", area=area, seen=seen, data=_data(area, seen), Markup=Markup)


def download(request: Request) -> Response:
    """Return a file that a worker wrote for people to take away."""
    seen = _seen(request)
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
    return Response(f".drawing {{{PICTURE_STYLE}}}", media_type="text/css")

"""Readings of a board changed on its page, and the parts of its picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import JSONResponse

from capcheck.desk.areas import Picture, data_in, parts_of_drawing
from capcheck.desk.readings import FILE_ROLES, LAYER_ROLES, STATABLE, state_reading, undo_reading
from capcheck.desk.web.board_pages import seen_of
from capcheck.desk.web.requests import Form, back_to, board_of, desk_of, person
from capcheck.intake import Role
from capcheck.values import InputError

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

_LAYER = "layer "
_TABLES = ("placements", "bom")


def change_reading(request: Request, form: Form) -> Response:
    """State a reading: *value* of a *key*, the *role* of a *file*, or the *role* of a *column* of a *table*.

    Raises :class:`~capcheck.values.InputError` where it is none that board.toml can state.
    """
    quote, board = board_of(request)
    desk = desk_of(request)
    path, value = _entry(request, form)
    changes = state_reading(desk.of_board(quote, board), desk.readings_kept(quote, board), path, value)
    told = "; ".join(f"{'.'.join(one.path)}: {one.old or 'not stated'} → {one.new or 'not stated'}" for one in changes)
    desk.quotes.log(quote.id, person(request), "stated a reading", f"{board.name}: {told}")
    return _checked_again(request)


def undo(request: Request, _: Form) -> Response:
    """Take the last change of a reading back."""
    quote, board = board_of(request)
    desk = desk_of(request)
    undo_reading(desk.of_board(quote, board), desk.readings_kept(quote, board))
    desk.quotes.log(quote.id, person(request), "took a reading back", board.name)
    return _checked_again(request)


def _checked_again(request: Request) -> Response:
    quote, board = board_of(request)
    desk_of(request).quotes.ask_again(quote.id, board.id, person(request))
    request.app.state.crew.poke()
    return back_to(f"/quotes/{quote.id}/boards/{board.id}#understood")


def _entry(request: Request, form: Form) -> tuple[tuple[str, ...], str]:
    """Return the path of the entry in board.toml, and what it is to say; empty to take it away."""
    role = form.get("role", "")
    if "file" in form:
        name = _file(request, form["file"])
        if role in FILE_ROLES:
            return (role,), name
        if role.removeprefix(_LAYER) in LAYER_ROLES and role.startswith(_LAYER):
            return ("layers", name), role.removeprefix(_LAYER)
        raise _refused("what the file is", role, "choose one of the list")
    if "column" in form:
        if form.get("table") not in _TABLES or role not in set(Role):
            raise _refused("what the column is", role, "choose one of the list")
        return ("columns", form["table"], role), form["column"]
    if form.get("key") not in STATABLE:
        raise _refused("the reading", form.get("key", ""), "choose one of the page")
    return tuple(form["key"].split(".")), form.get("value", "").strip()


def _file(request: Request, number: str) -> str:
    """Return where a file of the board lies in its folder; what a form names is a number, never a path."""
    quote, board = board_of(request)
    for file in desk_of(request).quotes.files(quote.id, board.id):
        if str(file.id) == number:
            return file.path
    raise _refused("the file", number, "reload the page")


def _refused(what: str, given: str, remedy: str) -> InputError:
    return InputError.at(what, f'"{given[:80]}" is none that board.toml can state', remedy=remedy)


def parts(request: Request) -> Response:
    """Return the parts of the picture by row, for the page's script: nothing before it is drawn."""
    seen = seen_of(request)
    picture = data_in(seen.folder, "picture", Picture)
    return JSONResponse([] if picture is None else parts_of_drawing(seen, picture))

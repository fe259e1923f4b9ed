"""A reading of a board changed at the desk: an entry of its board.toml, and the way back.

What may be stated is what board.toml knows: its own model lists the choices and refuses the rest, so that whatever is
changed here can be written by hand, and the command line reads it.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final, Literal, get_args, get_origin

import tomli
from msgspec import Struct
from msgspec.structs import replace

from capcheck.answers import Edit, EntryChange, with_entries, without_entries
from capcheck.model import LayerName, Manifest
from capcheck.values import InputError, load_toml, validate

BOARD_FILE: Final = "board.toml"
_NEW: Final = "# What the files of this board do not say; entries below were stated at the desk.\n"
_MOST_BYTES: Final = 100_000
"""Of a board.toml: what a person writes is shorter by far, and the server reads it itself."""
_LONGEST: Final = 300
_writing: Final = threading.Lock()


class Statable(Struct, frozen=True):
    """A reading that can be stated: its key in board.toml, what it is called, the topics that it settles.

    Without *options* it is written as a text, such as ``"1.6 mm"``; *hint* shows one.
    """

    key: str
    label: str
    topics: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    hint: str = ""


def _literals(annotation: Any) -> tuple[str, ...]:  # noqa: ANN401 - whatever a model says of a field
    """Return the choices that the type of a field allows; none where it is open."""
    if get_origin(annotation) is Literal:
        return tuple(map(str, get_args(annotation)))
    return next((found for inner in get_args(annotation) if (found := _literals(inner))), ())


def _statable(key: str, label: str, *topics: str, hint: str = "") -> Statable:
    model: Any = Manifest
    for step in key.split("."):
        annotation = model.model_fields[step].annotation
        inner = next((t for t in (annotation, *get_args(annotation)) if hasattr(t, "model_fields")), None)
        model = inner or model
    return Statable(key, label, topics, _literals(annotation), hint)


STATABLE: Final = {
    one.key: one
    for one in (
        _statable("units", "Unit of x and y", "unit"),
        _statable("origin.x", "Added to every x", "origin", hint="12.5 mm"),
        _statable("origin.y", "Added to every y", "origin", hint="12.5 mm"),
        _statable("bottom_view", "x of the bottom side", "bottom side"),
        _statable("outline.unit", "Unit of the outline", "outline unit"),
        _statable("outline.layer", "Layer with the contour", "outline contour", hint="name of the layer"),
        _statable("y_axis", "y points", "y axis"),
        _statable("side", "Side of all parts", "side"),
        _statable("decimal", "Decimal mark"),
        _statable("variant", "Column that says what is fitted", "variant", hint="title of the column"),
        _statable("bom_sheet", "Sheet of the BOM", hint="name of the sheet"),
        _statable("size_codes", "System of chip sizes"),
        _statable("length", "Length along x", hint="120 mm"),
        _statable("width", "Width along y", hint="80 mm"),
        _statable("thickness", "Thickness", "thickness", hint="1.6 mm"),
    )
}
"""The readings, those that the picture shows first."""
FILE_ROLES: Final = ("placements", "bom", "outline")
LAYER_ROLES: Final = get_args(LayerName)


def state_reading(folder: Path, kept: Path, path: Sequence[str], value: str) -> tuple[EntryChange, ...]:
    """State *value* at a key *path* of the board's board.toml, or take the entry away where it is empty.

    What the file said before is kept in the folder *kept*. Raises :class:`~capcheck.values.InputError` where the value
    is none that board.toml may have, or where nothing would change; nothing is written then.
    """
    with _writing:
        own = folder / BOARD_FILE
        before, data = _read(own)
        text, changes = _changed(before, _path_in(data, path), value)
        if not changes:
            raise InputError.at(
                ".".join(path),
                "is read so already" if value else "is not stated: it is read from the files",
                remedy="choose another reading",
            )
        validate(Manifest, tomli.loads(text), BOARD_FILE, text)
        kept.mkdir(parents=True, exist_ok=True)
        _whole(kept / f"{len(list(kept.iterdir())):06}.toml", before)
        _whole(own, text)
        return tuple(changes)


def _changed(text: str, path: tuple[str, ...], value: str) -> tuple[str, list[EntryChange]]:
    if len(value) > _LONGEST:
        raise InputError.at(".".join(path), f"is longer than {_LONGEST} characters", remedy="shorten it")
    try:
        return with_entries(text or _NEW, [Edit(path, value)]) if value else without_entries(text, [path])
    except ValueError:
        raise InputError.at(
            BOARD_FILE, "cannot be changed as it is written", remedy="change it where it lies, by hand"
        ) from None


def undo_reading(folder: Path, kept: Path) -> None:
    """Give board.toml back what it said before the last change. Raises InputError where there was none."""
    with _writing:
        last = max(kept.iterdir(), default=None) if kept.is_dir() else None
        if last is None:
            raise InputError.at("the board", "has no change that could be undone", remedy="reload the page")
        text = last.read_text(encoding="utf-8")
        if text:
            _whole(folder / BOARD_FILE, text)
        else:
            (folder / BOARD_FILE).unlink(missing_ok=True)
        last.unlink()


def changes_kept(kept: Path) -> int:
    """Return how many changes can be undone."""
    return len(list(kept.iterdir())) if kept.is_dir() else 0


def _read(own: Path) -> tuple[str, Mapping[str, Any]]:
    """Return the text of a board.toml with its content; empty where there is none."""
    if not own.exists():
        return "", {}
    if own.stat().st_size > _MOST_BYTES:
        raise InputError.at(
            BOARD_FILE,
            f"is larger than {_MOST_BYTES // 1000} kB",
            "the desk changes none that no person has written",
            "shorten it, or change it where it lies",
        )
    try:
        data, text = load_toml(own, BOARD_FILE)
    except InputError as error:
        named = [replace(one, where=replace(one.where, file=BOARD_FILE)) for one in error.problems]
        raise InputError(named) from None
    validate(Manifest, data, BOARD_FILE, text)
    return text, data


def _path_in(data: Mapping[str, Any], path: Sequence[str]) -> tuple[str, ...]:
    """Return the path of a key, where the file names its outline by a table if it does."""
    if tuple(path) == ("outline",) and isinstance(data.get("outline"), dict):
        return ("outline", "file")
    return tuple(path)


def _whole(path: Path, text: str) -> None:
    beside = path.with_name(f".{path.name}.new")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)

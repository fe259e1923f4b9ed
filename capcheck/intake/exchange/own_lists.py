"""The placements and the bill of materials of an IPC-2581 file as lists, and the parts of a component layer.

They count where no table places the parts. They become sheets like those of a workbook, so that all that holds of lists
holds of them; a row is numbered by the line of its element.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from msgspec import Struct

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.components import parts_of_layer
from capcheck.intake.exchange.ipc2581 import Component, Reading2581
from capcheck.intake.files import StepPlaced
from capcheck.values import InputError

_REMEDY: Final = "export it again, or send the placements as a table"
_BEGINNING = 100
_PLACED = ("Designator", "Value", "Footprint", "X (mm)", "Y (mm)", "Rotation", "Side", "Part number")
_BOUGHT = ("Designator", "Quantity", "Fitted", "Part number", "Value", "Description")
_MAKERS = ("Manufacturer part number", "Alternative")


_IN_LAYERS = (*_PLACED[:-1], "Manufacturer part number", "Manufacturer")


class ListOfParts(Struct, frozen=True):
    """A list of a file under its name: a row of titles and one for each part; *lines* are those of the file."""

    name: str
    rows: list[list[str]]
    lines: list[int]


def lists_of_parts(file: Path) -> list[ListOfParts]:
    """Return the placements of a file and what it says is bought, read in the reading process.

    Raises :class:`~capcheck.values.InputError` where it is damaged, states no unit or has no component.
    """
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), list[ListOfParts])


def read_here(file: str, _argument: bytes) -> list[ListOfParts]:
    """Return the same, read in this process.

    Raises :class:`~capcheck.values.InputError` where it is damaged, states no unit or has no component.
    """
    with Path(file).open("rb") as stream:
        is_markup = stream.read(_BEGINNING).lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"<")
    return _lists_of_markup(file) if is_markup else [_list("placements", _IN_LAYERS, _in_layer(file))]


def _in_layer(file: str) -> Iterator[tuple[int, list[str]]]:
    """Yield a row for each part of a component layer."""
    for part in parts_of_layer(file):
        said = part.said
        names = said.get("CFtp", "") or said.get("CPkg", "")
        at = f"{part.at[0]:.6f}", f"{part.at[1]:.6f}"
        bought = said.get("CMPN", ""), said.get("CMfr", "")
        yield part.line, [part.ref, said.get("CVal", ""), names, *at, _angle(part.turned_deg), part.side, *bought]


def _angle(turned_deg: float | None) -> str:
    """Return an angle as a cell, blank where it is not known."""
    return "" if turned_deg is None else f"{turned_deg:g}"


def _lists_of_markup(file: str) -> list[ListOfParts]:
    read = Reading2581.of(file)
    if read.unit is None or not read.components:
        what = "it states no unit that is known" if read.components else "it has no component"
        raise InputError.at(file, what, "nothing is placed by it", "export it again, with its assembly data")
    placed = [(part.line, _placed(read, part, within)) for within, part in read.built()]
    found = [_list("placements", _PLACED, placed)]
    if any(item.refs for item in read.items):
        titles = (*_BOUGHT, *_MAKERS) if read.makers else _BOUGHT
        found.append(_list("bill of materials", titles, ((line, row[: len(titles)]) for line, row in _bought(read))))
    return found


def _list(name: str, titles: tuple[str, ...], rows: Iterable[tuple[int, list[str]]]) -> ListOfParts:
    kept = list(rows)
    return ListOfParts(name, [list(titles), *(row for _, row in kept)], [1, *(line for line, _ in kept)])


def _placed(read: Reading2581, part: Component, within: StepPlaced) -> list[str]:
    at = read.middle(part, within)
    x, y = ("", "") if at is None else (f"{at[0]:.6f}", f"{at[1]:.6f}")
    side = read.sides.get(part.layer, "")
    # What is turned within a panel adds to the angle as seen from above: of the underside it is the other way round.
    turn = -within.turned_deg if part.mirrored else within.turned_deg
    known = part.turned_deg is not None and (part.mirrored is not None or not turn)
    angle = (part.turned_deg + turn) % 360.0 if known and part.turned_deg is not None and turn else part.turned_deg
    return [part.ref, part.value, part.package, x, y, _angle(angle if known else None), side, part.part]


def _bought(read: Reading2581) -> Iterable[tuple[int, list[str]]]:
    """Yield a row for the references of each item of which the same is said of fitting them."""
    for item in read.items:
        first, *others = [*read.makers.get(item.number, []), ""]
        told = [item.number, item.value, item.description, first, ", ".join(filter(None, others))]
        by_said: dict[str, list[tuple[str, int]]] = {}
        for ref, fitted, line in item.refs:
            if ref:
                by_said.setdefault(fitted, []).append((ref, line))
        for fitted, own in by_said.items():
            refs = ", ".join(ref for ref, _ in own)
            yield own[0][1], [refs, str(len(own)), fitted, *told]

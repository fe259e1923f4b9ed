"""The placements and the bill of materials of an IPC-2581 file as lists; the parts of layers, IDF, netlists.

They count where no table places the parts. They become sheets like those of a workbook, so that all that holds of lists
holds of them; a row is numbered by the line of its element.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.confined import Reader, decoded
from capcheck.intake.exchange import idf, netlist, pads
from capcheck.intake.exchange.components import parts_of_layer
from capcheck.intake.exchange.form import Form, form_of
from capcheck.intake.exchange.ipc2581 import Component, Reading2581
from capcheck.intake.exchange.lands import Land, Netlist, joined, lands_of_parts, lie_evenly
from capcheck.intake.exchange.on_board import Lie, angle_within, either_order, place_of_point
from capcheck.intake.files import StepPlaced
from capcheck.values import InputError

_REMEDY: Final = "export it again, or send the placements as a table"
_HEAD_BYTES: Final = 64 * 1024
_PLACED = ("Designator", "Value", "Footprint", "X (mm)", "Y (mm)", "Rotation", "Side", "Part number")
_BOUGHT = ("Designator", "Quantity", "Fitted", "Part number", "Value", "Description")
_MAKERS = ("Manufacturer part number", "Alternative")


_IN_LAYERS = (*_PLACED[:-1], "Manufacturer part number", "Manufacturer")
_IN_NETLIST = ("Designator", "X (mm)", "Y (mm)", "Side")


class ListOfParts(Struct, frozen=True):
    """A list of a file under its name: a row of titles and one for each part; *lines* are those of the file."""

    name: str
    rows: list[list[str]]
    lines: list[int]


def lists_of_parts(file: Path, beside: Sequence[Path] = ()) -> list[ListOfParts]:
    """Return the placements of a file and what it says is bought, read in the reading process.

    *beside* are others of its form: libraries of IDF say where the middle of a package is; of layers of copper the
    first lists what all name. Raises :class:`~capcheck.values.InputError` where the file is damaged, states no unit or
    has no component.
    """
    known = [str(one) for one in beside if one != file]
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), list[ListOfParts], known)


def read_here(file: str, argument: bytes) -> list[ListOfParts]:
    """Return the same, read in this process.

    Raises :class:`~capcheck.values.InputError` where it is damaged, states no unit or has no component.
    """
    with Path(file).open("rb") as stream:
        form = form_of(stream.read(_HEAD_BYTES))
    if form is Form.IPC2581:
        return _lists_of_markup(file)
    if form is Form.IDF:
        return _lists_of_idf(file, decoded(argument, list[str]))
    if form is Form.NETLIST:
        return [_list("placements", _IN_NETLIST, _in_netlist(file))]
    if form is Form.PADS:
        return _lists_of_pads(file, decoded(argument, list[str]))
    return [_list("placements", _IN_LAYERS, _in_layer(file))]


def _lists_of_idf(file: str, libraries: Sequence[str]) -> list[ListOfParts]:
    """Return the placements of a board; a library and a panel of boards list none of one."""
    read = idf.read_here(file, b"")
    if not read.is_board:
        return []
    if read.torn or not read.placed:
        what = f"its section of placements is damaged at line {read.torn}" if read.torn else "it places no part"
        raise InputError.at(file, what, "which parts the board has is not known from it", _REMEDY)
    heights = [*read.heights]
    for library in libraries:
        try:
            heights += idf.read_here(library, b"").heights
        except InputError:  # said where what it states of heights is read
            continue
    middles: dict[tuple[str, str], set[tuple[float, float] | None]] = {}
    for package in heights:
        middles.setdefault(package.package, set()).add(package.middle)
    placed = []
    for part in read.placed:
        told = middles.get(part.package, set())
        middle = next(iter(told)) if len(told) == 1 else None
        name, number = part.package
        at = _cells(None if middle is None or part.at is None else place_of_point(part.at, middle, _lies(part)))
        placed.append((part.line, [part.ref, "", name, *at, _angle(_known_angle(part)), part.side, number]))
    return [_list("placements", _PLACED, placed)]


def _lies(part: idf.Placing) -> list[Lie]:
    """Return how a part may lie: in which order one of the underside is turned and mirrored is from memory."""
    if part.turned_deg is None:
        return []
    return [Lie(part.turned_deg, mirrored=False)] if part.side == "top" else either_order(part.turned_deg)


def _known_angle(part: idf.Placing) -> float | None:
    """Return the angle of a part; None where its body lies otherwise by either order of turning and mirroring."""
    is_oblique = part.turned_deg is not None and part.turned_deg % 90.0 != 0.0
    return None if is_oblique and len(_lies(part)) > 1 else part.turned_deg


def _in_netlist(file: str) -> Iterator[tuple[int, list[str]]]:
    """Yield a row for each part of a netlist. Raises :class:`~capcheck.values.InputError` where it is damaged."""
    read = netlist.read_here(file, b"")
    damage = {
        f"{read.unread} of its records are damaged": bool(read.unread),
        "it states no unit that is known": not read.unit,
        "it breaks off: the record 999 that ends it is missing": not read.has_end,
    }
    if what := "; ".join(said for said, is_so in damage.items() if is_so):
        raise InputError.at(file, what, "nothing is placed by it", _REMEDY)
    yield from _by_lands(read)


def _lists_of_pads(file: str, beside: Sequence[str]) -> list[ListOfParts]:
    """Return what layers of copper name: listed by the first of them, for a joint in a hole stands in both.

    Raises :class:`~capcheck.values.InputError` where there is but one: it would be a board without its other side.
    """
    if not beside:
        raise InputError.at(file, "it names the pins of one side", "the layer of the other side is not there", _REMEDY)
    if file > min(beside):
        return []
    read = [pads.read_here(one, b"") for one in (file, *beside)]
    if not any(one.lands for one in read):
        return []
    whole = replace(read[0], lands=joined(land for one in read for land in one.lands))
    return [_list("placements", _IN_NETLIST, _by_lands(whole))]


def _by_lands(read: Netlist) -> Iterator[tuple[int, list[str]]]:
    """Yield a row for each part: its side, and as its place the middle of its lands, where they lie evenly about it.

    Where pins may be missing the middle of the others is none of the part's.
    """
    lands: dict[str, list[Land]] = {}
    for land in read.lands:
        lands.setdefault(land.ref, []).append(land)
    for part in lands_of_parts(read).values():
        is_whole = part.pins is not None or part.is_pair
        known = [(land.size, land.at) for land in lands[part.ref] if land.at is not None]
        is_sure = is_whole and part.middle is not None and lie_evenly(known, part.middle)
        yield part.line, [part.ref, *_cells(part.middle if is_sure else None), part.side]


def _in_layer(file: str) -> Iterator[tuple[int, list[str]]]:
    """Yield a row for each part of a component layer."""
    for part in parts_of_layer(file):
        said = part.said
        names = said.get("CFtp", "") or said.get("CPkg", "")
        at = f"{part.at[0]:.6f}", f"{part.at[1]:.6f}"
        bought = said.get("CMPN", ""), said.get("CMfr", "")
        yield part.line, [part.ref, said.get("CVal", ""), names, *at, _angle(part.turned_deg), part.side, *bought]


def _cells(at: tuple[float, float] | None) -> tuple[str, str]:
    """Return a place as two cells, blank where it is not known."""
    return ("", "") if at is None else (f"{at[0]:.6f}", f"{at[1]:.6f}")


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
    lies = read.lies(part)
    angle = angle_within(lies, within.turned_deg) if within.turned_deg or len(lies) != 1 else part.turned_deg
    return [part.ref, part.value, part.package, x, y, _angle(angle), side, part.part]


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
            # Where some are fitted and others are not the item's quantity is of neither.
            quantity = item.quantity if len(by_said) == 1 and item.quantity else str(len(own))
            yield own[0][1], [refs, quantity, fitted, *told]

"""Boards and libraries in the Intermediate Data Format, version 3.0: which part lies where, and how high it is.

A file begins with a section HEADER: its kind and version, then the board's name and unit (MM or THOU). The section
PLACEMENT of a board has two records a part: package, part number and reference; x, y, offset, angle, side and status. A
library has a section ELECTRICAL or MECHANICAL for each package, whose first record is package, part number, unit and
height. Texts with blanks stand in quotes, ``#`` begins a comment. Source: Intermediate Data Format, Mechanical Data
Exchange Specification, Version 3.0 Revision 1 of 1996-10-31 (non-proprietary); the records are from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.arcs import way_turned
from capcheck.intake.exchange.lands import PartLands, middle_of, outline_of, without_filled
from capcheck.intake.files import lines_within_budget
from capcheck.values import InputError, pattern

_REMEDY: Final = "export it again as version 3.0, or leave it out with fabrication = false in board.toml"
_MOST: Final = 50_000
_MM_PER: Final = {"MM": 1.0, "THOU": 0.0254}
_FIELD: Final = pattern(r'"([^"]*)"|(\S+)')
_LEAST_MM, _GREATEST_MM = 0.05, 150.0
"""Bodies are higher and lower than that: else the unit is wrong."""
_CIRCLE: Final = 360.0
_ATTRIBUTE: Final = "PROP"
"""What a record of a package begins with that is no point."""
_CLOSED_MM: Final = 0.01
"""So near lie the ends of a line that is closed: files round."""
_NO_PART: Final = frozenset({"NOREFDES", ""})
_SIDES: Final = frozenset({"top", "bottom"})
_NOT_PLACED: Final = "UNPLACED"
"""The status of a part whose place is none yet, whatever stands there."""
_BOARD: Final = "BOARD"
"""What a panel calls the boards that it holds."""
_SHARED_BY: Final = 3
_SHARED: Final = 0.25


class Placing(Struct, frozen=True, array_like=True):
    """Where a board has a part, in mm, and the package that it is."""

    ref: str
    """Blank for a part that has none."""
    package: tuple[str, str]
    at: tuple[float, float] | None
    """The place of the package's origin; None of a part that is not placed yet."""
    side: str
    turned_deg: float | None = None
    line: int = 0


class Height(Struct, frozen=True, array_like=True):
    """How high a package is."""

    package: tuple[str, str]
    line: int
    height_mm: float
    file: int = 0
    outline: tuple[float, float] | None = None
    middle: tuple[float, float] | None = None
    """That of the outline's box, from the package's origin."""


class Idf(Struct):
    """What a board or a library says."""

    placed: list[Placing] = field(default_factory=list)
    heights: list[Height] = field(default_factory=list)
    unread: int = 0
    """Records that are damaged, and heights that no part has."""
    torn: int = 0
    """The line of a section of placements that breaks off, or of its first damaged record; 0 where there is none."""
    is_board: bool = False


def read_idf(file: Path) -> Idf:
    """Return what a board or a library says, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), Idf)


def read_here(file: str, _argument: bytes) -> Idf:
    """Return what a board or a library says, read in this process. Raises :class:`InputError`."""
    records = _records(lines_within_budget(file, _REMEDY))
    found = Idf()
    unit = None
    for name, section, has_end in _sections(records, file):
        if name == ".HEADER":
            unit = _unit(section, file)
            found.is_board = section[0][1][0].upper().startswith("BOARD")
        elif name == ".PLACEMENT":
            _read_placement(section, unit, found, file)
            if not has_end:
                found.torn = found.torn or (section[-1][0] if section else 1)
        elif name in {".ELECTRICAL", ".MECHANICAL"}:
            _read_package(section, found)
        if len(found.placed) + len(found.heights) > _MOST:
            raise _too_many(file)
    return found


def _too_many(file: str) -> InputError:
    return InputError.at(file, f"it has more than {_MOST:,} parts", "no board has so many", _REMEDY)


Record = tuple[int, list[str]]


def _records(lines: Iterable[str]) -> Iterator[Record]:
    for number, line in enumerate(lines, start=1):
        if line.strip() and not line.lstrip().startswith("#"):
            quoted = '"' in line
            yield number, [text or bare for text, bare in _FIELD.findall(line)] if quoted else line.split()


def _sections(records: Iterable[Record], file: str) -> Iterator[tuple[str, list[Record], bool]]:
    """Yield each section with its records, and whether it has an end; one without is yielded as far as it goes."""
    name, section = "", list[Record]()
    for record in records:
        word = record[1][0].upper() if record[1] else ""
        if word.startswith(".END_"):
            yield name, section, True
            name, section = "", []
        elif word.startswith("."):
            if name:
                yield name, section, False
            name, section = word, []
        else:
            section.append(record)
            if len(section) > 2 * _MOST:
                raise _too_many(file)
    if name:
        yield name, section, False


def _unit(header: Sequence[Record], file: str) -> float | None:
    """Return mm per unit of a board; None of a library, whose packages have units of their own."""
    kind, version = (header[0][1] + ["", ""])[:2] if header else ("", "")
    if not version.startswith("3"):
        raise InputError.at(file, f'it is of version "{version}"', "only version 3.0 is read", _REMEDY)
    if kind.upper().startswith("LIBRARY"):
        return None
    unit = header[1][1][-1].upper() if len(header) > 1 else ""
    if unit not in _MM_PER:
        raise InputError.at(file, f'"{unit}" is not a unit', "it is MM or THOU in such a file", _REMEDY)
    return _MM_PER[unit]


def _turn(text: str) -> float | None:
    turned = _numbers([text])
    return None if turned is None else turned[0]


def _read_placement(section: Sequence[Record], unit: float | None, found: Idf, file: str) -> None:
    if unit is None:
        raise InputError.at(file, "it places parts before it states its unit", "", _REMEDY)
    for (line, names), (_, at) in zip(section[::2], section[1::2], strict=False):
        side = at[4].casefold() if len(at) > 4 else ""
        if len(names) < 3 or side not in _SIDES or (place := _numbers(at[:2])) is None:
            found.unread += 1
            found.torn = found.torn or line
            continue
        ref = names[2].strip()
        if ref.upper() != _BOARD:
            is_placed = at[5:6] != [_NOT_PLACED]
            where = (round(place[0] * unit, 6), round(place[1] * unit, 6)) if is_placed else None
            ref = "" if ref.upper() in _NO_PART else ref
            found.placed.append(Placing(ref, (names[0], names[1]), where, side, _turn(at[3]), line))
    if len(section) % 2:
        found.unread += 1
        found.torn = found.torn or section[-1][0]


def _read_package(section: Sequence[Record], found: Idf) -> None:
    line, names = section[0] if section else (0, [])
    unit = _MM_PER.get(names[2].upper()) if len(names) > 3 else None
    height = _numbers(names[3:4])
    if unit is None or height is None or not _LEAST_MM <= height[0] * unit <= _GREATEST_MM:
        found.unread += 1
        return
    corners = _corners(section[1:], _CLOSED_MM / unit)
    corners = [(x * unit, y * unit) for x, y in corners]
    outline = outline_of(corners)
    if corners and outline is None:  # no body is so small, or so large: its unit is another one
        found.unread += 1
        return
    found.heights.append(Height((names[0], names[1]), line, round(height[0] * unit, 6), 0, outline, middle_of(corners)))


def _corners(records: Sequence[Record], slack: float) -> list[tuple[float, float]]:
    """Return points whose box is that of a package's outline; none where a line of it is torn or cannot be followed.

    A record is the number of a loop, x, y and how far the arc from the point before turns; 360 is a circle about that.
    A loop ends within *slack* of where it begins.
    """
    loops: dict[str, list[tuple[float, float, float]]] = {}
    for _, texts in records:
        if texts[0].upper() == _ATTRIBUTE:
            continue
        values = _numbers(texts)
        if values is None or len(values) != 4:
            return []
        loops.setdefault(texts[0], []).append((values[1], values[2], values[3]))
    found: list[tuple[float, float]] = []
    for points in loops.values():
        way = _way(points, slack)
        if way is None:
            return []
        found += way
    return found


def _way(points: Sequence[tuple[float, float, float]], slack: float) -> list[tuple[float, float]] | None:
    """Return points along a loop; None where it is no closed line."""
    (x, y, first), *others = points
    if len(others) == 1 and abs(others[0][2]) == _CIRCLE:
        reach = math.dist((x, y), others[0][:2])
        return [(x - reach, y - reach), (x + reach, y + reach), (x, y)] if reach > 0 else None
    at = (x, y)
    found = [at]
    for u, v, angle in others:
        way = way_turned(at, (u, v), angle) if angle else []
        if way is None:
            return None
        found += [*way, (u, v)]
        at = (u, v)
    return None if first or math.dist(found[0], at) > slack else found


def _numbers(texts: Sequence[str]) -> list[float] | None:
    try:
        values = [float(text) for text in texts]
    except ValueError:
        return None
    return values if values and all(math.isfinite(value) for value in values) else None


def heights_of_parts(placed: Iterable[Placing], heights: Iterable[Height]) -> dict[str, PartLands]:
    """Return what boards and libraries state of each reference; of one with two places nothing.

    A height that a quarter of all packages share is what an export fills in where none is known.
    """
    every = list(heights)
    shared = Counter(height.height_mm for height in {one.package: one for one in every}.values())
    kinds = sum(shared.values())
    filled = {mm for mm, count in shared.items() if count >= _SHARED_BY and count >= _SHARED * kinds}
    outlines = without_filled({one.package: one.outline for one in every})
    known: dict[tuple[str, str], list[Height]] = {}
    for height in every:
        known.setdefault(height.package, []).append(height)
    found: dict[str, PartLands] = {}
    twice: set[str] = set()
    for part in placed:
        if not part.ref:
            continue
        if part.ref in found:
            twice.add(part.ref)
        stated = known.get(part.package, [])
        agreed = stated[0] if len({one.height_mm for one in stated}) == 1 else None
        found[part.ref] = PartLands(
            ref=part.ref,
            file=agreed.file if agreed else 0,
            line=agreed.line if agreed else 0,
            side=part.side,
            middle=part.at,
            height_mm=agreed.height_mm if agreed and agreed.height_mm not in filled else None,
            turned_deg=part.turned_deg,
            number=part.package[1],
            outline=outlines.get(part.package) if agreed else None,
        )
    return {ref: part for ref, part in found.items() if ref not in twice}

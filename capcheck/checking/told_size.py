"""What texts beside the lists say of the board, against what board.toml, the outline and the parts say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from msgspec.structs import replace

from capcheck.intake import ToldOfBoard, said_of_board
from capcheck.model import BoardSize, Discrepancy, Measure, Said, SetAside, Severity, Topic, say
from capcheck.values import Interval, Place

_SAME_THICKNESS_MM: Final = 0.05
_SAME_SHARE: Final = 0.02
_SAME_SIZE_MM: Final = 0.5
"""What rounding leaves between a size in a sentence and the one in the data; common practice, no source."""


def as_told_too(
    size: BoardSize, told: Sequence[ToldOfBoard], *, in_panel: bool, is_drawn: bool
) -> tuple[BoardSize, list[Discrepancy]]:
    """Return the size of a board with what texts state otherwise, and the question which holds.

    Until it is answered all from the one to the other counts. Of a board *in_panel* a text may mean the one or the
    other size, and one that *is_drawn* keeps the size of its outline.
    A thickness that nothing else states is asked about: a line of text alone proves none.
    """
    against: list[ToldOfBoard] = []
    for line in told:
        thick = size.thickness.value
        agrees = _agrees(thick, line)
        if agrees and line.thickest > thick.high:  # a tolerance contradicts nothing: what it leaves counts unasked
            size = replace(size, thickness=_hull(size.thickness, [line.thickest], line))
        before = size
        if line.thickness and not agrees:
            size = replace(size, thickness=_hull(size.thickness, (*line.thickness, line.thickest), line))
            against += [line] if not thick.is_known else []
        if line.size and not in_panel and not any(_is_so_large(size, *sides) for sides in line.size):
            if is_drawn:
                against.append(line)
                continue
            length, width = zip(*(_turned(size, *sides) for sides in line.size), strict=True)
            size = replace(size, length=_hull(size.length, length, line), width=_hull(size.width, width, line))
        if line.mass and not any(size.mass.value.low <= value <= size.mass.value.high for value in line.mass):
            size = replace(size, mass=_hull(size.mass, line.mass, line))
        if size != before:
            against.append(line)
    if not against:
        return size, []
    said = say("compare.told of the board", texts=list(dict.fromkeys(line.text for line in against)))
    return size, [Discrepancy(Topic.LEFT_OUT, said, (), against[0].place, Severity.ASSUMED)]


def bare_boards_bought(found: Iterable[Discrepancy]) -> tuple[ToldOfBoard, ...]:
    """Return what lines of the BOM without a designator state of the board: they buy the bare board."""
    return said_of_board(
        SetAside(told.place or Place(""), told.said, name) for told in found for name in _named_by_none(told)
    )


def asked_once(found: Sequence[Discrepancy], told: Sequence[Discrepancy]) -> Iterator[Discrepancy]:
    """Yield what was found without the lines of the BOM that *told* asks about, as what is said of the board."""
    texts = {text for one in told for text in _values(one)["texts"]}
    yield from (one for one in found if texts.isdisjoint(_named_by_none(one)))


def _named_by_none(told: Discrepancy) -> Iterator[str]:
    """Yield the name of a line of the BOM that names no designator."""
    if told.topic is Topic.NO_REFERENCE:
        yield _values(told)["name"]


def _values(told: Discrepancy) -> Mapping[str, Any]:
    return told.said.values if isinstance(told.said, Said) else {}


def _hull(known: Measure, values: Sequence[float], line: ToldOfBoard) -> Measure:
    """Return a measure with the values that a text states too; what is not known stays so."""
    if not known.value.is_known:
        return known
    value = known.value.hull(Interval(min(values), max(values)))
    return replace(known, value=value, source=f"{known.source}; {line.place}")


def _agrees(thick: Interval, line: ToldOfBoard) -> bool:
    return any(_is_near(thick, value, _SAME_THICKNESS_MM) for value in line.thickness)


def _is_near(value: Interval, other: float, room: float) -> bool:
    return value.is_known and value.low - room <= other <= value.high + room


def _turned(size: BoardSize, one: float, other: float) -> tuple[float, float]:
    """Return two sides as length and width, as they fit the size better."""
    is_long = size.length.value.middle >= size.width.value.middle
    return (max(one, other), min(one, other)) if is_long else (min(one, other), max(one, other))


def _is_so_large(size: BoardSize, one: float, other: float) -> bool:
    length, width = _turned(size, one, other)
    return all(
        not known.value.is_exact or _is_near(known.value, told, max(_SAME_SIZE_MM, _SAME_SHARE * told))
        for known, told in ((size.length, length), (size.width, width))
    )

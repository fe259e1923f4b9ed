"""Part numbers that the placements state too, and that are not those of the BOM."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import takewhile
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.placements import with_starts
from capcheck.intake.tables import Role, group, says_not_fitted
from capcheck.lexicon import fold
from capcheck.model import BomLine, Discrepancy, Flags, Ints, Note, Said, Topic, say
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from collections.abc import Iterator

    from capcheck.intake.placements import PlacementColumns
    from capcheck.model import PartName, Placements

_BETWEEN: Final = pattern(r"[\s/|,;&()_]+")
_ALIKE: Final = 0.5
"""The share of the shorter of two numbers with which both begin, where the two are of one scheme: from practice."""
_SHORTEST: Final = 3
_JOINT: Final = "_"

Numbers = Mapping[int, tuple[str, Place]]
"""Part numbers, and where they stand, by the placements' rows."""


class _Pair(Struct, frozen=True):
    """The number of a BOM line, and another that placements state for the references of that line."""

    refs: list[str]
    placed: str
    listed: str
    place: Place

    @property
    def said(self) -> Said:
        return say(
            "compare.one against another", refs=self.refs, placed=self.placed, listed=self.listed, place=self.place
        )


def different_numbers(
    files: Sequence[PlacementColumns], placed: Placements, lines: Sequence[BomLine], told: Numbers
) -> list[Discrepancy]:
    """Return one record of all fitted parts whose part number in the placements is another than on their BOM line.

    Where a file's numbers agree nowhere with the BOM's they are of another kind, such as those of a stock: then only
    what begins alike is asked about; a column that most rows leave blank
    holds no such kind. What component layers state, *told*, lists placements too: of a part that is asked
    about already the same number is not asked again.
    """
    found: list[_Pair] = []
    for file, start in with_starts(files):
        if Role.PART_NUMBER in file.texts and len(file):
            rows = slice(start, start + len(file))
            pairs = list(_compared(file, placed.bom_line[rows], placed.fitted[rows], lines))
            found += _apart(pairs, few=2 * _filled(file) < len(file))
    known = {(ref, _plain(pair.placed)) for pair in found for ref in pair.refs}
    for pair in _apart(list(_beside(told, placed, lines))):
        refs = [ref for ref in pair.refs if (ref, _plain(pair.placed)) not in known]
        found += [replace(pair, refs=refs)] if refs else []
    if not found:
        return []
    said = say("compare.two part numbers", shown=[pair.said for pair in found])
    refs = list(dict.fromkeys(ref for pair in found for ref in pair.refs))
    return [Discrepancy(Topic.TWO_VALUES, said, tuple(refs), found[0].place)]


def numbered_by(
    types: Sequence[PartName], placed: Placements, told: Numbers, lines: Sequence[BomLine]
) -> tuple[list[PartName], list[Note]]:
    """Return the types, those without a part number with the one that component layers state; and a note of these.

    None where the numbers are of another kind than the BOM's, and none of a type whose parts have several.
    """
    pairs = list(_beside(told, placed, lines))
    found, rows = list(types), list[int]()
    if 2 * sum(not _same(pair.placed, pair.listed) for pair in pairs) > len(pairs):
        return found, []
    by_type: dict[int, dict[str, list[int]]] = {}
    for row, (number, _) in told.items():
        if _plain(number):
            by_type.setdefault(int(placed.part_type[row]), {}).setdefault(_plain(number), []).append(row)
    for index, numbers in by_type.items():
        if index >= 0 and len(numbers) == 1 and not found[index].part_number:
            (own,) = numbers.values()
            found[index] = replace(found[index], part_number=told[own[0]][0])
            rows += own
    if not rows:
        return found, []
    number, place = told[min(rows)]
    refs = [placed.ref[row] for row in sorted(rows)]
    return found, [Note(say("fabrication.numbers used", refs=refs, number=number), place)]


def _filled(file: PlacementColumns) -> int:
    """Return how many rows of a file state a part number."""
    codes, texts = file.texts[Role.PART_NUMBER]
    return int(np.array([bool(_plain(text)) for text in texts], dtype=np.bool_)[codes].sum())


def _apart(pairs: Sequence[_Pair], *, few: bool = False) -> Iterator[_Pair]:
    """Yield the pairs of one file that are two numbers of one kind; *few* where few of its parts have any."""
    apart = [pair for pair in pairs if not _same(pair.placed, pair.listed)]
    one_kind = few or 2 * len(apart) <= len(pairs)
    yield from (pair for pair in apart if one_kind or _alike(pair.placed, pair.listed))


def _beside(told: Numbers, placed: Placements, lines: Sequence[BomLine]) -> Iterator[_Pair]:
    """Yield the numbers of component layers beside those of the BOM."""
    rows: dict[tuple[str, int], list[int]] = {}
    for row, (number, _) in told.items():
        if placed.fitted[row] and placed.bom_line[row] >= 0:
            rows.setdefault((number, int(placed.bom_line[row])), []).append(row)
    for (number, line), own in rows.items():
        listed = lines[line].part_number
        if _plain(number) and _plain(listed) and not says_not_fitted(number):
            place = Place(lines[line].file, lines[line].row)
            yield _Pair([placed.ref[row] for row in own], number, listed, place)


def _compared(file: PlacementColumns, bom_line: Ints, fitted: Flags, lines: Sequence[BomLine]) -> Iterator[_Pair]:
    codes, texts = file.texts[Role.PART_NUMBER]
    groups, leaders = group([codes, bom_line])
    for k, i in enumerate(leaders.tolist()):
        number = int(bom_line[i])
        if number < 0:
            continue
        placed, listed = texts[int(codes[i])], lines[number].part_number
        if not (_plain(placed) and _plain(listed)) or says_not_fitted(placed) or _composed(file, i, placed):
            continue
        refs = [file.ref[j] for j in np.flatnonzero((groups == k) & fitted).tolist()]
        if refs:
            yield _Pair(refs, placed, listed, Place(lines[number].file, lines[number].row))


def _composed(file: PlacementColumns, i: int, number: str) -> bool:
    """Whether a number is put together from the row's footprint or value, as some programs write it."""
    own = [file.text(role, i) for role in (Role.FOOTPRINT, Role.VALUE)]
    return _JOINT in number and any(
        part and _plain(part) in _plain(number) for text in own for part in (text, *text.split(_JOINT)[:1])
    )


def _plain(number: str) -> str:
    """Return a number's letters and digits, which are what two spellings of it share."""
    return "".join(filter(str.isalnum, fold(number)))


def _same(one: str, two: str) -> bool:
    """Whether two cells state one number, or one of them several with that of the other among them."""
    return not _words(one).isdisjoint(_words(two))


def _words(number: str) -> set[str]:
    """Return a cell whole and each of its words that may be a number by itself."""
    return {_plain(number), *(word for word in map(_plain, _BETWEEN.split(number)) if len(word) > _SHORTEST)}


def _alike(one: str, two: str) -> bool:
    first, second = _plain(one), _plain(two)
    begin = takewhile(bool, (a == b for a, b in zip(first, second, strict=False)))
    return sum(begin) >= max(_SHORTEST, _ALIKE * min(len(first), len(second)))

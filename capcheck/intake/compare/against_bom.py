"""Placements against the bill of materials: what is in one and not in the other, counted or named twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import repeat
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.compare.part_numbers import check_part_numbers
from capcheck.intake.tables import (
    FittedColumn,
    ambiguous_nc,
    begins_as_reference,
    expand_references,
    is_not_fitted_title,
    says_not_fitted,
)
from capcheck.lexicon import is_named
from capcheck.model import NOTHING, BomLine, Discrepancy, Flags, Ints, Kind, Placements, Said, Severity, Topic, say
from capcheck.values import Place, pattern

_BARE_NUMBER: Final = pattern(r"\d{1,2}")


class Joined(Struct, frozen=True):
    """The placements joined to the BOM: *line* is each row's BOM line or −1."""

    line: Ints
    twice: bool
    """Whether any reference stands on more than one BOM line, placed or not."""
    other_lines: Mapping[str, tuple[int, ...]]
    """Further fitted lines of the references that stand on several."""
    complete: bool
    """Whether every reference of the BOM is known to be placed."""


def join(base: Sequence[str], lines: Sequence[BomLine], *, unique: bool) -> Joined:
    """Return each placement's BOM line, by its reference as written, else whatever its case.

    Of several lines the fitted one is taken. *unique* says that no two placements share a reference.
    """
    line_of: dict[str, int] = {}
    for number, line in enumerate(lines):
        line_of.update(dict.fromkeys(line.refs, number))
    twice: set[str] = set()
    others: dict[str, tuple[int, ...]] = {}
    if len(line_of) < sum(len(line.refs) for line in lines):
        line_of, twice = _preferred(lines)
        others = _others(lines, line_of, twice)
    index = np.fromiter(map(line_of.get, base, repeat(-1)), dtype=np.int64, count=len(base))
    missing = np.flatnonzero(index < 0)
    exact = int((index >= 0).sum())
    if len(missing):
        upper = {ref.upper(): number for ref, number in line_of.items()}
        for i in missing.tolist():
            index[i] = upper.get(base[i].upper(), -1)
    return Joined(index, bool(twice), others, unique and exact == len(line_of))


def spelled_as_placed(lines: Sequence[BomLine], base: Sequence[str]) -> tuple[BomLine, ...]:
    """Return the lines with references in the capitals in which one placement, and no other, has them.

    A list that names both L1 and l1, of which one is placed, has two lines for one part.
    """
    known = set(base)
    if all(known.issuperset(line.refs) for line in lines):
        return tuple(lines)
    spelled: dict[str, set[str]] = defaultdict(set)
    for ref in known:
        spelled[ref.upper()].add(ref)

    def placed(ref: str) -> str:
        alike = spelled.get(ref.upper(), ())
        return ref if ref in known or len(alike) != 1 else next(iter(alike))

    return tuple(
        line if known.issuperset(line.refs) else replace(line, refs=tuple(map(placed, line.refs))) for line in lines
    )


def _preferred(lines: Sequence[BomLine]) -> tuple[dict[str, int], set[str]]:
    """Return the line of each reference, the fitted one before others, and the references on several lines."""
    line_of: dict[str, int] = {}
    twice: set[str] = set()
    for number, line in enumerate(lines):
        for ref in line.refs:
            before = line_of.setdefault(ref, number)
            if before != number:
                twice.add(ref)
                if line.fitted and not lines[before].fitted:
                    line_of[ref] = number
    return line_of, twice


def _others(lines: Sequence[BomLine], line_of: Mapping[str, int], twice: set[str]) -> dict[str, tuple[int, ...]]:
    """Return for each reference of *twice* the fitted lines that it stands on besides the one taken."""
    found: dict[str, list[int]] = defaultdict(list)
    for number, line in enumerate(lines):
        for ref in line.refs if line.fitted else ():
            if ref in twice and line_of[ref] != number:
                found[ref].append(number)
    return {ref: tuple(numbers) for ref, numbers in found.items()}


class FittedByBoth(Struct, frozen=True):
    """What is fitted by the placements and the BOM together; what they contradict each other about counts as fitted.

    *disputed* are the parts of each contradiction, by the sentence that tells it.
    """

    fitted: Flags
    disputed: Mapping[str, Flags]

    def without(self, off: Flags) -> FittedByBoth:
        """Return the same with the rows *off* not fitted and settled, as board.toml can state."""
        return FittedByBoth(self.fitted & ~off, {key: rows & ~off for key, rows in self.disputed.items()})

    def with_fitted(self, on: Flags) -> FittedByBoth:
        """Return the same with the rows *on* fitted and settled, as board.toml can state."""
        return FittedByBoth(self.fitted | on, {key: rows & ~on for key, rows in self.disputed.items()})


def fitted_by_both(files: Sequence[FittedColumn], joined: Joined | None, lines: Sequence[BomLine]) -> FittedByBoth:
    """Return which placements are fitted by the placement *files* and the BOM *lines*.

    Only what a cell says in words contradicts: a source that says nothing of a part agrees with the other. A BOM that
    lists a part, and does not say that it stays off, contradicts words of the placements.
    """
    fitted = np.concatenate([f.fitted for f in files])
    stated, worded, loosely, named, ambiguous = (
        np.concatenate([np.zeros(len(f.fitted), dtype=np.bool_) if told is None else told for f, told in column])
        for column in (
            [(f, f.stated) for f in files],
            [(f, f.by_word) for f in files],
            [(f, f.loosely) for f in files],
            [(f, f.named) for f in files],
            [(f, f.ambiguous) for f in files],
        )
    )
    number = np.full(len(fitted), -1, dtype=np.int64) if joined is None else joined.line

    def of_line(told: Iterable[bool]) -> Flags:
        return np.array([*told, False], dtype=np.bool_)[number]

    by_line = of_line(line.fitted for line in lines)
    off_by_line = of_line(not line.fitted for line in lines)
    disputed = {
        "compare.fitted by the BOM": ~fitted & ~worded & of_line(line.stated_fitted and line.fitted for line in lines),
        "compare.bought by the BOM": ~fitted & ~worded & of_line(_is_bought(line) for line in lines),
        "compare.words against the BOM": ~fitted & worded & by_line,
        "compare.words of the placements": ~fitted & worded & loosely & (number < 0),
        "compare.fitted by the placements": fitted & stated & off_by_line,
        "compare.bought and named": fitted & named & ~stated & of_line(_is_bought_with_a_word(line) for line in lines),
        "compare.NC in the placements": fitted & ambiguous & of_line(_names_its_part(line) for line in lines),
    }
    return FittedByBoth(np.logical_or.reduce([fitted & ~off_by_line, *disputed.values()]), disputed)


def _is_bought(line: BomLine) -> bool:
    """Whether a line counts what it lists, or names the part, and no column of the BOM says whether it is fitted."""
    return line.fitted and not line.stated_fitted and bool(line.quantity or line.part_number)


def _is_bought_with_a_word(line: BomLine) -> bool:
    """Whether a line counts a part number, and only a word in the place of its value says that it stays off."""
    return not line.fitted and bool(line.part_number and line.quantity) and is_not_fitted_title(line.value)


def _names_its_part(line: BomLine) -> bool:
    return line.fitted and not (line.value and ambiguous_nc([line.value]))


def fitted_or_not(placed: Placements, both: FittedByBoth) -> list[Discrepancy]:
    """Return what the placements and the BOM contradict each other about: a record for each way."""
    found = []
    for said, disputed in both.disputed.items():
        which = np.flatnonzero(disputed & (placed.kind == Kind.PART)).tolist()
        if which:
            refs = tuple(dict.fromkeys(placed.ref[i] for i in which))
            found.append(Discrepancy(Topic.FITTED_OR_NOT, say(said), refs, placed.place(which[0]), Severity.STOP))
    return found


def reconcile(
    placed: Placements, base: Sequence[str], joined: Joined, lines: Sequence[BomLine], circuits: int
) -> list[Discrepancy]:
    """Return what disagrees between the placements and the BOM, the gravest first.

    *base* are the references of the placements as the BOM has them, without the circuit of a panel.
    """
    return [
        *_not_in_bom(placed, joined),
        *([] if joined.complete else _not_placed(base, lines)),
        *_without_reference(lines),
        *(_on_two_lines(lines) if joined.twice else []),
        *_quantities(lines, circuits),
        *_fitted_against_texts(base, placed.fitted, lines),
        *check_part_numbers(lines, {base[row] for row in np.flatnonzero(placed.kind != Kind.PART).tolist()}),
    ]


def _not_in_bom(placed: Placements, joined: Joined) -> list[Discrepancy]:
    missing = np.flatnonzero((joined.line < 0) & placed.is_part).tolist()
    if not missing:
        return []
    refs = tuple(dict.fromkeys(placed.ref[i] for i in missing))
    said, place = say("compare.not in BOM"), placed.place(missing[0])
    return [Discrepancy(Topic.NOT_IN_BOM, said, refs, place, Severity.STOP)]


def _said_of_line(name: str) -> Said:
    return say("compare.not placed", name=name, called=say("compare.called", name=name) if name else NOTHING)


def _not_placed(base: Sequence[str], lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Report BOM references without a placement: through-hole and mechanical parts are expected among them."""
    known = set(base)
    upper: set[str] | None = None
    missing: dict[str, tuple[BomLine, list[str]]] = {}
    for line in lines:
        if not line.fitted:
            continue
        absent = [r for r in line.refs if r not in known]
        if absent:
            upper = upper if upper is not None else {r.upper() for r in known}
            absent = [r for r in absent if r.upper() not in upper]
        if absent:
            name = _name(line)
            missing.setdefault(name, (line, []))[1].extend(absent)
    return [
        Discrepancy(Topic.NOT_PLACED, _said_of_line(name), tuple(absent), line.place)
        for name, (line, absent) in missing.items()
    ]


def _name(line: BomLine) -> str:
    """Return what a line calls its part; a number of one or two figures beside a name in words calls it nothing."""
    texts = (line.part_number, line.value, line.description, line.package)
    found = next((text for text in texts if is_named(text)), "")
    return found if _is_counted(line.refs) or not _BARE_NUMBER.fullmatch(found.strip()) else ""


def _without_reference(lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Report lines that buy something and name no reference: a board, a label, or a part that was forgotten."""
    return [
        Discrepancy(Topic.NO_REFERENCE, say("compare.no reference", name=name, row=line.row), place=line.place)
        for line in lines
        if not line.refs and (name := _name(line))
    ]


def _on_two_lines(lines: Sequence[BomLine]) -> list[Discrepancy]:
    first: dict[str, int] = {}
    pairs: dict[tuple[int, int], list[str]] = defaultdict(list)
    for number, line in enumerate(lines):
        for ref in line.refs:
            before = first.setdefault(ref, number)
            if before != number and _is_counted((ref,)):  # a word, such as screws, may stand on many
                pairs[before, number].append(ref)
    found = []
    for (a, b), refs in pairs.items():
        one, two = lines[a], lines[b]
        if (one.file, one.sheet) != (two.file, two.sheet) and one.agrees_with(two):
            continue  # two lists, of which the one has other words for the part: its body may be either
        said = say(
            "compare.on two lines" if one.fitted == two.fitted else "compare.fitted by one line",
            one=one.place,
            two=two.place,
            name=one.part_number or one.value,
            other=two.part_number or two.value,
        )
        found.append(Discrepancy(Topic.ON_TWO_BOM_LINES, said, tuple(refs), two.place, Severity.STOP))
    return found


def _fitted_against_texts(base: Sequence[str], fitted: Flags, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return one advice on all lines whose fitted column says fitted and whose texts say not fitted.

    Lines without such a word in a column are bought, and each is asked about.
    """
    contradicted = [line for line in lines if line.contradicted and line.fitted]
    against = [line for line in contradicted if line.stated_fitted]
    bought = [
        Discrepancy(
            Topic.FITTED_OR_NOT,
            say(
                "compare.bought against a text",
                name=line.part_number or line.value,
                text=_telling(line),
            ),
            line.refs,
            line.place,
            Severity.STOP,
        )
        for line in contradicted
        if not line.stated_fitted
    ]
    if not against:
        return bought
    # What the placements take off the board as well is no longer fitted by the column, and who fits what they do not
    # list is a question of its own.
    on = {base[i].upper() for i in np.flatnonzero(fitted).tolist()}
    refs = tuple(ref for line in against for ref in line.refs if ref.upper() in on)
    if not refs:
        return bought
    first = next(line for line in against if refs[0] in line.refs)
    said = say("compare.fitted against a text")
    return [*bought, Discrepancy(Topic.FITTED_AGAINST_A_TEXT, said, refs, first.place, Severity.ADVICE)]


def _telling(line: BomLine) -> str:
    """Return the text of a line that says not fitted, as far as the line keeps it."""
    told = says_not_fitted(line.value) or bool(ambiguous_nc([line.value]))
    return line.value if told else line.description or line.value


def _quantities(lines: Sequence[BomLine], circuits: int) -> list[Discrepancy]:
    counted = [line for line in lines if line.quantity is not None and line.fitted and _is_counted(line.refs)]
    wrong = [line for line in counted if line.quantity not in {len(line.refs), len(line.refs) * circuits}]
    if not wrong:
        return []
    ratios = {line.quantity / len(line.refs) for line in counted if line.quantity is not None}
    if len(ratios) == 1 and len(counted) > 2:
        said = say("compare.quantity of the order", ratio=ratios.pop())
        return [Discrepancy(Topic.QUANTITY_OF_THE_ORDER, said, place=Place(counted[0].file))]
    return [
        Discrepancy(
            Topic.QUANTITY,
            say("compare.quantity", quantity=line.quantity, listed=len(line.refs)),
            line.refs,
            line.place,
            Severity.STOP,
        )
        for line in wrong
    ]


def _is_counted(refs: Sequence[str]) -> bool:
    """Whether a line's references can be counted: one name, ``feet`` or ``screws-M3x10``, stands for several."""
    return len(refs) > 1 or (len(refs) == 1 and " " not in refs[0] and begins_as_reference(refs[0]))


_OF_FITTING: Final = frozenset({Topic.FITTED_OR_NOT, Topic.FITTED_AGAINST_A_TEXT, Topic.ROW_IN_QUESTION})
"""What is open only until somebody says that the part is fitted."""
_OF_ITS_DATA: Final = frozenset({"compare.columns in question", "compare.offset in question"})
"""What is open of a row that counts."""


def settled_as_fitted(found: Iterable[Discrepancy], fitted: Sequence[str]) -> list[Discrepancy]:
    """Return what the files disagree about, without what board.toml settles: that these parts are fitted."""
    kept = []
    for told in found:
        of_data = isinstance(told.said, Said) and told.said.key in _OF_ITS_DATA
        is_open = told.topic in _OF_FITTING and not of_data
        on = set(expand_references(", ".join(fitted), set(told.refs))[0]) if is_open else set()
        rest = tuple(ref for ref in told.refs if ref not in on)
        if rest or not told.refs:
            kept.append(replace(told, refs=rest) if len(rest) < len(told.refs) else told)
    return kept

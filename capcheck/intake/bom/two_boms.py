"""Two lists of the same parts: which one counts, and what the other says differently of a part.

Sheets or files that list other references are added up. Of two that list the same ones the newest by its name counts,
else the first; what the other says differently is kept beside it, so that the part may be either until it is settled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Final

from msgspec import Struct, field

from capcheck.intake.bom.bom_lines import BomReading
from capcheck.intake.files import as_named
from capcheck.intake.tables import Columns, Table, list_is_not_fitted, newest, sheet_may_be_off
from capcheck.model import BomLine, Decision, Discrepancy, Note, Said, SetAside, Severity, Topic, say
from capcheck.values import Place, in_toml

_MOST: Final = 0.5
"""Two lists with more than this share of the references of the smaller one list the same parts."""
_FEW: Final = 0.2


class ListOfParts(Struct, frozen=True):
    """A table of a bill of materials with what was read of it."""

    table: Table
    columns: Columns
    reading: BomReading

    @property
    def refs(self) -> dict[str, BomLine]:
        """The line of each reference, the first where several name it."""
        found: dict[str, BomLine] = {}
        for line in self.reading.lines:
            for ref in line.refs:
                found.setdefault(ref, line)
        return found

    @property
    def name(self) -> str:
        """What tells its age: the file, the sheet and the lines above the table."""
        return " ".join([PurePath(self.table.file).stem, self.table.sheet or "", *(t for _, t in self.table.preamble)])

    @property
    def said(self) -> Said:
        """What reports call it."""
        return _named(self.table)


class Settled(Struct):
    """The lines that count, with what was set apart and is to be asked."""

    lines: list[BomLine] = field(default_factory=list)
    spare: list[Table] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    asked: list[Discrepancy] = field(default_factory=list)

    @property
    def discrepancies(self) -> tuple[Discrepancy, ...]:
        """What is to be asked."""
        return tuple(self.asked)


def settle_lists_of_parts(lists: Sequence[ListOfParts]) -> Settled:
    """Return the lines of *lists*: of those that list the same parts one counts, others are added up."""
    settled = Settled()
    left = list(lists)
    while left:
        first = left.pop(0)
        same = [first, *(other for other in left if _same_parts(first, other))]
        left = [other for other in left if other not in same]
        at = newest([one.name for one in same]) if len(same) > 1 else 0
        counts = same.pop(at or 0)
        settled.lines += counts.reading.lines
        settled.notes += counts.reading.notes
        settled.set_aside += counts.reading.set_aside
        for other in same:
            _compare(counts, other, settled, by_name=at is not None)
    return settled


def _same_parts(one: ListOfParts, two: ListOfParts) -> bool:
    if list_is_not_fitted(one.table) or list_is_not_fitted(two.table):
        return False
    few, many = sorted((one, two), key=lambda listed: len(listed.refs))
    if 2 * len(few.refs) < len(many.refs) and sheet_may_be_off(few.table.sheet or ""):
        return False  # a list of options singles some of the parts out
    first, second = one.refs.keys(), two.refs.keys()
    return len(first & second) > _MOST * min(len(first), len(second))


def _compare(counts: ListOfParts, other: ListOfParts, settled: Settled, *, by_name: bool) -> None:
    """Add to *settled* what *other* says differently from the list that *counts*."""
    seen = counts.refs
    kept = [line for line in other.reading.lines if not _repeats(line, seen)]
    rows = {line.row for line in kept}
    table = other.table
    reason = say("bom.repeating sheet", sheet=table.sheet) if table.sheet else say("bom.repeating table")
    settled.spare.append(table)
    settled.lines += kept
    settled.notes.append(
        Note(say("bom.not read", reason=reason), Place(table.file, table.header_row, sheet=table.sheet))
    )
    settled.set_aside += [aside for aside in table.left_out(reason) if aside.place.row not in rows]
    theirs = other.refs
    more, fewer = [ref for ref in theirs if ref not in seen], [ref for ref in seen if ref not in theirs]
    # A list of a few of the parts, such as those of long lead time, leaves the others out and contradicts nothing.
    both = by_name or bool(more and fewer) or len(more) + len(fewer) <= _FEW * max(len(seen), len(theirs))
    before = len(settled.asked)
    if more and both:
        settled.asked.append(_listed_by_one(more, other, counts))
    if fewer and both:
        settled.asked.append(_listed_by_one(fewer, counts, other))
    settled.decisions.append(
        Decision(
            topic=Topic.BOM,
            choice=counts.said,
            evidence=say("bom.newest by its name") if by_name else say("bom.first of two"),
            # A list that says the same of the same parts is no other choice.
            runner_up=other.said if kept or len(settled.asked) > before else "",
            settle=_settling(counts.table, table),
            open=not by_name and bool(kept),
            place=table.place(),
        )
    )


def _listed_by_one(refs: Sequence[str], one: ListOfParts, other: ListOfParts) -> Discrepancy:
    said = say("bom.listed by one", one=one.said, other=other.said)
    return Discrepancy(Topic.FITTED_OR_NOT, said, tuple(refs), one.table.place(), Severity.STOP)


def _named(table: Table) -> Said:
    key = "bom.list on a sheet" if table.sheet else "bom.list"
    return say(key, file=PurePath(table.file).name, sheet=table.sheet)


def _settling(table: Table, other: Table) -> str:
    same_file = table.file == other.file
    if same_file and table.sheet is None:
        return ""  # a table of a text file has no name that board.toml could state
    return f"bom_sheet = {in_toml(table.sheet or '')}" if same_file else f"bom = {in_toml(as_named(table.file))}"


def unread_list(counts: Table, other: Table) -> Decision:
    """Return the open decision on a further list with cells that cannot be read."""
    return Decision(
        topic=Topic.BOM,
        choice=_named(counts),
        evidence=say("bom.other not read"),
        runner_up=_named(other),
        settle=_settling(counts, other),
        open=True,
        place=other.place(),
    )


def _repeats(line: BomLine, seen: Mapping[str, BomLine]) -> bool:
    """Whether a line lists parts that are listed before, and says nothing else of any; or what has no reference."""
    if not line.refs:
        return any(_texts(line) == _texts(other) for other in seen.values())
    return all(ref in seen and line.agrees_with(seen[ref], in_full=True) for ref in line.refs)


def _texts(line: BomLine) -> tuple[str, ...]:
    return line.part_number, line.value, line.description

"""What counts where sources of one part exclude each other: all from the one to the other, until somebody settles it.

A footprint that says 12 mm tall and a bill of materials that says 1.2 mm leave both possible: nothing that lies between
is proved. What settles it is ``prefer`` in board.toml, or a row of the shop's own library against names. A list and the
store of one shop that differ are two such sources: both are entries, and an entry that says which holds settles them.
"""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING, Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import sentence
from capcheck.model import UNKNOWN_MEASURE, Basis, Body, Measure, say
from capcheck.packages.bodies.conflicts import (
    DISPUTED_FIELDS,
    are_two_keepers,
    body_conflict,
    conflict_said,
    field_conflict,
)
from capcheck.packages.candidate import MEASURED, OF_THE_BOM, Candidate, Column, Trust, distinct, sides
from capcheck.packages.names import opposed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from capcheck.model import Said
    from capcheck.values import Interval

Prefer = Literal["footprint", "bom", "library", "store"]
"""Whose body is believed where two sources name different ones; ``prefer`` in board.toml."""

_SIDES: Final = {"length": "length", "width": "width", "nominal_length": "length", "nominal_width": "width"}
_OF_A_BODY: Final = ("lead_style", "mounting", "hidden_joints", "polarised", "pins")
"""What a source says of a body besides its measures: open where another body may be the right one."""

OF_A_PACKAGE: Final = ("lead_style", "pins", "pitch")
"""Fields on which two sources differ only where they name two packages."""
_JOINTS: Final = ("mounting", "lead_style", "hidden_joints")
_OF_THE_PART: Final = frozenset((Basis.STATED, Basis.LIBRARY))
"""Sizes that hold of the part however it is mounted: a column or the shop states them, no name of a package."""


_NAMES_OF_A_BODY: Final = frozenset({Trust.SIZE_CODE, Trust.PACKAGE_NAME, Trust.PART_NUMBER})


class Dispute(Struct, frozen=True):
    """Two sources that exclude each other: on the body as a whole, or on one field."""

    field: str
    """``body``, or the field of it."""
    used: Candidate
    other: Candidate
    values: tuple[str, str]
    """What the one and the other say, as a reader is shown them."""
    settled: bool
    """Whether the shop or board.toml says which of the two is believed."""

    @property
    def is_of_two_parts(self) -> bool:
        """Whether one part is on the surface, the other in holes: what a name says of either proves nothing."""
        return self.field == "mounting" and opposed(self.used, self.other)

    @property
    def is_of_package(self) -> bool:
        """Whether the two name two packages: then all that the other says of its own may hold."""
        return self.field == "body" or self.field in OF_A_PACKAGE

    @property
    def is_of_land(self) -> bool:
        """Whether the footprint, that is the land pattern drawn, stands against another source."""
        return (self.used.column is Column.FOOTPRINT) != (self.other.column is Column.FOOTPRINT)

    @property
    def is_of_records(self) -> bool:
        """Whether a list of the shop's stands against its store."""
        return are_two_keepers(self.used, self.other)


def disputes(
    candidates: Iterable[Candidate],
    size: Candidate | None,
    used: Candidate,
    taken: dict[str, Candidate],
    prefer: Prefer | None,
) -> list[Dispute]:
    """Return all disagreements; one text that is read in two ways disagrees only once.

    *size* is the candidate that the body is taken from, *used* the same with all fields taken, whatever their sources.
    """
    told: dict[tuple[str, str], Dispute] = {}

    def add(field: str, winner: Candidate, other: Candidate, values: tuple[str, str] | None) -> None:
        if values is not None:
            settled = _is_settled(winner, other, prefer)
            told.setdefault((field, other.text), Dispute(field, winner, other, values, settled))

    for other in candidates:
        if size is not None and other is not size and other is not taken.get("width"):
            add("body", used, other, body_conflict(used, other))
    for field in _of_another_package(size, taken):
        for other in candidates:
            if size is not None and other is not size and ("body", other.text) not in told:
                add(field, size, other, field_conflict(size, other, field))
    for field in DISPUTED_FIELDS:
        winner = taken.get(field)
        for other in candidates if winner is not None else ():
            if winner is not None and other is not winner and ("body", other.text) not in told:
                add(field, winner, other, field_conflict(winner, other, field))
    return list(told.values())


def _of_another_package(size: Candidate | None, taken: dict[str, Candidate]) -> list[str]:
    """Return the fields that the shop states of another package than the one that the size is from, such as the pitch.

    They settle themselves, and not whose body it is.
    """
    if size is None or size.trust is Trust.LIBRARY:
        return []
    by_row = [f for f in OF_A_PACKAGE if f in taken and taken[f].trust is Trust.LIBRARY]
    return [field for field in by_row if field_conflict(taken[field], size, field) is not None]


def _is_settled(used: Candidate, other: Candidate, prefer: Prefer | None) -> bool:
    """Whether somebody who may do so has said which of two sources counts."""
    if used.trust is Trust.LIBRARY:
        # The shop's own word against names; against a stated size it goes first only where board.toml says so. Its
        # list against its store is nobody's word until an entry says which of the two holds.
        if used.is_unsettled or other.is_unsettled:
            return used.is_of_store != other.is_of_store and used.goes_first
        return used.goes_first or not are_two_keepers(used, other)
    if prefer == "footprint":
        return used.column is Column.FOOTPRINT and other.column in OF_THE_BOM | {Column.STATED}
    if prefer == "bom":
        return other.column is Column.FOOTPRINT and used.column in OF_THE_BOM | {Column.STATED}
    return False


def conflicts_of(found: Iterable[Dispute]) -> tuple[Said, ...]:
    """Return the statements of the disagreements: sources that say the same against one are one statement."""
    gathered: dict[tuple[str, tuple[str, str], bool, bool, bool], list[Dispute]] = {}
    for dispute in found:
        key = dispute.field, dispute.values, dispute.settled, dispute.is_of_land, dispute.is_of_records
        gathered.setdefault(key, []).append(dispute)
    return distinct(
        conflict_said(field, same[0].used, [dispute.other for dispute in same], values, settled=settled)
        for (field, values, settled, *_), same in gathered.items()
    )


def widen_measures(
    measures: dict[str, Measure], found: Sequence[Dispute], alone: Callable[[Candidate], dict[str, Candidate]]
) -> None:
    """Widen the *measures* to all that the sources of what is not settled leave possible.

    *alone* gives for a candidate the fields of the body that it makes without the others, with its family's bounds.
    """
    for dispute in found:
        if dispute.settled:
            continue
        if dispute.is_of_two_parts:
            measures.update({f: UNKNOWN_MEASURE for f, m in measures.items() if m.basis not in _OF_THE_PART})
            continue
        if not dispute.is_of_package:
            if dispute.field in measures:
                value: Interval = getattr(dispute.other, dispute.field)
                measures[dispute.field] = _either(measures[dispute.field], value, dispute)
            continue
        rival = alone(dispute.other)
        names_alone = Trust.LIBRARY not in {dispute.used.trust, dispute.other.trust}
        for field in MEASURED:
            if field not in measures or (names_alone and measures[field].basis is Basis.LIBRARY):
                continue
            theirs = _side(rival, field, measures) if field in _SIDES else _of(rival, field)
            if theirs is not None:
                measures[field] = _either(measures[field], theirs, dispute)
            elif field == "height" and dispute.other.family_key is not None:
                # The rival's body is another one, of whose height nothing is known.
                measures[field] = UNKNOWN_MEASURE
            elif field == "height":
                # Two numbers are the sides of a box, or a can's diameter and its height: it may be that high.
                for height in (member.height for member in dispute.other.members if member.height is not None):
                    measures[field] = _either(measures[field], height, dispute)


def widen_greatest_height(
    measures: dict[str, Measure], used: Candidate | None, candidates: Iterable[Candidate], prefer: Prefer | None
) -> None:
    """Widen the height to the greatest that any source of another family gives: either family may be the right one.

    A thin and a low flat package share sides and leads, so their names agree in all but the height.
    """
    if used is None or "height" not in measures or not _gives_greatest_height(used):
        return
    for other in candidates:
        if other.text == used.text or other.family == used.family or not _gives_greatest_height(other):
            continue
        if other.height is not None and not _is_settled(used, other, prefer):
            measures["height"] = _either(
                measures["height"], other.height, Dispute("height", used, other, ("", ""), False)
            )


def _gives_greatest_height(source: Candidate) -> bool:
    """Whether a package's name, which prose may mean loosely, a case or a part number gives a height it may reach."""
    if source.trust is Trust.PACKAGE_NAME and source.column is Column.DESCRIPTION:
        return False
    named = source.trust in _NAMES_OF_A_BODY and source.family is not None
    return named and source.height is not None and source.height.is_known and source.height.low <= 0


def _of(rival: dict[str, Candidate], field: str) -> Interval | None:
    value: Interval | None = getattr(rival[field], field) if field in rival else None
    return value


def _side(rival: dict[str, Candidate], field: str, measures: dict[str, Measure]) -> Interval | None:
    """Return the rival's side that lies along the side *field* of the body taken: the longer along the longer."""
    length, width = (
        _of(rival, f"nominal_{s}") or _of(rival, s) if field.startswith("nominal") else _of(rival, s)
        for s in ("length", "width")
    )
    if length is None or width is None:
        return length if _SIDES[field] == "length" else width
    longer, shorter = sides(length, width)
    lies_across = "length" in measures and "width" in measures and measures["length"].high < measures["width"].high
    return longer if (_SIDES[field] == "length") != lies_across else shorter


def _either(measure: Measure, other: Interval, dispute: Dispute) -> Measure:
    hull = measure.value.hull(other)
    if hull == measure.value:
        return measure
    both = sentence(say("packages.against", used=measure.source, other=dispute.other.source))
    return Measure(hull, measure.basis, both)


def either_of(bodies: Sequence[Body]) -> Body:
    """Return the body of a part that is one of *bodies*: each measure with all their values, the rest if all agree."""
    first, *others = bodies
    changes: dict[str, Any] = {}
    for field in Body.__struct_fields__:
        mine, theirs = getattr(first, field), [getattr(other, field) for other in others]
        if isinstance(mine, Measure):
            changes[field] = reduce(_hull, theirs, mine)
        elif field in {"conflicts", "misfits", "of_records", "disputed", "questions"}:
            changes[field] = distinct(one for every in (mine, *theirs) for one in every)
        elif field not in {"oriented", "body_from"} and any(other != mine for other in theirs):
            changes[field] = () if isinstance(mine, tuple) else None
    return replace(first, oriented=all(body.oriented for body in bodies), **changes)


def _hull(one: Measure, other: Measure) -> Measure:
    if Basis.UNKNOWN in {one.basis, other.basis}:
        return UNKNOWN_MEASURE
    hull = one.value.hull(other.value)
    if hull == one.value:
        return one
    both = sentence(say("packages.against", used=one.source, other=other.source))
    return Measure(hull, Basis.TYPICAL if Basis.TYPICAL in {one.basis, other.basis} else one.basis, both)


def open_fields(said: dict[str, Any], found: Sequence[Dispute]) -> None:
    """Leave open in *said*, the fields of a body that are no measures, what sources that are not settled differ on."""
    for dispute in found:
        if dispute.settled:
            continue
        if dispute.is_of_two_parts:
            said |= dict.fromkeys(_JOINTS)
            continue
        fields = _OF_A_BODY if dispute.is_of_package else (dispute.field,)
        for field in fields:
            theirs = getattr(dispute.other, field, None)
            if field in said and theirs is not None and theirs != said[field]:
                said[field] = None

"""The parts to place, counted once each by the worst that comes out for them: what every verdict rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from capcheck.model import Board, Mounting

if TYPE_CHECKING:
    from capcheck.checking.report import Report


class PartsByOutcome(Struct, frozen=True):
    """References of the parts to place. *undecided* holds those that are stopped too, the others have none in common.

    *by_hand* have leads through holes that no head inserts, *bare* are copper by their names. *waived* are the
    others that would be stopped or undecided but for a waiver: they are accepted, and nothing proves them.
    """

    every: frozenset[str]
    stopped: frozenset[str]
    undecided: frozenset[str]
    by_hand: frozenset[str]
    bare: frozenset[str]
    waived: frozenset[str] = frozenset()
    all_asked: bool = True
    """Whether every rule about parts and heads was asked: not where some were selected, or there is no line."""

    @property
    def proved(self) -> frozenset[str]:
        """The parts that a head is proved to place."""
        rest = self.every - self.stopped - self.undecided - self.by_hand - self.bare - self.waived
        return rest if self.all_asked else frozenset()

    @property
    def only_undecided(self) -> frozenset[str]:
        """The parts of which something is undecided and nothing stops them."""
        return self.undecided - self.stopped


def parts_by_outcome(report: Report) -> PartsByOutcome:
    """Return the parts of a report by outcome; what is waived neither stops a part nor leaves it undecided."""
    placements = report.board.placements
    of_parts = [f for f in report.findings if f.subject.ref and f.subject.kind.startswith("part")]
    undecided = frozenset(f.subject.ref for f in of_parts if f.undecided and not f.waived and f.subject.ref)
    stopped = frozenset(
        f.subject.ref for f in of_parts if f.outcome == "fail" and not f.undecided and not f.waived and f.subject.ref
    )
    accepted = {f.subject.ref for f in of_parts if f.waived and (f.undecided or f.outcome == "fail")}
    by_hand = frozenset(refs_by_hand(report)) - stopped - undecided
    bare = frozenset(refs_mounted(report.board, Mounting.NONE)) - stopped - undecided
    return PartsByOutcome(
        every=frozenset(placements.ref[row] for row in placements.is_part.nonzero()[0].tolist()),
        stopped=stopped,
        undecided=undecided,
        by_hand=by_hand,
        bare=bare,
        waived=frozenset(ref for ref in accepted if ref) - stopped - undecided - by_hand - bare,
        all_asked=report.line is not None and not report.selected,
    )


def refs_by_hand(report: Report) -> list[str]:
    """Return the references of parts with leads through holes that no head is proved to insert, in order."""
    inserted = {report.board.placements.ref[row] for taker in report.takers if taker.on_heads for row in taker.rows}
    return [ref for ref in refs_mounted(report.board, Mounting.THROUGH_HOLE) if ref not in inserted]


def refs_mounted(board: Board, mounting: Mounting) -> list[str]:
    """Return the references of the parts to place that are known to be mounted so, in the order of the data."""
    of_types = [body.mounting == mounting for body in board.bodies]
    placements = board.placements
    rows = placements.is_part.nonzero()[0].tolist()
    types = placements.part_type[placements.is_part].tolist()
    return [placements.ref[row] for row, kind in zip(rows, types, strict=True) if kind >= 0 and of_types[kind]]

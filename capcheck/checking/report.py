"""The one report that every format prints."""

from __future__ import annotations

import enum
from collections.abc import Sequence
from functools import cached_property
from typing import Annotated, Literal

from msgspec import Meta, Struct, field

from capcheck.checking.ordered_panel import InPanel
from capcheck.checking.unanswered import why_unanswered
from capcheck.engine import Answers, Finding, TypeTakers
from capcheck.facts import Session
from capcheck.machines import Line
from capcheck.model import NOT_ON_THE_SURFACE, Board, InputFile, Note, Said
from capcheck.shop import Costs, Known

Verdict = Literal["pass", "warn", "fail", "unanswered"]
Count = Annotated[int, Meta(ge=0)]


class ExitCode(enum.IntEnum):
    """What a command returns to the shell."""

    PASSED = 0
    FAILED = 1
    UNUSABLE = 2


def exit_code_of(verdict: Verdict, *, strict: bool = False) -> ExitCode:
    """Return what a command returns for a verdict, of a check or a plan; if *strict*, a warning fails too."""
    if verdict == "unanswered":
        return ExitCode.UNUSABLE
    return ExitCode.FAILED if verdict == "fail" or (strict and verdict == "warn") else ExitCode.PASSED


class Totals(
    Struct, frozen=True, forbid_unknown_fields=True, rename={"passed": "pass", "warned": "warn", "failed": "fail"}
):
    """Answers counted over rules and subjects: *warned* includes *undecided*; other ones count only as what they are.

    *waiting* are undecided answers that wait for another undecided one, which asks for what they lack.

    A part on the heads of a line is one subject: it passes a rule where the head that suits it best does.
    As data the counts are named after the outcomes.
    """

    passed: Count
    warned: Count
    failed: Count
    undecided: Count
    waived: Count
    known: Count
    """Findings set aside because an earlier report has them; only where new ones alone are asked for."""
    waiting: Count = 0


class PartResult(Struct, frozen=True):
    """What comes out for one part: *taken_by* names heads as ``machine/head``."""

    outcome: Verdict
    taken_by: tuple[str, ...]


class Carried(Struct, frozen=True):
    """What the conveyor carries: the board as sent, or the panel of so many of it that would be ordered."""

    board: Board
    session: Session
    circuits: int = 1


class Report(Struct, frozen=True, dict=True):
    """The result of a check: the board, the line, the answers and what a reader should know beside them."""

    board: Board
    line: Line | None
    answers: Answers
    findings: Sequence[Finding]
    """All findings that this report is about, those that fail first; the order is fixed."""
    notes: Sequence[Note]
    inputs: Sequence[InputFile]
    session: Session
    notices: Sequence[Note] = ()
    """Those of the notes that no summary may leave out: what configuration holds, what a baseline says."""
    strict: bool = False
    in_panel: InPanel | None = None
    """The panel in which the board is judged, since it does not pass as sent: it would have to be ordered."""
    known: Sequence[Finding] = ()
    """Findings set aside because the baseline has them already."""
    gone: Sequence[Known] = ()
    """Findings of the baseline that this board has no more."""
    selected: Sequence[str] = ()
    """Names of rules and tags that were asked for; empty where all rules are."""
    documentation: str = ""
    """The address below which the pages on the rules are found; blank where none is configured."""
    answered: frozenset[tuple[str, str]] = frozenset()
    """The questions to the customer that need not be put again, by key and by the hash of what was asked."""
    costs: Costs = field(default_factory=Costs)
    """What hours and batches cost the shop, for this board."""

    @property
    def carried(self) -> Carried:
        """The board or the panel that would be ordered of it."""
        if self.in_panel is None:
            return Carried(self.board, self.session)
        steps = self.in_panel.panel.source
        return Carried(self.in_panel.board, self.in_panel.session, steps.columns * steps.rows)

    @property
    def totals(self) -> Totals:
        """The counts, the same in every format."""
        every = [f for f in self.findings if not f.waived]
        live = [f for f in every if f.waits_for is None]
        return Totals(
            passed=sum(c.passed for c in self.answers.counts.values()),
            warned=sum(f.outcome == "warn" for f in live),
            failed=sum(f.outcome == "fail" for f in live),
            undecided=sum(f.undecided for f in live),
            waived=sum(f.waived for f in self.findings),
            known=len(self.known),
            waiting=len(every) - len(live),
        )

    @cached_property
    def unanswered(self) -> tuple[Said, ...]:
        """Why the run is no answer to what it was asked; empty for one that is."""
        return why_unanswered(self.board, self.answers, self.selected)

    @property
    def verdict(self) -> Verdict:
        """Unanswered if the run is no answer; else fail if anything failed, warn if anything warned or is undecided."""
        if self.unanswered:
            return "unanswered"
        totals = self.totals
        return "fail" if totals.failed else "warn" if totals.warned or totals.waiting else "pass"

    @property
    def exit_code(self) -> ExitCode:
        """0 nothing failed, 1 something failed (or warned, if strict), 2 the run is no answer."""
        return exit_code_of(self.verdict, strict=self.strict)

    @property
    def _without_finding(self) -> Verdict:
        """The outcome of what no finding is about: it passes, if the run is an answer."""
        return "unanswered" if self.unanswered else "pass"

    def row_results(self) -> list[PartResult]:
        """Return the result of every row of the placement data; what is not to be placed is taken by no head."""
        parts = iter(self.part_results())
        return [
            next(parts) if is_part else PartResult(self._without_finding, ())
            for is_part in self.board.placements.is_part.tolist()
        ]

    def part_results(self) -> list[PartResult]:
        """Return the result of every part to place, in the order of the facts of scope ``part``."""
        capability = self.answers.capability
        count = int(self.board.placements.is_part.sum())
        worst, good = self._worst_of_part(), self._without_finding
        if capability is None:
            return [PartResult(worst.get(row, good), ()) for row in range(count)]
        names = self.head_names()
        surface = self._on_heads()
        results = []
        for row in range(count):
            taken = (
                tuple(n for n, s in zip(names, capability.state[:, row], strict=True) if s == 1) if surface[row] else ()
            )
            results.append(PartResult(worst.get(row, good), taken))
        return results

    def _on_heads(self) -> list[bool]:
        mounting = [body.mounting for body in self.board.bodies]
        types = self.board.placements.part_type[self.board.placements.is_part].tolist()
        inserted = {taker.index for taker in self.takers if taker.on_heads}
        return [t < 0 or mounting[t] not in NOT_ON_THE_SURFACE or t in inserted for t in types]

    def _worst_of_part(self) -> dict[int, Verdict]:
        """Return the worst outcome of the findings on each part, by its place among the parts."""
        placements = self.board.placements
        place: dict[str, list[int]] = {}
        for index, row in enumerate(placements.is_part.nonzero()[0].tolist()):
            place.setdefault(placements.ref[row], []).append(index)
        worst: dict[int, Verdict] = {}
        for finding in (*self.findings, *self.known):
            if finding.waived or finding.subject.ref is None or not finding.subject.kind.startswith("part"):
                continue
            for index in place.get(finding.subject.ref, ()):
                if worst.get(index) != "fail":
                    worst[index] = finding.outcome
        return worst

    @cached_property
    def takers(self) -> list[TypeTakers]:
        """Every type of part with each head's answer; see :func:`capcheck.engine.takers`."""
        from capcheck.engine import takers

        return takers(self.board, self.answers, self.session)

    def head_names(self) -> list[str]:
        """Return the heads of the line as ``machine/head``, in the order of the facts."""
        return [] if self.line is None else [f"{m.name}/{h.name}" for m in self.line.machines for h in m.head]

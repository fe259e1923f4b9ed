"""What is to be placed: part types, passes of boards through the line, quantities; and what heads can place of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np
from msgspec import Struct, field

from capcheck.engine import Take
from capcheck.machines import Packing, pocket_of
from capcheck.model import Codes, Ints, Said, say
from capcheck.planning.accuracy import Joint
from capcheck.values import UNKNOWN_SIZE, Interval, Place, Problems

Capabilities = Codes
"""Part types × heads of the line in order: 1 the head can place the part, −1 it cannot, 0 undecided."""

Reasons = Mapping[tuple[int, int], tuple[Take, ...]]
"""By part and head: why the head cannot place the part, what leaves that open, or what is warned of where it can."""


class Pass(Struct, frozen=True):
    """One pass of a board through the line: a board placed on both sides makes two.

    Counts of parts are per circuit; *circuits* is the number of circuits in the panel that the conveyor carries.
    *marks* are fiducials read once a panel, *circuit_marks* once a circuit; None is unknown. *per_year* counts panels;
    *width* is across the conveyor and *length* along it, mm. *pieces* is the number of boards that are parted from
    what the conveyor carries, where the counts of parts are those of the whole panel already.
    """

    board: str
    side: str = "top"
    per_year: float | None = None
    circuits: int = 1
    marks: int | None = None
    circuit_marks: int = 0
    width: Interval = UNKNOWN_SIZE
    pieces: int = 1
    length: Interval = UNKNOWN_SIZE

    @property
    def boards(self) -> int:
        """Boards that one pass of the conveyor delivers."""
        return self.pieces * self.circuits

    @property
    def name(self) -> str:
        """The board and its side, as reports print them."""
        return f"{self.board}, {self.side}"


class PartDemand(Struct, frozen=True):
    """A type of part: how many of it each pass places, and how it is supplied.

    *counts* and *refs* have one entry for each pass. *supply* is ``tape``, ``tray``, ``stick``, ``bowl`` or None
    (unknown); lengths are mm. *nozzle* names the kind of nozzle that picks it, None if unknown. *per_container* is the
    number of parts on a reel, in a tray or in a stick. *hand_seconds* is the time to place one by hand. *joint* is the
    error of placement that the joints allow, None where nobody asks.
    """

    name: str
    counts: tuple[int, ...]
    refs: tuple[tuple[str, ...], ...] = ()
    supply: str | None = None
    tape_width: Interval = UNKNOWN_SIZE
    tape_pitch: Interval = UNKNOWN_SIZE
    height: Interval = UNKNOWN_SIZE
    nozzle: str | None = None
    per_container: int | None = None
    hand_seconds: float | None = None
    joint: Joint | None = None
    usual_supply: bool = False
    """Whether nobody states the packaging, so that it is the one usual for such a body."""
    usual_tape: bool = False
    """Whether the tape is the usual one for such a body, as nobody states the packing."""
    pocket: Interval | None = None
    """Depth of the tape's pocket, mm; None where only the height bounds it."""
    reel: Interval = UNKNOWN_SIZE
    """Outer diameter of the reel, mm."""
    length: Interval = UNKNOWN_SIZE
    """Longer side of the body, mm."""
    value: str = ""
    """The value as the customer's files have it, and what they call the package; empty where they say none."""
    package: str = ""
    lost_per_thousand: int = 0
    """Parts that are lost of a thousand that are placed: what a reel holds does not all come onto boards."""

    def passes_of_container(self, count: int) -> float | None:
        """Return how many passes that place *count* a reel, tray or stick lasts; None where that is not known."""
        if not self.per_container or not count:
            return None
        return self.per_container * 1000 / (count * (1000 + self.lost_per_thousand))

    @property
    def packing(self) -> Packing:
        """What a feeder bank asks of the part."""
        pocket = pocket_of(self.height) if self.pocket is None else self.pocket
        return Packing(self.supply, self.tape_width, pocket, self.reel, usual=self.usual_tape)


class Job(Struct, frozen=True):
    """Part types and passes that one plan is for. Raises :class:`InputError` with all that contradicts itself.

    Without passes there is nothing for a placement head: the plan has no set-up, and its verdict is the checks'.
    """

    name: str
    passes: tuple[Pass, ...]
    parts: tuple[PartDemand, ...]
    file: str = "job"
    without_pass: Mapping[str, float | None] = field(default_factory=dict)
    """Panels a year, None if unknown, of the boards that have no part for a placement head: people place all of it."""

    def __post_init__(self) -> None:
        problems = Problems()
        _check_passes(self, problems)
        _check_parts(self, problems)
        problems.raise_if_any()

    @property
    def per(self) -> Said:
        """What the sum of a part's placements over all passes is for: ``per board``, ``per panel of 2``."""
        boards = {p.board: p.boards for p in self.passes}
        if len(boards) > 1:
            return say("planning.for one of each", panels=max(boards.values()) > 1)
        pieces = max(boards.values(), default=1)
        return say("planning.per board") if pieces == 1 else say("planning.per panel", pieces=pieces)

    def counts(self) -> Ints:
        """Return placements by part type and pass, circuits of the panel included: shape (parts, passes)."""
        circuits = np.array([p.circuits for p in self.passes], dtype=np.int64)
        rows = [part.counts for part in self.parts]
        return np.asarray(np.array(rows, dtype=np.int64).reshape(len(rows), len(circuits)) * circuits)

    def yearly(self, board: str) -> float | None:
        """Return the panels of a board that are made in a year; None if unknown."""
        return next((one.per_year for one in self.passes if one.board == board), self.without_pass.get(board))

    def weights(self) -> tuple[float, ...]:
        """Return each pass's share of the work: by yearly quantity where all are given, else as many boards of each."""
        yearly = [p.per_year for p in self.passes]
        known = [y for y in yearly if y is not None]
        if len(known) < len(yearly):
            known = [1.0 / p.boards for p in self.passes]
        return tuple(y / sum(known) for y in known)


def _check_passes(job: Job, problems: Problems) -> None:
    where = Place(job.file)
    seen: dict[tuple[str, str], Pass] = {}
    yearly: dict[str, set[float]] = {}
    for board in job.passes:
        if (board.board, board.side) in seen:
            problems.add(
                where,
                f'"{board.name}" is demanded twice',
                "two quantities for one board contradict each other",
                "keep one of them",
            )
        seen[board.board, board.side] = board
        if board.per_year is not None:
            yearly.setdefault(board.board, set()).add(board.per_year)
            if not 0 < board.per_year < float("inf"):
                problems.add(
                    where,
                    f'"{board.name}" has a yearly quantity of {board.per_year:g}',
                    "a takt cannot be worked out from it",
                    "state a quantity above zero, or leave the board out",
                )
        if board.circuits < 1 or board.circuit_marks < 0 or (board.marks is not None and board.marks < 0):
            problems.add(where, f'"{board.name}" has a negative number of marks or no circuit', remedy="correct it")
    for name, quantity in job.without_pass.items():
        if quantity is not None and not 0 < quantity < float("inf"):
            told = f'"{name}" has a yearly quantity of {quantity:g}'
            problems.add(where, told, "no hours can be worked out from it", "state a quantity above zero")
    twice = {board.board for board in job.passes if sum(b.name == board.name for b in job.passes) > 1}
    for name, quantities in yearly.items():
        if len(quantities) > 1 and name not in twice:
            both = " and ".join(f"{q:g}" for q in sorted(quantities))
            problems.add(
                where,
                f'the sides of "{name}" have different yearly quantities ({both})',
                "each board passes with both sides",
                "give both sides the same quantity",
            )


def _check_parts(job: Job, problems: Problems) -> None:
    where = Place(job.file)
    for name in sorted(name for name, times in Counter(part.name for part in job.parts).items() if times > 1):
        problems.add(where, f'part "{name}" is listed twice', "its counts would be told apart", "add them up")
    for part in job.parts:
        if len(part.counts) != len(job.passes):
            problems.add(where, f'part "{part.name}" has {len(part.counts)} counts for {len(job.passes)} passes')
            continue
        if min(part.counts, default=0) < 0 or not any(part.counts):
            problems.add(
                where,
                f'part "{part.name}" has the counts {list(part.counts)}',
                "a part to be placed is there at least once and never less than zero times",
                "correct the count or leave the part out",
            )
        if part.refs and tuple(map(len, part.refs)) != part.counts:
            problems.add(where, f'part "{part.name}" has counts that disagree with its references')
    for index, board in enumerate(job.passes):
        if not any(len(p.counts) > index and p.counts[index] > 0 for p in job.parts):
            problems.add(
                where,
                f'"{board.name}" has no fitted parts',
                "there is nothing to plan",
                "check which parts are marked as not fitted, or leave this side out",
            )

"""What a survey keeps of each board on each line: an answer of a few numbers, and the causes that stand in the way."""

from __future__ import annotations

import enum

from msgspec import Struct

from capcheck.checking import Verdict
from capcheck.model import Said
from capcheck.values import Dimension, InputError, Interval


class CauseKind(enum.StrEnum):
    """How a cause stands in the way, the worst first."""

    UNANSWERED = "unanswered"
    """The check is no answer."""
    STOPS = "stops"
    """A rule fails, so that the board does not build on the line."""
    PANEL = "panel"
    """The board builds in a panel that would have to be ordered, not as it comes."""
    UNDECIDED = "undecided"
    """A datum is missing, and with it the answers that need it."""


class Limit(Struct, frozen=True):
    """A limit of a machine or a line that a rule asks for, as the fact that states it.

    *machine* and *head* are None where the limit is one of the line.
    """

    fact: str
    help: str
    dimension: Dimension | None
    machine: str | None = None
    head: str | None = None


class Cause(Struct, frozen=True):
    """What stands in the way of a board on a line; the same for all the boards in whose way it stands.

    *about* is the rule of what stops, and the fact that is missing of what is undecided; *title* and *remedy* are the
    rule's own. *said* is why a check is no answer.
    """

    kind: CauseKind
    about: str
    title: str = ""
    remedy: str = ""
    limit: Limit | None = None
    said: Said | None = None


class Demand(Struct, frozen=True):
    """What a board asks of a limit that is *now* (canonical unit): to be at least *needed*, or at most if not *upper*.

    An end of *needed* is infinite where nobody knows how far the limit would have to go.
    """

    now: float
    needed: Interval
    upper: bool

    @property
    def proved(self) -> float:
        """The value of the limit with which the board is proved to pass; infinite where none is."""
        return self.needed.high if self.upper else self.needed.low

    def met_by(self, value: float) -> bool:
        """Whether a limit of *value* is proved to let the board pass."""
        return value >= self.proved if self.upper else value <= self.proved

    def joined(self, other: Demand) -> Demand:
        """Return what both ask for together."""
        worst = max if self.upper else min
        one, two = self.needed, other.needed
        tightest = min if self.upper else max
        needed = Interval(worst(one.low, two.low), worst(one.high, two.high))
        return Demand(tightest(self.now, other.now), needed, self.upper)


class Case(Struct, frozen=True):
    """One cause on one board: whom it is about, and what it asks of the limit that it passes, if that is a number."""

    cause: Cause
    refs: tuple[str, ...] = ()
    demand: Demand | None = None


class HeadChange(Struct, frozen=True):
    """What one head alone would have to do that all parts of a board pass a rule: its *limit*, and what is asked."""

    rule: str
    limit: Limit
    demand: Demand


class LineResult(Struct, frozen=True):
    """A board on a line. Parts are counted once each, by the worst that comes out for them.

    *cycle* is the line time in seconds for a board, or a panel of it, all its passes together; None where none was
    planned or it is not known.
    """

    verdict: Verdict
    parts: int
    proved: int
    stopped: int
    undecided: int
    by_hand: int
    slots_needed: Interval
    slots: Interval
    cases: tuple[Case, ...]
    panel: Said | None = None
    """The panel in which the board would be built; None where it builds as sent, or not at all."""
    cycle: Interval | None = None
    per_hour: Interval | None = None
    head_changes: tuple[HeadChange, ...] = ()
    """Where the parts that a rule stops are stopped on several heads: which of the heads alone could take them all."""

    @property
    def stops(self) -> tuple[Case, ...]:
        """The causes for which the board does not build."""
        return tuple(case for case in self.cases if case.cause.kind in {CauseKind.STOPS, CauseKind.UNANSWERED})


class BoardResult(Struct, frozen=True):
    """A board on every line, in their order; *per_year* is None where nobody says how many are made."""

    name: str
    per_year: float | None
    questions: int
    on: tuple[LineResult, ...]


class Unread(Struct, frozen=True):
    """What was to be a board and could not be read."""

    name: str
    error: InputError


class Step(Struct, frozen=True):
    """A limit moved to *to* (canonical unit): the boards that it then stops no more, and those that then build."""

    to: float
    cures: tuple[str, ...]
    builds: tuple[str, ...]
    upper: bool = True
    """Whether the limit is an upper one."""


class OneHead(Struct, frozen=True):
    """What changes of one head's own limit would cure, the others as they are, the least change first."""

    limit: Limit
    steps: tuple[Step, ...]


class Obstacle(Struct, frozen=True):
    """A cause with the boards in whose way it stands, whichever machine's limit it is: *limits* are all of them.

    *alone* are those that nothing else stops: its cure alone builds them. *per_year* are the quantities of *boards*
    that are known, *per_year_alone* those of *alone*.
    """

    cause: Cause
    boards: tuple[str, ...]
    alone: tuple[str, ...]
    per_year: float
    per_year_alone: float
    steps: tuple[Step, ...] = ()
    """What each value of a limit would cure, the least change first."""
    needed: Demand | None = None
    """What all the boards together ask of the limit."""
    limits: tuple[Limit, ...] = ()
    """Whose limit it is: each machine and head where it stands in the way of one of the boards."""
    one_head: tuple[OneHead, ...] = ()
    """Where several heads' limits stand in the way: what one of them alone would cure, that which builds most first."""


class Survey(Struct, frozen=True):
    """All boards on all lines; *obstacles* are what stands in the way on each line, the worst first."""

    lines: tuple[str, ...]
    boards: tuple[BoardResult, ...]
    obstacles: tuple[tuple[Obstacle, ...], ...]
    unread: tuple[Unread, ...] = ()
    without_quantity: tuple[str, ...] = ()
    """Boards of the list of quantities that were not found among the boards."""
    inputs: tuple[str, ...] = ()
    """The files that the boards were read from."""

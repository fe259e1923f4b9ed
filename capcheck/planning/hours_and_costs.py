"""What a plan takes beside its cycles: hours of a year, set-ups of a batch, the cost of a board, as numbers of sums."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct

from capcheck.values import Interval, product, total

_NO_SECONDS: Final = 1e-9


class YearlySetUps(Struct, frozen=True):
    """How often the line is set up for a board in a year, and the seconds that it stands each time."""

    board: str
    batches: Interval
    seconds: Interval

    @property
    def hours(self) -> Interval:
        """Hours of a year in which the line stands for the board's set-ups."""
        return product(self.batches, self.seconds).scaled(1 / 3600)


class Demand(Struct, frozen=True):
    """Demand against scheduled hours, as the numbers of the sum: hours, boards a year, uptime, seconds per board.

    *set_ups* are those of the boards of which the shop states what they take; of others none is counted.
    """

    hours_per_year: float
    passes_per_year: float
    uptime: Interval | None
    takt: float
    needed_hours: Interval
    """Running hours that a year's boards need."""
    set_ups: tuple[YearlySetUps, ...] = ()

    @property
    def set_up_hours(self) -> Interval:
        """Scheduled hours in which the line stands for set-ups."""
        return total(one.hours for one in self.set_ups)

    @property
    def there_hours(self) -> Interval:
        """Running hours there are: scheduled hours without those of set-ups, times uptime where it is stated."""
        share, stands = self.uptime or Interval.exactly(1.0), self.set_up_hours
        least, most = (max(0.0, self.hours_per_year - end) for end in (stands.high, stands.low))
        return Interval(least * share.low, most * share.high)

    @property
    def is_met(self) -> bool | None:
        """Whether the hours suffice: True or False where proved, else None."""
        if self.needed_hours.high <= self.there_hours.low:
            return self.uptime is not None or None
        return False if self.needed_hours.low > self.there_hours.high else None


class CostTerm(Struct, frozen=True):
    """One part of a board's cost: what of, the figures of its sum by name, and what they come to."""

    kind: str
    figures: Mapping[str, Interval]
    amount: Interval


class SetUpWork(Struct, frozen=True):
    """What setting the line up for a batch takes: *sides* changes of board and *feeders* put on, by so many *people*.

    *carts* are exchanged as a whole; the feeders that are on none of them are put on *one_by_one*: each at least and at
    most, whatever the minutes are within their ends. *board_seconds*, *feeder_seconds* and *cart_seconds* are each
    one's, None where not stated; where feeders are prepared *beside* the running line it does not stand for them.
    *stands* are seconds of the line, *work* those of people. *at_best* and *at_worst* are the carts and the feeders one
    by one with which the line stands shortest and longest; None where that is not known.
    """

    sides: int
    feeders: Interval
    people: int
    board_seconds: Interval | None
    feeder_seconds: Interval | None
    beside: bool
    stands: Interval
    work: Interval
    carts: Interval
    cart_seconds: Interval | None
    one_by_one: Interval
    at_best: tuple[int, int] | None = None
    at_worst: tuple[int, int] | None = None


class BoardBreakEven(Struct, frozen=True):
    """One board in a common set-up and in one of its own, by the times planned.

    *common_s* and *own_s* are seconds of the line for a board. For a batch it stands *common_stands* seconds, in which
    the board is changed on each side, and *feeders_stand* more with a set-up of its own. *weight* is the yearly number,
    1 where none is given for some board.
    """

    board: str
    weight: float
    common_s: float
    own_s: float
    common_stands: Interval
    feeders_stand: Interval

    @property
    def own_stands(self) -> Interval:
        """Seconds for which the line stands for a batch with a set-up of the board's own."""
        return total([self.common_stands, self.feeders_stand])


class BreakEven(Struct, frozen=True):
    """One common set-up against one for each pass.

    At batches of Q boards of each, the common one runs Σ weight × (common − own seconds) longer, and with one each the
    line stands Σ weight / Q × seconds for feeders longer: break-even is where both are the same, as of two processes
    by their fixed and their variable cost in textbooks.
    """

    boards: tuple[BoardBreakEven, ...]

    @property
    def slower(self) -> float:
        """Weighted seconds that boards take longer in the common set-up."""
        return sum(one.weight * (one.common_s - one.own_s) for one in self.boards)

    @property
    def saved(self) -> Interval:
        """Weighted seconds of the line that the common set-up saves, were each batch of one board."""
        return total(one.feeders_stand.scaled(one.weight) for one in self.boards)

    @property
    def batch(self) -> Interval | None:
        """Boards of a batch at which both take as long; None where one of the two is quicker at any batch."""
        if self.slower <= _NO_SECONDS or self.saved.high <= 0:
            return None
        return self.saved.scaled(1 / self.slower)


class BoardCost(Struct, frozen=True):
    """What one board costs by the shop's rates, and how many a shift makes.

    *terms* are of any board made, *total* of each that is *good*. *not_counted* are the kinds of cost without a rate,
    *open_because* names what leaves an upper end open. *seconds* are the line's for one board while it runs,
    *occupied* the same with its stops. *good_share* is availability × quality.
    """

    board: str
    currency: str
    terms: tuple[CostTerm, ...]
    not_counted: tuple[str, ...]
    good: Interval
    open_because: tuple[str, ...]
    seconds: Interval
    uptime: Interval | None
    occupied: Interval
    batch: Interval | None
    set_up: SetUpWork
    shift_hours: Interval | None
    per_shift: Interval | None
    good_share: Interval | None
    refill_minutes: Interval | None
    hourly: Mapping[str, Interval | None]
    """By machine, and by station that has one: its rate of an hour, None where none is stated."""

    @property
    def made(self) -> Interval | None:
        """What a board costs, good or not; None where no rate is stated."""
        if not self.terms:
            return None
        return total(t.amount for t in self.terms)

    @property
    def total(self) -> Interval | None:
        """What a good board costs: those that are not good are paid by the others."""
        made = self.made
        return None if made is None else Interval(made.low / self.good.high, made.high / self.good.low)

"""Facts about a part on a head whose limits hang on the part's size.

A body that is known only within bounds may lie in several ranges: its limit is then known within bounds, too, and one
that may be larger than every range has no limit that proves anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Numbers, Truths
from capcheck.facts.head import heads_of
from capcheck.machines import Line, PartRange, spans_of
from capcheck.model import Flags
from capcheck.values import LENGTH

facts = Catalogue()

_LIMITS = (
    ("max_height", "max_part_height", "tallest part of this size", np.inf),
    ("min_lead_pitch", "min_lead_pitch", "least lead pitch that the part camera resolves at this size", 0.0),
    ("min_ball_pitch", "min_ball_pitch", "least ball pitch that the part camera resolves at this size", 0.0),
)
"""Fact, field of a range, help, and what counts where a range is silent: the head's own limit is asked besides."""


@facts.flag("head.has_ranges", "whether limits of the head hang on the size of the part")
def _has(line: Line) -> Truths:
    return Truths.of([bool(head.range) for _, head in heads_of(line)])


def _may_lie_in(part_length: Numbers, over: float, up_to: float) -> Flags:
    return np.asarray((part_length.high > over) & (part_length.low <= up_to))


def _ranges(part_length: Numbers, ranges: tuple[PartRange, ...]) -> Iterator[tuple[PartRange, Flags]]:
    """Yield each range with the parts that may lie in it."""
    for one, (over, up_to) in zip(ranges, spans_of(ranges), strict=True):
        yield one, _may_lie_in(part_length, over, up_to)


def _beyond(part_length: Numbers, ranges: tuple[PartRange, ...]) -> Flags:
    """Return the parts that may be larger than every range, or of no known size above nothing."""
    return np.asarray(part_length.high > max((up_to for _, up_to in spans_of(ranges)), default=np.inf))


def _limit(field: str, silent: float) -> Callable[[Numbers, Line], list[Numbers]]:
    def provide(part_length: Numbers, line: Line) -> list[Numbers]:
        columns = []
        for _, head in heads_of(line):
            ranges = head.range or ()
            low, high = np.full(len(part_length), np.inf), np.full(len(part_length), -np.inf)
            for one, here in _ranges(part_length, ranges):
                value = getattr(one, field)
                value = silent if value is None else value
                low, high = np.where(here, np.minimum(low, value), low), np.where(here, np.maximum(high, value), high)
            unknown = _beyond(part_length, ranges) | (low > high)
            columns.append(Numbers(np.where(unknown, -np.inf, low), np.where(unknown, np.inf, high)))
        return columns

    return provide


for _name, _field, _help, _silent in _LIMITS:
    facts.number(f"placing.{_name}_of_size", LENGTH, _help)(_limit(_field, _silent))


@facts.flag("placing.recognises_balls_of_size", "whether the part camera finds the balls of a grid of this size")
def _balls(part_length: Numbers, line: Line) -> list[Truths]:
    columns = []
    for _, head in heads_of(line):
        ranges = head.range or ()
        may = np.zeros((2, len(part_length)), dtype=np.bool_)
        for one, here in _ranges(part_length, ranges):
            may[int(one.recognises_balls is not False)] |= here
        beyond = _beyond(part_length, ranges)
        columns.append(Truths(may[1] & ~may[0] & ~beyond, may[0] & ~may[1] & ~beyond))
    return columns

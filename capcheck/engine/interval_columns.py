"""Arithmetic on columns of intervals: the result holds every number that the operands leave possible.

Ends are infinite where nothing bounds a number, and also where there is none: the least of no parts is beyond any. What
would be no number (∞ − ∞, ∞ ÷ ∞, 0 × the least of none) may be any number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from capcheck.facts import Numbers
from capcheck.model import Floats


def _added(a: Numbers, b: Numbers) -> Numbers:
    with np.errstate(invalid="ignore"):
        return _settled(a.low + b.low, a.high + b.high)


def _taken(a: Numbers, b: Numbers) -> Numbers:
    with np.errstate(invalid="ignore"):
        return _settled(a.low - b.high, a.high - b.low)


def _settled(low: Floats, high: Floats) -> Numbers:
    """Return the ends, open where ∞ − ∞ is no number: the least of none cancels with another to anything."""
    return Numbers(np.where(np.isnan(low), -np.inf, low), np.where(np.isnan(high), np.inf, high))


def _products(left: Numbers, right: Numbers) -> Numbers:
    for one, other in ((left, right), (right, left)):
        if one.low is one.high and len(one.low) == 1 and 0 < one.low[0] < np.inf:  # a number that a rule states
            with np.errstate(over="ignore"):
                return Numbers(one.low * other.low, one.low * other.high)
    with np.errstate(invalid="ignore", over="ignore"):
        ends = [a * b for a in (left.low, left.high) for b in (right.low, right.high)]
    # 0 × ∞ is 0 here: the open end stands for finite values without a bound …
    ends = [np.where(np.isnan(e), 0.0, e) for e in ends]
    low, high = np.minimum.reduce(ends), np.maximum.reduce(ends)
    # … unless no finite value is possible, as for the least of none.
    for one, other in ((left, right), (right, left)):
        open_ = ((one.low == np.inf) | (one.high == -np.inf)) & (other.low <= 0) & (other.high >= 0)
        if open_.any():
            low, high = np.where(open_, -np.inf, low), np.where(open_, np.inf, high)
    return Numbers(low, high)


def _quotients(left: Numbers, right: Numbers) -> Numbers:
    spans_zero = (right.low <= 0) & (right.high >= 0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        inverse = Numbers(np.where(spans_zero, -np.inf, 1 / right.high), np.where(spans_zero, np.inf, 1 / right.low))
        result = _products(left, inverse)
    return Numbers(np.where(spans_zero, -np.inf, result.low), np.where(spans_zero, np.inf, result.high))


ARITHMETIC: Final[dict[str, Callable[[Numbers, Numbers], Numbers]]] = {
    "+": _added,
    "-": _taken,
    "*": _products,
    "/": _quotients,
    "min": lambda a, b: Numbers(np.minimum(a.low, b.low), np.minimum(a.high, b.high)),
    "max": lambda a, b: Numbers(np.maximum(a.low, b.low), np.maximum(a.high, b.high)),
}

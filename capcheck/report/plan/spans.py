"""Numbers of a plan in words: spans, rates, counts and lists, the same in every text of a plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from capcheck.values import Interval

MANY: Final = 10


def ends(value: Interval, digits: int = 2) -> str:
    """Return a span without its unit: ``17.70``, ``15.89 to 17.70``, ``at least 15.89``, ``at most 200``."""
    if math.isinf(value.high):
        return f"at least {value.low:,.{digits}f}" if 0 < value.low < math.inf else "unknown"
    if math.isclose(value.low, value.high, rel_tol=1e-9, abs_tol=1e-12):
        return f"{value.low:,.{digits}f}"
    if value.low <= 0:
        return f"at most {value.high:,.{digits}f}"
    return f"{value.low:,.{digits}f} to {value.high:,.{digits}f}"


def span(value: Interval, unit: str, digits: int = 2) -> str:
    """Return a span with its unit."""
    return f"{ends(value, digits)} {unit}"


def count(value: Interval) -> str:
    """Return a number of places, whole or not."""
    if math.isinf(value.high):
        return f"at least {value.low:g}"
    if math.isinf(value.low):
        return f"at most {value.high:g}"
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g}"


def some(names: Sequence[str]) -> str:
    """Return the first names, and how many more there are."""
    more = f" and {len(names) - MANY} more" if len(names) > MANY else ""
    return ", ".join(names[:MANY]) + more


def numbered(number: int, noun: str) -> str:
    """Return a number with its noun: ``1 part number``, ``3 part numbers``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"

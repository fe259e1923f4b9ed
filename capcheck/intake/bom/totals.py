"""The total that a line below a bill of materials states, against what the lines above it add up to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.model import BomLine, Discrepancy, SetAside, Severity, Topic, say
from capcheck.values import pattern

_NUMBERS: Final = pattern(r"\d+(?:[.,]\d+)?")
_TOTAL: Final = "tables.total or end mark"


def totals_contradicted(lines: Sequence[BomLine], set_aside: Sequence[SetAside]) -> Iterator[Discrepancy]:
    """Yield a question for each stated total that is neither the parts, nor the fitted ones, nor the lines counted."""
    for aside in set_aside:
        numbers = _NUMBERS.findall(aside.text)
        if isinstance(aside.reason, str) or aside.reason.key != _TOTAL or len(numbers) != 1 or not numbers[0].isdigit():
            continue
        own = [x for x in lines if (x.file, x.sheet) == (aside.place.file, aside.place.sheet)]
        stated = int(numbers[0])
        if own and stated not in _sums(own):
            said = say("compare.total", stated=stated, listed=sum(len(line.refs) for line in own))
            yield Discrepancy(Topic.QUANTITY, said, place=aside.place, severity=Severity.STOP)


def _sums(lines: Sequence[BomLine]) -> set[float]:
    """Return what a total may count: parts by references or quantities, all or the fitted ones, and lines."""
    fitted = [line for line in lines if line.fitted]
    found: set[float] = set()
    for some in (lines, fitted):
        found |= {len(some), sum(len(line.refs) for line in some), sum(line.quantity or 0.0 for line in some)}
        found.add(sum(len(line.refs) if line.quantity is None else line.quantity for line in some))
    return found

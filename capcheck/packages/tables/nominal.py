"""A metric size code to its nominal size: how profiles state the smallest chip."""

from __future__ import annotations

from capcheck.packages.tables.sizes import size_table
from capcheck.values import Interval


def nominal_size(code: str) -> tuple[Interval, Interval]:
    """Return nominal length and width in mm of a metric size code with its M, such as ``0402M``.

    A code that no table lists is read as tenths of a millimetre, two digits each. Raises ValueError for one that
    cannot be read so.
    """
    digits = code.removesuffix("M")
    size = size_table().chip_by_metric.get(digits) or size_table().chip_by_metric.get(code)
    if size is not None:
        return Interval.exactly(size.nominal_length), Interval.exactly(size.nominal_width)
    if len(digits) != len("1608") or not digits.isdigit():
        raise ValueError(f'"{code}" is not a metric size code')
    return Interval.exactly(int(digits[:2]) / 10), Interval.exactly(int(digits[2:]) / 10)

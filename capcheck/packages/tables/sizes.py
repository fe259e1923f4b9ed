"""The published sizes behind size codes and short names, read once from the tables in ``data``."""

from __future__ import annotations

from functools import cache
from typing import Final, Literal

from msgspec import Struct

from capcheck.packages.tables.rows import rows_of
from capcheck.values import Interval

System = Literal["inch", "metric"]
SizeFamily = Literal["chip", "crystal", "led", "tantalum", "melf diode", "melf resistor", "sod", "do-214", "do-215"]

_GENERAL_TOLERANCE: Final = 0.2
"""For the rare sizes whose tolerance no table gives; from memory."""
_WOUND_TOLERANCE: Final = 0.3


class Size(Struct, frozen=True):
    """A size by code or by name: the body in mm, nominal and with its tolerance, and where it was published.

    *height* is that of a chip resistor for chips, and of the part for all others. *span* is over the leads.
    """

    family: SizeFamily
    nominal_length: float
    nominal_width: float
    length: Interval
    width: Interval
    source: str
    basis: str
    metric: str = ""
    inch: str = ""
    names: tuple[str, ...] = ()
    height: Interval | None = None
    span: Interval | None = None

    @property
    def shown(self) -> str:
        """The nominal size, as a sentence says it."""
        return f"{self.nominal_length:g} x {self.nominal_width:g} mm"


class Clash(Struct, frozen=True):
    """One reading of a code that means different sizes in the two systems or for different kinds of part."""

    system: System
    size: Size
    kinds: frozenset[str] = frozenset()
    usual: bool = False


class SizeTable(Struct, frozen=True):
    """All sizes, by the code in either system, by kind where the kind fixes the system, and by name."""

    chip_by_inch: dict[str, Size]
    chip_by_metric: dict[str, Size]
    clashes: dict[str, tuple[Clash, ...]]
    by_kind: dict[tuple[str, str], Size]
    """Crystals and LEDs, whose codes are tenths of a millimetre: (``crystal``, ``3225``)."""
    tantalum: tuple[Size, ...]
    named: tuple[Size, ...]
    """MELF, SOD and DO-214."""


class _ClashRow(Struct, frozen=True):
    code: str
    system: System
    length: float
    width: float
    source: str
    basis: str
    height: float | None = None
    room: float | None = None
    kinds: frozenset[str] = frozenset()
    usual: Literal["yes", "no"] = "no"
    note: str = ""


def _clash(row: _ClashRow, chips: dict[str, Size]) -> Clash:
    known = chips.get(row.code) if row.system == "inch" else None
    if known is None:
        slack = row.room or min(_GENERAL_TOLERANCE, 0.1 * row.length + 0.05)
        height = None
        if row.height is not None:
            # Codes of wound parts round the edge and the height to tenths; makers exceed both (from memory).
            slack, height = _WOUND_TOLERANCE, Interval.at_most(1.1 * row.height)
        known = Size(
            family="chip",
            nominal_length=row.length,
            nominal_width=row.width,
            length=Interval.about(row.length, slack),
            width=Interval.about(row.width, slack),
            source=row.source,
            basis=row.basis,
            height=height,
            metric=row.code if row.system == "metric" else "",
            inch=row.code if row.system == "inch" else "",
        )
    return Clash(row.system, known, row.kinds, row.usual == "yes")


@cache
def size_table() -> SizeTable:
    """Return the table of sizes, read once."""
    inch: dict[str, Size] = {}
    metric: dict[str, Size] = {}
    by_kind: dict[tuple[str, str], Size] = {}
    tantalum: list[Size] = []
    named: list[Size] = []
    for size in rows_of("size_codes", Size):
        if size.family == "chip":
            inch[size.inch] = size
            metric[size.metric] = size
            for alias in size.names:
                metric[alias] = size
        elif size.family in {"crystal", "led"}:
            by_kind[size.family, size.metric] = size
        elif size.family == "tantalum":
            tantalum.append(size)
        else:
            named.append(size)
    clashes: dict[str, tuple[Clash, ...]] = {
        code: (Clash("inch", inch[code]), Clash("metric", metric[code])) for code in sorted(inch.keys() & metric.keys())
    }
    for row in rows_of("size_code_clashes", _ClashRow):
        clash = _clash(row, inch)
        others = tuple(c for c in clashes.get(row.code, ()) if c.system != clash.system)
        if not others and row.code in metric and clash.system == "inch":
            others = (Clash("metric", metric[row.code]),)
        clashes[row.code] = (*others, clash)
    return SizeTable(inch, metric, clashes, by_kind, tuple(tantalum), tuple(named))


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

"""The published sizes behind size codes and short names, read once from the tables in ``data``."""

from __future__ import annotations

from functools import cache
from typing import Final, Literal

from msgspec import Struct

from capcheck.packages.tables.csv_rows import rows_of
from capcheck.values import Interval

System = Literal["inch", "metric"]

_GENERAL_TOLERANCE: Final = 0.2
"""For the rare sizes whose tolerance no table gives; from memory."""
_WOUND_TOLERANCE: Final = 0.3


class Size(Struct, frozen=True):
    """A size by code or by name: the body in mm, nominal and with its tolerance, and where it was published.

    *height* is that of a chip resistor for chips, and of the part for all others. *span* is over the leads.
    """

    family: str
    metric: str
    inch: str
    names: tuple[str, ...]
    nominal_length: float
    nominal_width: float
    length: Interval
    width: Interval
    height: Interval | None
    span: Interval | None
    source: str
    basis: str

    @property
    def shown(self) -> str:
        """The nominal size, as a sentence says it."""
        return f"{self.nominal_length:g} x {self.nominal_width:g} mm"


class Clash(Struct, frozen=True):
    """One reading of a code that means different sizes in the two systems or for different kinds of part."""

    system: System
    size: Size
    kinds: frozenset[str]
    usual: bool


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


def _bounds(row: dict[str, str], what: str) -> Interval | None:
    low, high = row[f"{what}_low"], row[f"{what}_high"]
    return Interval(float(low or 0), float(high)) if high else None


def _size(row: dict[str, str]) -> Size:
    length, width = _bounds(row, "length"), _bounds(row, "width")
    if length is None or width is None:
        message = f"size_codes.csv: {row} has no size"
        raise ValueError(message)
    return Size(
        row["family"],
        row["metric"],
        row["inch"],
        tuple(n.strip() for n in row["names"].split("/") if n.strip()),
        float(row["nominal_length"]),
        float(row["nominal_width"]),
        length,
        width,
        _bounds(row, "height"),
        _bounds(row, "span"),
        row["source"],
        row["basis"],
    )


def _clash(row: dict[str, str], chips: dict[str, Size]) -> Clash:
    known = chips.get(row["code"]) if row["system"] == "inch" else None
    length, width = float(row["length"]), float(row["width"])
    if known is None:
        slack = min(_GENERAL_TOLERANCE, 0.1 * length + 0.05)
        height = None
        if row["height"]:
            # Codes of wound parts round the edge and the height to tenths; makers exceed both (from memory).
            slack, height = _WOUND_TOLERANCE, Interval.at_most(1.1 * float(row["height"]))
        known = Size(
            "chip",
            row["code"] if row["system"] == "metric" else "",
            row["code"] if row["system"] == "inch" else "",
            (),
            length,
            width,
            Interval.about(length, slack),
            Interval.about(width, slack),
            height,
            None,
            row["source"],
            row["basis"],
        )
    system: System = "inch" if row["system"] == "inch" else "metric"
    return Clash(system, known, frozenset(row["kinds"].split()), row["usual"] == "yes")


@cache
def size_table() -> SizeTable:
    """Return the table of sizes, read once."""
    inch: dict[str, Size] = {}
    metric: dict[str, Size] = {}
    by_kind: dict[tuple[str, str], Size] = {}
    tantalum: list[Size] = []
    named: list[Size] = []
    for row in rows_of("size_codes"):
        size = _size(row)
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
    clashes: dict[str, tuple[Clash, ...]] = {}
    for code in sorted(inch.keys() & metric.keys()):
        both = (
            Clash("inch", inch[code], frozenset(), usual=False),
            Clash("metric", metric[code], frozenset(), usual=False),
        )
        clashes[code] = both
    for row in rows_of("size_code_clashes"):
        clash = _clash(row, inch)
        others = tuple(c for c in clashes.get(row["code"], ()) if c.system != clash.system)
        if not others and row["code"] in metric and clash.system == "inch":
            others = (Clash("metric", metric[row["code"]], frozenset(), usual=False),)
        clashes[row["code"]] = (*others, clash)
    return SizeTable(inch, metric, clashes, by_kind, tuple(tantalum), tuple(named))

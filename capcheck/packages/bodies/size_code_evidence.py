"""Whether a set of files writes its chip size codes in inch or metric, by the codes that exist in one system only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct

from capcheck.packages.names import KIND_BY_PREFIX, NO_CHIP, AgreedSystem, find_codes, plainly_named
from capcheck.packages.tables import rows_of, size_table
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PartName
    from capcheck.packages.tables import System

_TELLING: Final = frozenset({"resistor", "capacitor", "inductor", "ferrite bead"})
"""Kinds whose codes people write in their own system; LEDs, crystals and tantalums are named in metric everywhere."""

_CLEAR_MAJORITY: Final = 8
"""So many names in one system for each in the other settle the question; a lone maker's name does not unsettle it."""

_LEAST_METRIC: Final = 2
"""Names that prove metric: one alone may be a maker's number in a file of inch names."""

_SHOWN: Final = 3

_MICRO: Final = {
    "capacitor": pattern(r"\s*(\d{1,4})(?:[.,](\d{1,3}))?\s?[uUµμ](?:[fF]|(\d{1,2})|\b)"),
    "inductor": pattern(r"\s*(\d{1,4})(?:[.,](\d{1,3}))?\s?[uUµμ](?:[hH]|(\d{1,2})|\b)"),
}
"""A value in microfarad or microhenry: 22uF, 4.7 µH, 2u2."""


class _Greatest(Struct, frozen=True):
    """From so many microfarads no ceramic chip, and from so many microhenries no coil, of the metric size is made."""

    kind: str
    code: str
    micro: float
    source: str


def agreed_system(types: Sequence[PartName], size_codes: Literal["inch", "metric"] | None) -> AgreedSystem:
    """Return the system of ambiguous codes in these part types: as board.toml states, else as the other codes prove.

    Only codes of resistors, capacitors, inductors and beads that exist in one system, or that are marked, are
    evidence. Without any, or with a mixture, the system stays open.
    """
    if size_codes is not None:
        return AgreedSystem(size_codes, f'board.toml says size_codes = "{size_codes}"', stated=True)
    for prose in (False, True):
        seen: dict[System, Counter[str]] = {"inch": Counter(), "metric": Counter()}
        for name in types:
            _count_evidence(name, seen, prose=prose)
        agreed = _decided(seen)
        if agreed is not None:
            return agreed
    return AgreedSystem()


def _decided(seen: dict[System, Counter[str]]) -> AgreedSystem | None:
    """Return the system that the evidence settles; None where there is too little of it, or it is mixed."""
    inch, metric = seen["inch"], seen["metric"]
    if inch and len(inch) >= _CLEAR_MAJORITY * len(metric):
        return AgreedSystem("inch", f"other names in these files are inch: {_first(inch)}")
    if len(metric) >= max(_LEAST_METRIC, _CLEAR_MAJORITY * len(inch)):
        return AgreedSystem("metric", f"other names in these files are metric: {_first(metric)}")
    return None


def _first(names: Counter[str]) -> str:
    return ", ".join(list(names)[:_SHOWN])


def _count_evidence(name: PartName, seen: dict[System, Counter[str]], *, prose: bool) -> None:
    """Add what one type of part proves: from its names, or with *prose* from its value and description."""
    kind = KIND_BY_PREFIX.get(name.ref_prefix.upper())
    if name.ref_prefix.upper() in NO_CHIP:
        return
    if not prose:
        _count_pair(name, seen)
    if kind is not None and kind not in _TELLING:
        return
    for text in (name.value, name.description) if prose else (name.footprint, name.bom_package):
        if text:
            _count_codes(text, kind, seen, name=not prose)
    if not prose:
        _count_value(name, kind, seen)


def _count_pair(name: PartName, seen: dict[System, Counter[str]]) -> None:
    """Count a part that one text names by a code of one system only and another by a code of both.

    A footprint of size 1608 on a line that says 0603 means the inch code; one of size 0201 would mean the metric one.
    """
    texts = [t for t in (name.footprint, name.bom_package, name.value, name.description) if t]
    if len(texts) < 2 or name.ref_prefix.upper() in NO_CHIP:
        return
    table = size_table()
    kind = KIND_BY_PREFIX.get(name.ref_prefix.upper())
    codes = {m.code for i, text in enumerate(texts) for m in find_codes(text, kind, name=i == 0) if m.system is None}
    clear = {id(table.chip_by_inch.get(c) or table.chip_by_metric.get(c)) for c in codes if c not in table.clashes}
    for code in codes:
        clash = table.clashes.get(code, ())
        for meaning in clash:
            if id(meaning.size) in clear:
                seen[meaning.system][f"{code} on a line with {', '.join(sorted(codes - {code}))}"] += 1


def _count_value(name: PartName, kind: str | None, seen: dict[System, Counter[str]]) -> None:
    """Count a capacitor or inductor whose value no chip of the metric size has as evidence for inch."""
    micro = _MICRO.get(kind or "")
    match = micro.match(name.value) if micro is not None and name.value else None
    if match is None or kind is None:
        return
    value = float(f"{match[1]}.{match[2] or match[3] or 0}")
    too_much = {row.code: row.micro for row in rows_of("greatest_metric_values", _Greatest) if row.kind == kind}
    for text in (name.footprint, name.bom_package):
        for mention in find_codes(text, kind, name=True) if text else ():
            least = too_much.get(mention.code)
            if mention.system is None and least is not None and value >= least:
                seen["inch"][f"{text} with {name.value}"] += 1


def _count_codes(text: str, kind: str | None, seen: dict[System, Counter[str]], *, name: bool) -> None:
    table = size_table()
    for mention in find_codes(text, kind, name=name):
        if (mention.kind or kind or mention.letter_kind) not in _TELLING or not plainly_named(mention):
            continue
        if mention.system is not None:
            seen[mention.system][text] += 1
        elif mention.code in table.clashes:
            continue
        elif mention.code in table.chip_by_inch:
            seen["inch"][text] += 1
        elif mention.code in table.chip_by_metric:
            seen["metric"][text] += 1

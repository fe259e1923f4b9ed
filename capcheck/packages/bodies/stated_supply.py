"""What the data state a part to be supplied in goes before what such parts usually come in."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import fold, vocabulary
from capcheck.model import NOT_ON_THE_SURFACE, Basis, Measure, Packaging, say
from capcheck.packages.candidate import distinct
from capcheck.packages.tables import over_all
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import Body, PartName

_DESCRIBED: Final = pattern(lambda: str(vocabulary().supplies.described))
_KINDS: Final = {
    Packaging.TAPE: pattern(lambda: str(vocabulary().supplies.tape)),
    Packaging.TRAY: pattern(lambda: str(vocabulary().supplies.tray)),
    Packaging.STICK: pattern(lambda: str(vocabulary().supplies.stick)),
    None: pattern(lambda: str(vocabulary().supplies.bulk)),
}
"""What a text may name; bulk is fed by nothing."""
_WIDTH: Final = pattern(r"(?<![\d.,])(\d{1,3}(?:[.,]\d)?) ?mm")
_FED_WIDTHS_MM: Final = frozenset({4.0, 8.0, 12.0, 16.0, 24.0, 32.0, 44.0, 56.0})
"""The widths of carrier tape for which feeders are common (EIA-481); another one is asked about."""


_BESIDE_THE_POCKET_MM: Final = 3.5
"""Tape beside its pocket at least: 8 mm tape has pockets up to 4.4 mm wide, 12 mm tape up to 8.2 mm (EIA-481)."""


def with_stated_supply(bodies: Sequence[Body], types: Sequence[PartName]) -> list[Body]:
    """Return the bodies with the stated supply; it is open, with a question, where no feeder takes what is stated."""
    return [_with_supply(body, name) for body, name in zip(bodies, types, strict=True)]


def _with_supply(body: Body, name: PartName) -> Body:
    said = [(text, where) for text, where in (name.supply, _described(name)) if text]
    if not said or body.mounting in NOT_ON_THE_SURFACE:
        return body
    found = {supply_of(text) for text, _ in said}
    fed = all(_is_fed(text, body) for text, _ in said)
    widths = {(width, where) for text, where in said for width in _tape_widths(text)}
    if fed and len(found) == 1 and len({width for width, _ in widths}) <= 1 and (supply := found.pop()) is not None:
        tape = next((Measure(Interval.exactly(width), Basis.STATED, where) for width, where in widths), body.tape_width)
        return replace(body, supply=supply, supply_is_usual=False, tape_width=tape)
    asked = [say("packages.supply not fed", where=where, text=text) for text, where in said]
    return replace(body, supply=None, questions=distinct((*body.questions, *asked)))


def _is_fed(text: str, body: Body) -> bool:
    """Whether feeders are common for the width of tape that *text* states, if it states one, and the body fits in."""
    widths = _tape_widths(text)
    if not widths:
        return True
    sides = over_all(body)
    narrow = min(body.length.low, body.width.low) if sides is None else sides[1].low
    return len(widths) == 1 and widths[0] in _FED_WIDTHS_MM and narrow < widths[0] - _BESIDE_THE_POCKET_MM


def _tape_widths(text: str) -> list[float]:
    """Return the widths of tape in mm that *text* states."""
    if supply_of(text) is not Packaging.TAPE:
        return []
    return [float(width.replace(",", ".")) for width in _WIDTH.findall(fold(text))]


def _described(name: PartName) -> tuple[str, str]:
    found = _DESCRIBED.search(fold(name.description)) if name.description else None
    return (found[0], name.where) if found else ("", "")


@lru_cache(maxsize=1024)
def supply_of(text: str) -> Packaging | None:
    """Return what *text* says parts are supplied in; None where it names none or two, or what no feeder takes."""
    folded = fold(text)
    named = [kind for kind, words in _KINDS.items() if words.search(folded)]
    return named[0] if len(named) == 1 else None

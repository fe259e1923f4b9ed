"""What the data state a part to be supplied in goes before what such parts usually come in."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import fold, vocabulary
from capcheck.model import NOT_ON_THE_SURFACE, Packaging, say
from capcheck.packages.candidate import distinct
from capcheck.values import pattern

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


def with_stated_supply(bodies: Sequence[Body], types: Sequence[PartName]) -> list[Body]:
    """Return the bodies with the stated supply; it is open, with a question, where no feeder takes what is stated."""
    return [_with_supply(body, name) for body, name in zip(bodies, types, strict=True)]


def _with_supply(body: Body, name: PartName) -> Body:
    said = [(text, where) for text, where in (name.supply, _described(name)) if text]
    if not said or body.mounting in NOT_ON_THE_SURFACE:
        return body
    found = {supply_of(text) for text, _ in said}
    if len(found) == 1 and (supply := found.pop()) is not None:
        return replace(body, supply=supply)
    asked = [say("packages.supply not fed", where=where, text=text) for text, where in said]
    return replace(body, supply=None, questions=distinct((*body.questions, *asked)))


def _described(name: PartName) -> tuple[str, str]:
    found = _DESCRIBED.search(fold(name.description)) if name.description else None
    return (found[0], name.where) if found else ("", "")


@lru_cache(maxsize=1024)
def supply_of(text: str) -> Packaging | None:
    """Return what *text* says parts are supplied in; None where it names none or two, or what no feeder takes."""
    folded = fold(text)
    named = [kind for kind, words in _KINDS.items() if words.search(folded)]
    return named[0] if len(named) == 1 else None

"""The revisions of a board that the shop keeps, with what checks of them came to."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Seen
from capcheck.store import BoardKey


class KeptRevision(Struct, frozen=True):
    """A revision: what it is called, who brought it when, and its verdict on each line."""

    label: str
    who: str
    when: str
    verdicts: tuple[str, ...]


class Revisions(Struct, frozen=True):
    """The revisions that are kept of a board of this name, the last first."""

    kept: tuple[KeptRevision, ...]


def shown(seen: Seen, _: None) -> Revisions:
    """Return what the store keeps of the board."""
    key = BoardKey(seen.board.name, seen.quote.customer)
    verdicts: dict[str, list[str]] = {}
    for result in seen.store.results(key):
        verdicts.setdefault(result.sha256, []).append(f"{result.line}: {result.verdict}")
    return Revisions(
        tuple(
            KeptRevision(one.label, one.given.who, f"{one.given.when:%Y-%m-%d}", tuple(verdicts.get(one.sha256, ())))
            for one in reversed(seen.store.revisions(key))
        )
    )


AREA: Final = Area("revisions", "Revisions", shown)

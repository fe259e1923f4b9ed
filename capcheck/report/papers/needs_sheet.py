"""What many boards ask of a line, as a page: each limit with the share that it covers, drawn as steps."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct

from capcheck.report.papers.sheets import page_of
from capcheck.report.survey import (
    SHARES,
    Needs,
    because,
    cover_in_words,
    feeding_notes,
    feeding_rows,
    headline_of_needs,
    notes_of_left,
    open_by_limit,
    shares_of,
    why_unread,
)
from capcheck.survey import Envelope, rounded
from capcheck.values import shortened

_WIDTH, _HEIGHT = 260.0, 70.0
"""Of a drawing, in its own units."""


class _Drawn(Struct, frozen=True):
    """A limit with its values, and its steps as the points of two lines: as far as known, and proved."""

    words: str
    values: tuple[str, ...]
    known: str
    proved: str
    low: str
    high: str
    share_proved: str
    open: str


def needs_page(needs: Needs) -> str:
    """Return the page of what boards ask. Raises :class:`~capcheck.values.InputError`."""
    found = needs.cover
    return page_of(
        "needs.html",
        said=headline_of_needs(needs),
        cover=cover_in_words(found, needs.share, of=shares_of(needs)),
        shares=[f"{share:.0%}" for share in SHARES],
        limits=[_drawn(one) for one in needs.envelopes],
        feeding=feeding_rows(needs),
        feeding_notes=list(feeding_notes(needs)),
        left=[f"{one.name}: {'; '.join(because(one))}" for one in found.left] + list(notes_of_left(found)),
        open=[f"{words}: {shortened(names, 10_000)}" for words, names in open_by_limit(found)],
        unread=[why_unread(one) for one in needs.unread],
        width=_WIDTH,
        height=_HEIGHT,
    )


def _drawn(one: Envelope) -> _Drawn:
    ends = [one.reached[0].value, one.reached[-1].value] if one.reached else []
    return _Drawn(
        words=one.limit.words,
        values=tuple("" if (at := one.at(share)) is None else rounded(at, one.limit) for share in SHARES),
        known=_points(one, lambda reached: reached.known),
        proved=_points(one, lambda reached: reached.proved),
        low=rounded(ends[0], one.limit) if ends else "",
        high=rounded(ends[1], one.limit) if ends else "",
        share_proved=f"{one.reached[-1].proved:.0%}" if one.reached else "0%",
        open=shortened(one.open, 6),
    )


def _points(one: Envelope, share: Callable[..., float]) -> str:
    """Return the corners of the steps: to the right the limit goes further, upwards it covers more."""
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in _corners(one, share))


def _corners(one: Envelope, share: Callable[..., float]) -> Iterator[tuple[float, float]]:
    if not one.reached:
        return
    first, last = one.reached[0].value, one.reached[-1].value
    spread = abs(last - first) or 1.0
    y = _HEIGHT
    for reached in one.reached:
        x = abs(reached.value - first) / spread * _WIDTH
        yield x, y
        y = _HEIGHT * (1 - share(reached))
        yield x, y
    yield _WIDTH, y

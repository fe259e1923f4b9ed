"""What many boards ask of a line, for a reader: values by the share that they cover, what is open, who is left."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import cautions
from capcheck.report.styled_lines import wrapped
from capcheck.report.survey.obstacles_in_words import why_unread
from capcheck.survey import (
    BoardNeeds,
    Cover,
    Envelope,
    Left,
    Unread,
    at_share,
    by_quantity,
    by_whom,
    cover,
    envelopes,
    rounded,
)
from capcheck.values import Interval, counted, shortened, visible

SHARES: Final = (0.5, 0.8, 0.9, 0.95, 1.0)
_TOO_SMALL: Final = frozenset({"min_length", "min_width"})
_MOST_NAMES: Final = 8
_MOST_LEFT: Final = 12
_LEGEND: Final = (
    "Each column is the limit that covers so many {of}, as far as is known of their parts: at least that of an upper "
    "limit, at most that of a lower one. proved: what the last column covers where everything is known."
)


class Needs(Struct, frozen=True):
    """Many boards, and the share that a profile is to cover; *hours* of a year in which they are made."""

    boards: Sequence[BoardNeeds]
    unread: Sequence[Unread]
    share: float
    hours: float | None = None

    @property
    def cover(self) -> Cover:
        """The limits that cover the share."""
        return cover(self.boards, self.share)

    @property
    def envelopes(self) -> tuple[Envelope, ...]:
        """Each limit over all boards."""
        return envelopes(self.boards)


def headline_of_needs(needs: Needs) -> str:
    """Return what was found in one sentence."""
    unread = f"; {counted(len(needs.unread), 'board')} not read" if needs.unread else ""
    return f"What {counted(len(needs.boards), 'board')} ask{'s' * (len(needs.boards) == 1)} of a line{unread}"


def cover_in_words(found: Cover, share: float, *, of: str = "boards") -> str:
    """Return in a sentence what the limits cover."""
    left = f"; {counted(len(found.left), 'board')} left" if found.left else ""
    return (
        f"Limits for {share:.0%}: they cover {found.share:.0%} of the {of} as far as is known, {found.proved:.0%} "
        f"proved{left}"
    )


def needs_text(needs: Needs, width: int, *, full: bool = False) -> str:
    """Return what the boards ask as text for a width; with *full* no list is cut short."""
    if not needs.boards:
        lines = [*wrapped(headline_of_needs(needs), width), *_not_read(needs, width), "", *wrapped(cautions(), width)]
        return "".join(f"{visible(line)}\n" for line in lines)
    of = "of the yearly quantity" if by_quantity(needs.boards) else "boards"
    lines = [*wrapped(headline_of_needs(needs), width), "", *_table(needs), *wrapped(_LEGEND.format(of=of), width), ""]
    shares = [f"{share:.0%}" for share in SHARES]
    lines += _aligned([("feeders and parts", *shares), *((row.words, *row.values) for row in feeding_rows(needs))])
    lines += [line for note in feeding_notes(needs) for line in wrapped(note, width)]
    found = needs.cover
    lines += ["", *wrapped(cover_in_words(found, needs.share, of=shares_of(needs)), width)]
    most = len(found.left) if full else _MOST_LEFT
    for one in found.left[:most]:
        why = "; ".join(because(one))
        lines += wrapped(f"left: {one.name}: {why}", width, "  ", "      ")
    if len(found.left) > most:
        lines.append(f"  and {len(found.left) - most} more: --full")
    lines += [line for note in notes_of_left(found) for line in wrapped(note, width, "  ", "  ")]
    for limit, names in open_by_limit(found):
        text = (
            f"undecided: {limit} of {counted(len(names), 'board')}: {shortened(names, 10_000 if full else _MOST_NAMES)}"
        )
        lines += wrapped(text, width, "  ", "      ")
    lines += _not_read(needs, width)
    lines += ["", *wrapped(cautions(), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def _not_read(needs: Needs, width: int) -> list[str]:
    return [line for one in needs.unread for line in wrapped(f"not read: {why_unread(one)}", width, "  ", "      ")]


def shares_of(needs: Needs) -> str:
    """Return what the shares are of, in words."""
    return "yearly quantity" if by_quantity(needs.boards) else "boards"


def _table(needs: Needs) -> Iterator[str]:
    rows = [("limit", *(f"{share:.0%}" for share in SHARES), "proved", "undecided")]
    for one in needs.envelopes:
        cells = ("" if (at := one.at(share)) is None else rounded(at, one.limit) for share in SHARES)
        proved = f"{one.reached[-1].proved:.0%}" if one.reached else "0%"
        rows.append((one.limit.words, *cells, proved, str(len(one.open) or "")))
    yield from _aligned(rows)


def _aligned(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        first, *others = zip(row, widths, strict=True)
        yield "  ".join([first[0].ljust(first[1]), *(cell.rjust(width) for cell, width in others)]).rstrip()


class FeedingRow(Struct, frozen=True):
    """Something that a line has to hold or place, and how much of it does for each of the shares."""

    words: str
    values: tuple[str, ...]


def feeding_rows(needs: Needs) -> tuple[FeedingRow, ...]:
    """Return how many part numbers on tapes of each width and in trays, and how many parts, the boards have."""
    tapes = sorted({tape for board in needs.boards for tape in board.tapes})
    rows: list[tuple[str, Callable[[BoardNeeds], Interval]]] = [
        *((f"part numbers on {tape} mm tape", _on_tape(tape)) for tape in tapes),
        ("part numbers in trays", lambda board: board.trays),
        ("part numbers of which neither is known", lambda board: Interval.exactly(float(board.unfed))),
        ("parts placed", lambda board: board.placements),
    ]
    return (
        ()
        if not needs.boards
        else tuple(
            FeedingRow(words, tuple(_of_share(needs.boards, value, share) for share in SHARES)) for words, value in rows
        )
    )


def _on_tape(tape: int) -> Callable[[BoardNeeds], Interval]:
    return lambda board: board.tapes.get(tape, Interval.exactly(0.0))


def _of_share(boards: Sequence[BoardNeeds], value: Callable[[BoardNeeds], Interval], share: float) -> str:
    low, high = at_share(boards, lambda b: value(b).low, share), at_share(boards, lambda b: value(b).high, share)
    return f"{low:g}" if low == high else f"{low:g}–{high:g}"


def feeding_notes(needs: Needs) -> Iterator[str]:
    """Yield what is said of ball grids, of edges, and of the parts that are placed in a year."""
    boards = needs.boards
    if not boards:
        return
    sure, perhaps = sum(b.balls is True for b in boards), sum(b.balls is None for b in boards)
    yield f"ball grids: {counted(sure, 'board')}" + (f", and perhaps {perhaps} more" if perhaps else "")
    if over := sorted({name for one in needs.envelopes for name in one.never}):
        yield f"a part reaches over a conveyor edge, rails needed on any line: {shortened(over, _MOST_NAMES)}"
    if by_quantity(boards):
        low = sum(board.placements.low * (board.per_year or 0) for board in boards)
        high = sum(board.placements.high * (board.per_year or 0) for board in boards)
        hour = (
            f", {_ends(low / needs.hours, high / needs.hours)} an hour in {needs.hours:,g} hours" if needs.hours else ""
        )
        yield f"parts placed a year: {_ends(low, high)}{hour}"


def _ends(low: float, high: float) -> str:
    return f"{low:,.0f}" if f"{low:,.0f}" == f"{high:,.0f}" else f"{low:,.0f} to {high:,.0f}"


def because(left: Left) -> Iterator[str]:
    """Yield what a board asks further than a profile goes, each with the parts that ask for it."""
    for one in left.because:
        refs = f" ({by_whom(one.need)})" if one.need.refs else ""
        yield f"{one.limit.words} {'' if one.surely else 'perhaps '}{rounded(one.need.known, one.limit)}{refs}"
    if left.balls is not False:
        yield "ball grids" if left.balls else "perhaps ball grids"


def notes_of_left(found: Cover) -> Iterator[str]:
    """Yield what else may build the boards that are left."""
    if any(one.limit.key in _TOO_SMALL for left in found.left for one in left.because):
        yield "Boards are as sent: one that is too short or too narrow may build in a panel or with rails."


def open_by_limit(found: Cover) -> list[tuple[str, tuple[str, ...]]]:
    """Return the limits of which something is open among the boards covered, with those boards, the most first."""
    by: dict[str, list[str]] = {}
    for name, limits in found.open:
        for limit in limits:
            by.setdefault(limit.words, []).append(name)
    return sorted(((words, tuple(names)) for words, names in by.items()), key=lambda one: -len(one[1]))

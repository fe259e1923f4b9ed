"""What many boards ask of a line, for a reader: values by the share that they cover, what is open, who is left."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import cautions
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.report.styled_lines import wrapped
from capcheck.report.survey.obstacles_in_words import why_unread
from capcheck.survey import (
    Because,
    BoardNeeds,
    Cover,
    Envelope,
    Unread,
    at_share,
    by_quantity,
    by_whom,
    cover,
    envelopes,
    rounded,
)
from capcheck.values import counted, shortened, visible

SHARES: Final = (0.5, 0.8, 0.9, 0.95, 1.0)
SCHEMA: Final = "capcheck-needs/1"
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
        why = "; ".join(because(one.because, balls=one.balls))
        lines += wrapped(f"left: {one.name}: {why}", width, "  ", "      ")
    if len(found.left) > most:
        lines.append(f"  and {len(found.left) - most} more: --full")
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
    rows: list[tuple[str, Callable[[BoardNeeds], float]]] = [
        *((f"part numbers on {tape} mm tape", _on_tape(tape)) for tape in tapes),
        ("part numbers in trays, at most", lambda board: board.trays.high),
        ("parts placed", lambda board: board.placements),
    ]
    return (
        ()
        if not needs.boards
        else tuple(
            FeedingRow(words, tuple(_whole(at_share(needs.boards, value, share)) for share in SHARES))
            for words, value in rows
        )
    )


def _on_tape(tape: int) -> Callable[[BoardNeeds], float]:
    return lambda board: board.tapes.get(tape, 0)


def feeding_notes(needs: Needs) -> Iterator[str]:
    """Yield what is said of ball grids, and of the parts that are placed in a year."""
    boards = needs.boards
    if not boards:
        return
    sure, perhaps = sum(b.balls is True for b in boards), sum(b.balls is None for b in boards)
    yield f"ball grids: {counted(sure, 'board')}" + (f", and perhaps {perhaps} more" if perhaps else "")
    if by_quantity(boards):
        year = sum(board.placements * (board.per_year or 0) for board in boards)
        hour = f", {year / needs.hours:,.0f} an hour in {needs.hours:,g} hours" if needs.hours else ""
        yield f"parts placed a year: {year:,.0f}{hour}"


def _whole(number: float) -> str:
    return f"{number:g}" if math.isfinite(number) else "unknown"


def because(limits: Because, *, balls: bool) -> Iterator[str]:
    """Yield what a board asks further than a profile goes, each with the parts that ask for it."""
    for limit, need in limits:
        refs = f" ({by_whom(need)})" if need.refs else ""
        yield f"{limit.words} {rounded(need.known, limit)}{refs}"
    if balls:
        yield "ball grids"


def open_by_limit(found: Cover) -> list[tuple[str, tuple[str, ...]]]:
    """Return the limits of which something is open among the boards covered, with those boards, the most first."""
    by: dict[str, list[str]] = {}
    for name, limits in found.open:
        for limit in limits:
            by.setdefault(limit.words, []).append(name)
    return sorted(((words, tuple(names)) for words, names in by.items()), key=lambda one: -len(one[1]))


def needs_csv(needs: Needs) -> str:
    """Return a row for each board and limit: what it surely asks, what is known, what at most, and by which parts."""
    head = ("board", "per year", "limit", "key", "unit", "surely", "known", "at most", "parts")
    rows: list[tuple[object, ...]] = [head]
    for board in needs.boards:
        for one in needs.envelopes:
            need = board.needs.get(one.limit.key)
            if need is not None:
                ends = (_end(need.surely), _end(need.known), _end(need.at_most))
                unit = one.limit.dimension.unit
                key = f"{one.limit.section}.{one.limit.key}"
                rows.append((board.name, board.per_year, one.limit.words, key, unit, *ends, " ".join(need.refs)))
    return csv_text(with_cautions(rows))


def _end(value: float) -> float | None:
    return value if math.isfinite(value) and value > 0 else None


def needs_json(needs: Needs) -> dict[str, object]:
    """Return what the boards ask as data; null is not known."""
    found = needs.cover
    return {
        "schema": SCHEMA,
        "shares_of": shares_of(needs),
        "boards": [
            {
                "board": board.name,
                "per_year": board.per_year,
                "placements": board.placements,
                "balls": board.balls,
                "part_numbers_by_tape_mm": {str(tape): number for tape, number in board.tapes.items()},
                "part_numbers_in_trays": [board.trays.low, _end(board.trays.high)],
                "asks": {
                    key: {
                        "surely": _end(need.surely),
                        "known": _end(need.known),
                        "at_most": _end(need.at_most),
                        "refs": need.refs,
                    }
                    for key, need in board.needs.items()
                },
            }
            for board in needs.boards
        ],
        "limits": [
            {
                "key": f"{one.limit.section}.{one.limit.key}",
                "words": one.limit.words,
                "unit": one.limit.dimension.unit,
                "upper": one.limit.upper,
                "reached": [{"value": r.value, "known": r.known, "proved": r.proved} for r in one.reached],
                "open": one.open,
            }
            for one in needs.envelopes
        ],
        "cover": {
            "asked": needs.share,
            "share": found.share,
            "proved": found.proved,
            "values": found.values,
            "balls": found.balls,
            "left": [{"board": one.name, "because": list(because(one.because, balls=one.balls))} for one in found.left],
            "open": [{"what": words, "boards": names} for words, names in open_by_limit(found)],
        },
        "not_read": [{"board": one.name, "why": str(one.error.problems[0])} for one in needs.unread],
        "cautions": cautions(),
    }

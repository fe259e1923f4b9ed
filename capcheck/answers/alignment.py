"""Words that came back against those that were sent, in time that grows as the texts do, whatever stands in them."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher
from typing import Final

_MOST_PAIRS: Final = 40_000
"""Pairs of words up to which a stretch is compared each with each; beyond, it counts as written anew."""

Stretch = tuple[int, int, int, int]
"""Words of what was sent from one to before another, and of what came back in their place."""


def differences(was: Sequence[str], now: Sequence[str]) -> Iterator[tuple[bool, Stretch]]:
    """Yield the stretches of both texts in their order, each with whether it is the same in both.

    A word that stands once in each holds them together, such as the code of a question; between two of those they are
    compared word by word.
    """
    at = (0, 0)
    for a, c in (*_held_together(was, now), (len(was), len(now))):
        yield from _between(was, now, (at[0], a, at[1], c))
        if a < len(was):
            yield True, (a, a + 1, c, c + 1)
        at = (a + 1, c + 1)


def _held_together(was: Sequence[str], now: Sequence[str]) -> list[tuple[int, int]]:
    """Return the places of the words that stand once in each text, as many as are in the same order in both."""
    counts = Counter(was), Counter(now)
    place = {word: at for at, word in enumerate(was) if counts[0][word] == 1}
    pairs = [(place[word], at) for at, word in enumerate(now) if counts[1][word] == 1 and word in place]
    # The longest rising run, by the last word of the best run of each length and the word before each.
    ends: list[int] = []
    last: list[int] = []
    before: list[int] = []
    for number, (a, _) in enumerate(pairs):
        length = bisect_left(ends, a)
        if length == len(ends):
            ends.append(a)
            last.append(number)
        else:
            ends[length], last[length] = a, number
        before.append(last[length - 1] if length else -1)
    run: list[tuple[int, int]] = []
    number = last[-1] if last else -1
    while number >= 0:
        run.append(pairs[number])
        number = before[number]
    return run[::-1]


def _between(was: Sequence[str], now: Sequence[str], stretch: Stretch) -> Iterator[tuple[bool, Stretch]]:
    a, b, c, d = stretch
    first = next((n for n in range(min(b - a, d - c)) if was[a + n] != now[c + n]), min(b - a, d - c))
    rest = min(b - a, d - c) - first
    last = next((n for n in range(rest) if was[b - 1 - n] != now[d - 1 - n]), rest)
    if first:
        yield True, (a, a + first, c, c + first)
    a, b, c, d = a + first, b - last, c + first, d - last
    if (b - a) * (d - c) <= _MOST_PAIRS:
        for kind, i, j, k, m in SequenceMatcher(None, was[a:b], now[c:d], autojunk=False).get_opcodes():
            yield kind == "equal", (a + i, a + j, c + k, c + m)
    else:
        yield False, (a, b, c, d)
    if last:
        yield True, (b, b + last, d, d + last)

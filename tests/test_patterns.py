"""Every regular expression takes time in proportion to the text, whatever the text: a cell may hold anything.

Figures: invented.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import time
from collections.abc import Collection
from re import _constants as codes, _parser

import pytest
from depth import sample

import capcheck
from capcheck.values.patterns import _Pattern

LENGTH = 4000
SECONDS = 0.025
"""A pattern that looks at every character once needs under a millisecond; at every pair of them, over thirty."""
LEAST_GROWTH = 3
"""Twice the text takes a pattern that looks at every pair four times as long."""
SHORTER = 4
"""A quarter of the text takes one that looks at every pair a sixteenth of the time, at every triple a sixty-fourth."""
ENDS = ("\x01", "\n")
"""What no pattern takes, and what a point does not: a text that fits to its end is read once."""
PLAIN = "a0A1 .,-(/x'_"
PAIRS = [first + second for first in "0a .-/_" for second in "0 a.-("]
BOUNDED = {
    **dict.fromkeys(
        (f"capcheck.intake.tables.size_cell:{name}" for name in ("_LABELLED", "_PIECE", "_TYPICAL")),
        "a cell of more than sixty characters is no size",
    ),
    **dict.fromkeys(
        (f"capcheck.intake.tables.size_cell:{name}" for name in ("_A_LENGTH", "_PRODUCT", "_STATES")),
        "a cell of more than 240 characters is no size",
    ),
    "capcheck.packages.names.size_code_mentions:_BEFORE": "it is searched for in twelve characters",
    "capcheck.packages.names.size_code_mentions:_WORD_BEFORE": "it is searched for in sixteen characters",
    "capcheck.intake.tables.stated_units:_STATEMENT": "it is searched for in five hundred characters of a line",
    "capcheck.intake.tables.content:_UNIT_BEHIND": "it is searched for in the last forty characters",
}
CATEGORIES = {
    codes.CATEGORY_DIGIT: "0",
    codes.CATEGORY_SPACE: " ",
    codes.CATEGORY_WORD: "a",
}


def patterns_of_modules() -> dict[str, tuple[re.Pattern, frozenset[str]]]:
    """Every pattern that stands at the top of a module, by its place, with the methods that the module calls."""
    found = {}
    for info in pkgutil.walk_packages(capcheck.__path__, "capcheck."):
        if info.name.endswith("__main__"):
            continue
        module = importlib.import_module(info.name)
        for name, value in vars(module).items():
            if isinstance(value, _Pattern | re.Pattern):
                uses = re.findall(rf"\b{name}\.(\w+)\b", inspect.getsource(module))
                found.setdefault(id(value), (f"{info.name}:{name}", value, frozenset(uses)))
    return {place: (compiled(value), uses) for place, value, uses in found.values() if place not in BOUNDED}


def compiled(value: object) -> re.Pattern:
    if isinstance(value, re.Pattern):
        return value
    source = value._source() if callable(value._source) else value._source
    return re.compile(source, value._flags)


def characters(tree) -> set[str]:
    """Every character that a pattern names, and one of each kind that it takes."""
    found: set[str] = set()
    for code, value in tree:
        if code is codes.LITERAL:
            found.add(chr(value))
        elif code is codes.RANGE:
            found.add(chr(value[0]))
        elif code is codes.CATEGORY:
            found.add(CATEGORIES.get(value, "~"))
        elif code is codes.IN:
            found |= characters(value)
        elif code is codes.BRANCH:
            for branch in value[1]:
                found |= characters(branch)
        elif code in {codes.MAX_REPEAT, codes.MIN_REPEAT, codes.POSSESSIVE_REPEAT}:
            found |= characters(value[2])
        elif code is codes.SUBPATTERN:
            found |= characters(value[3])
        elif code is codes.ATOMIC_GROUP:
            found |= characters(value)
        elif code in {codes.ASSERT, codes.ASSERT_NOT}:
            found |= characters(value[1])
    return found


def repeated(found: re.Pattern) -> set[str]:
    """What texts are made of that such a pattern may stumble over: its own characters and words, and pairs."""
    source = found.pattern if isinstance(found.pattern, str) else found.pattern.decode("latin-1")
    flags = found.flags if isinstance(found.pattern, str) else found.flags & ~re.UNICODE
    own = sorted(characters(_parser.parse(source, flags)) - {"\0"})
    words = sorted(set(re.findall("[A-Za-z]{2,8}", source)))
    return {*PLAIN, *own[:25], *words[:15], *PAIRS}


def seconds(found: re.Pattern, uses: frozenset[str], text: str | bytes) -> float:
    start = time.process_time()
    if uses & {"sub", "subn"}:
        found.sub(text[:0], text)
    elif not uses or uses & {"search", "finditer", "findall", "split"}:
        for _ in found.finditer(text):
            pass
    elif "match" in uses:
        found.match(text)
    else:
        found.fullmatch(text)
    return time.process_time() - start


def text_of(found: re.Pattern, unit: str, length: int, end: str) -> str | bytes:
    text = (unit * length)[:length] + end
    return text.encode("latin-1", "replace") if isinstance(found.pattern, bytes) else text


def slowest(found: re.Pattern, uses: frozenset[str], units: Collection[str]) -> tuple[float, str]:
    worst = (0.0, "")
    for unit in units:
        for end in ENDS:
            if seconds(found, uses, text_of(found, unit, LENGTH // SHORTER, end)) <= SECONDS / SHORTER**3:
                continue
            text = text_of(found, unit, LENGTH, end)
            if (taken := seconds(found, uses, text)) > SECONDS:
                half = text_of(found, unit, LENGTH // 2, end)
                # A list of hundreds of words is slow at each character, and twice as slow at twice as many.
                if taken < LEAST_GROWTH * min(seconds(found, uses, half), seconds(found, uses, half)):
                    continue
                # Another process may hold the processor: only what is slow each time is slow.
                taken = min(taken, *(seconds(found, uses, text) for _ in range(5)))
                if taken < LEAST_GROWTH * min(seconds(found, uses, half) for _ in range(5)):
                    continue
            worst = max(worst, (taken, f"{unit!r} … {end!r}"))
            if worst[0] > SECONDS:
                return worst
    return worst


FOUND = patterns_of_modules()


@pytest.mark.parametrize("slow", [r"\s+$", r"(?:[^,]*,)*x", rb"[\d.]+ ?mm"])
def test_a_pattern_that_looks_at_pairs_is_found_out(slow):
    found = re.compile(slow)
    assert slowest(found, frozenset(), sorted(repeated(found)))[0] > SECONDS


def test_patterns_are_found():
    assert len(FOUND) > 150


@pytest.mark.rows("place", sorted(FOUND))
def test_a_long_text_takes_a_pattern_no_long_time(place):
    found, uses = FOUND[place]
    taken, text = slowest(found, uses, sample(sorted(repeated(found)), 12))
    assert taken <= SECONDS, text


@pytest.mark.parametrize(
    ("place", "begins", "unit", "ends"),
    [
        ("capcheck.engine.limits:_COMMA", "1,", "1", "\n"),
        ("capcheck.engine.limits:_COMMA", "", "1", ",1\n"),
        ("capcheck.values.units:_QUANTITY", "1", " ", "!"),
    ],
)
def test_a_text_that_was_slow_behind_another_beginning_is_so_no_longer(place, begins, unit, ends):
    found, uses = FOUND[place]
    text = begins + unit * (4 * LENGTH) + ends
    assert min(seconds(found, uses, text) for _ in range(3)) <= SECONDS

"""Tests of texts: whether one is one of some, how it begins, ends, what it contains, the pattern that it matches.

A pattern has ``*`` for anything, ``?`` for one character, ``#`` for one digit and ``[abc]`` or ``[0-9]`` for one of
several; each star takes as little as it can and never gives it back, so that the time grows with the length of the
text alone. Capitals do not matter, but where a fact lists its values.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np

from capcheck.engine.nodes import Environment, Node, SetNode, TextNode, TruthNode
from capcheck.facts import Texts, Truths
from capcheck.values import pattern

LONGEST_PATTERN: Final = 80
_REGULAR: Final = pattern(r"^\^|\$$|\.[*+?]|\\[A-Za-z]|\][+{]|\([^)]*\|")
"""Signs of a regular expression: as a pattern it would fit nothing that its writer meant, and *not* would pass."""
_PIECE: Final = pattern(r"\*+|\?|#|\[[^\[\]]{1,40}\]|[^*?#\[\]]+")
_WHATEVER_THEIR_HYPHENS: Final = ("part_number", ".family")
_ONE_OR_RANGE: Final = pattern(r"(.)-(.)|(.)", re.DOTALL)


def folded(text: str, fact: str) -> str:
    """Return *text* as it is compared where a fact may have any: capitals and spaces do not matter.

    Nor do hyphens in a part number or the name of a package, which every desk writes in its own way.
    """
    bare = "".join(text.casefold().split())
    return bare.replace("-", "") if fact.endswith(_WHATEVER_THEIR_HYPHENS) else bare


def hardly_a_value(fact: str, value: str, likely: str, own: str) -> str:
    """Return the sentence on a text that no table gives, and what to write for one of the shop's *own* library."""
    meant = f'; did you mean "{likely}"?' if likely else ";"
    return f'"{value}" is hardly a value of {fact}: no table names a package so{meant} {own}'


def tested(texts: Texts, test: Callable[[str], bool], *, blank: bool) -> Truths:
    """Return where *test* holds, asked once of each distinct text.

    Unknown texts are undecided, and so is a blank one, of which nothing is stated, unless *blank* is asked for.
    """
    yes = np.array([*((bool(value) or blank) and test(value) for value in texts.values), False])[texts.codes]
    known = np.array([*(bool(value) or blank for value in texts.values), False])[texts.codes]
    return Truths(yes, ~yes & known)


class TextIs(TruthNode, frozen=True, eq=False):
    """A text fact is one of some texts, or one of the members of a set fact."""

    subject: TextNode
    texts: tuple[str, ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths; unknown texts are undecided."""
        texts = self.subject.evaluate(env)
        if self.subject.choices:
            return texts.is_in(self.texts)
        wanted = {folded(text, self.subject.name) for text in self.texts}
        return tested(texts, lambda value: folded(value, self.subject.name) in wanted, blank="" in wanted)

    def children(self) -> tuple[Node, ...]:
        """Return the fact."""
        return (self.subject,)


class InSet(TruthNode, frozen=True, eq=False):
    """A text, fixed or a fact, is a member of a set fact."""

    member: TextNode | str
    container: SetNode

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths; an unknown text or set is undecided."""
        sets = self.container.evaluate(env)
        parts = []
        for members in sets.sets:
            if members is None:
                parts.append(Truths(np.array([False]), np.array([False])))
            elif isinstance(self.member, str):
                parts.append(Truths.of([self.member in members]))
            else:
                parts.append(self.member.evaluate(env).is_in(members))
        if len(parts) == 1:
            return parts[0]
        # Both sides have a row for each subject: take the matching row of each.
        rows = range(len(parts))
        pick = [(p.yes[i % len(p.yes)], p.no[i % len(p.no)]) for i, p in zip(rows, parts, strict=True)]
        return Truths(np.array([y for y, _ in pick]), np.array([n for _, n in pick]))

    def children(self) -> tuple[Node, ...]:
        """Return the facts."""
        return (self.container,) if isinstance(self.member, str) else (self.member, self.container)


class PatternError(ValueError):
    """A pattern cannot be read; the message says why."""


@cache
def matcher(text: str) -> Callable[[str], bool]:
    """Return whether a text as a whole is what the pattern *text* describes. Raises :class:`PatternError`."""
    if not text or len(text) > LONGEST_PATTERN:
        raise PatternError(f"a pattern has 1 to {LONGEST_PATTERN} characters")
    if (found := _REGULAR.search(text)) is not None:
        raise PatternError(
            f'"{text}": "{found[0]}" reads like a regular expression; in a pattern * stands for anything, ? for one '
            "character and # for a digit, and a sign that is meant stands in brackets: [.] [$]"
        )
    pieces = _PIECE.findall(text)
    if "".join(pieces) != text:
        raise PatternError(
            f'"{text}" is not a pattern: a [ or ] stands alone; one of several is written [abc] or [0-9]'
        )
    runs: list[str] = [""]
    for piece in pieces:
        if piece.startswith("*"):
            runs.append("")
        else:
            runs[-1] += _one(piece)
    first, *rest = runs
    if not rest:
        source = first
    else:
        # Each run is taken at the first place where it stands, for good; the last one must stand at the end.
        *middle, last = rest
        source = first + "".join(f"(?>.*?{run})" for run in middle if run) + f".*{last}"
    whole = re.compile(source, re.IGNORECASE | re.DOTALL)
    return lambda value: whole.fullmatch(value) is not None


def _one(piece: str) -> str:
    if piece == "?":
        return "."
    if piece == "#":
        return "[0-9]"
    if piece.startswith("["):
        return _choice(piece)
    return re.escape(piece)


def _choice(piece: str) -> str:
    """Return ``[abc]`` or ``[0-9]`` for a search: characters stand for themselves, a hyphen between two for a range."""
    if piece[1] in "^!" and len(piece) > len("[^]"):
        raise PatternError(f'"{piece}" would be one of these too; for none of them write not (… matches …)')
    found = []
    for first, last, single in _ONE_OR_RANGE.findall(piece[1:-1]):
        if single:
            found.append(re.escape(single))
            continue
        both = first + last
        if not (both.isdigit() or (both.isalpha() and both in {both.lower(), both.upper()})):
            raise PatternError(
                f'"{piece}": a range is one of digits or of letters, as in [0-9] or [a-f]; '
                "a hyphen itself stands first or last"
            )
        if first > last:
            raise PatternError(f'"{piece}" runs backwards')
        found.append(f"{first}-{last}")
    return f"[{''.join(found)}]"


_TESTS: Final[dict[str, Callable[[str, str], bool]]] = {
    "starts with": lambda value, text: value.casefold().startswith(text.casefold()),
    "ends with": lambda value, text: value.casefold().endswith(text.casefold()),
    "contains": lambda value, text: text.casefold() in value.casefold(),
    "matches": lambda value, text: matcher(text)(value),
}


def holds(test: str, value: str, texts: tuple[str, ...], fact: str) -> bool:
    """Whether a *value* of *fact* passes a test by one of *texts*.

    A part number or package is compared as elsewhere, but by a pattern and by hyphens alone, which are then meant.
    """
    if test == "matches" or not fact.endswith(_WHATEVER_THEIR_HYPHENS):
        return any(_TESTS[test](value, text) for text in texts)
    bare = folded(value, fact)
    return any(_TESTS[test](bare, own) if (own := folded(text, fact)) else _TESTS[test](value, text) for text in texts)


class TextTest(TruthNode, frozen=True, eq=False):
    """A text fact begins or ends with, contains or matches one of some texts."""

    subject: TextNode
    test: str
    texts: tuple[str, ...]

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths; unknown texts are undecided."""
        return tested(
            self.subject.evaluate(env),
            lambda value: holds(self.test, value, self.texts, self.subject.name),
            blank=False,
        )

    def children(self) -> tuple[Node, ...]:
        """Return the fact."""
        return (self.subject,)


class SameText(TruthNode, frozen=True, eq=False):
    """Two text facts are the same text."""

    left: TextNode
    right: TextNode

    def evaluate(self, env: Environment) -> Truths:
        """Return the truths; where either is unknown or blank it is undecided."""
        left, right = self.left.evaluate(env), self.right.evaluate(env)
        numbers: dict[str, int] = {}

        def coded(node: TextNode, values: tuple[str, ...]) -> list[int]:
            texts = values if node.choices else [folded(value, node.name) for value in values]
            return [numbers.setdefault(t, len(numbers)) if t else -1 for t in texts]

        one = np.array([*coded(self.left, tuple(left.values)), -1])[left.codes]
        other = np.array([*coded(self.right, tuple(right.values)), -1])[right.codes]
        known = (one >= 0) & (other >= 0)
        return Truths(known & (one == other), known & (one != other))

    def children(self) -> tuple[Node, ...]:
        """Return both facts."""
        return self.left, self.right

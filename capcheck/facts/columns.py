"""The columns that facts are kept in: intervals, truths of three values, texts and sets.

A column has one row for each thing of its scope. Comparisons are proved, disproved or neither; a column of truths
keeps the two proofs apart, so that Kleene's logic is two array operations.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, Never, TypeVar

import numpy as np
from msgspec import Struct, field

from capcheck.model import Flags, Floats, Ints, Measure
from capcheck.values import Interval, Place

Source = Callable[[int], Place | str]
"""Where the value of a row comes from, as a reader would look it up: a place in a file, or words; empty if unknown."""


def _no_source(_row: int) -> str:
    return ""


def _where_known(known: Flags, source: Source) -> Source:
    return lambda row: source(row) if known[row] else ""


class Numbers(Struct, frozen=True, eq=False):
    """Intervals as two arrays of equal shape, in the canonical unit of the fact's dimension."""

    low: Floats
    high: Floats
    source: Source = _no_source

    @classmethod
    def of(cls, intervals: Iterable[Interval], source: Source = _no_source) -> Numbers:
        """Return a column of the intervals given."""
        pairs = [(i.low, i.high) for i in intervals]
        array = np.array(pairs, dtype=np.float64).reshape(-1, 2)
        return cls(array[:, 0].copy(), array[:, 1].copy(), source)

    @classmethod
    def measured(cls, measures: Sequence[Measure]) -> Numbers:
        """Return a column of measures, each with its own source."""
        return cls.of((m.value for m in measures), lambda row: measures[row].source or str(measures[row].basis))

    @classmethod
    def stated(cls, values: Sequence[float | None], source: Source = _no_source) -> Numbers:
        """Return a column of stated numbers; None is unknown."""
        low = np.array([-np.inf if v is None else v for v in values], dtype=np.float64)
        high = np.array([np.inf if v is None else v for v in values], dtype=np.float64)
        return cls(low, high, source)

    @classmethod
    def of_ends(cls, low: Sequence[float], high: Sequence[float], source: Source = _no_source) -> Numbers:
        """Return a column of the intervals with these ends."""
        return cls(np.array(low, dtype=np.float64), np.array(high, dtype=np.float64), source)

    @classmethod
    def exactly(cls, values: Floats, source: Source = _no_source) -> Numbers:
        """Return a column of exact numbers; NaN is unknown."""
        missing = np.isnan(values)
        if not missing.any():
            return cls(values, values, source)
        return cls(np.where(missing, -np.inf, values), np.where(missing, np.inf, values), source)

    def __len__(self) -> int:
        return len(self.low)

    def _refuse(self, _other: object = None) -> Never:
        """Refuse signs of comparison, which would have to be true or false where a column is also undecided."""
        raise TypeError("numbers are intervals: they are compared by at_most(a, b) and at_least(a, b)")

    __bool__ = __lt__ = __le__ = __gt__ = __ge__ = _refuse

    def rounded(self) -> Numbers:
        """Return the column to a nanometre: what lies on a limit must not miss it by the last digit of a float."""
        return Numbers(np.round(self.low, 6), np.round(self.high, 6), self.source)

    def take(self, rows: Ints) -> Numbers:
        """Return the rows asked for; sources follow their rows."""
        return Numbers(self.low[rows], self.high[rows], lambda i: self.source(int(rows[i])))

    def follow(self, rows: Ints) -> Numbers:
        """Return the rows asked for; a row of -1 is unknown."""
        if not (rows < 0).any():
            return self.take(rows)
        known, taken = rows >= 0, self.take(np.maximum(rows, 0))
        low, high = np.where(known, taken.low, -np.inf), np.where(known, taken.high, np.inf)
        return Numbers(low, high, _where_known(known, taken.source))

    def interval(self, row: int) -> Interval:
        """Return one row as an interval."""
        return Interval(float(self.low[row]), float(self.high[row]))


class Truths(Struct, frozen=True, eq=False):
    """Three-valued truths: *yes* where proved, *no* where disproved, neither where undecided."""

    yes: Flags
    no: Flags
    source: Source = _no_source

    @classmethod
    def of(cls, values: Iterable[bool | None], source: Source = _no_source) -> Truths:
        """Return a column of known and unknown (None) truths."""
        listed = list(values)
        yes, no = ([v is what for v in listed] for what in (True, False))
        return cls(np.array(yes, dtype=np.bool_), np.array(no, dtype=np.bool_), source)

    @classmethod
    def known(cls, values: Flags, source: Source = _no_source) -> Truths:
        """Return a column in which every row is known."""
        return cls(values, ~values, source)

    def __len__(self) -> int:
        return len(self.yes)

    def __bool__(self) -> bool:
        """Refuse ``and``, ``or`` and ``not``: they would take the whole column for one truth, and drop the other."""
        raise TypeError("a column of truths is joined by all_of(…) and any_of(…), not by and, or, not or if")

    def take(self, rows: Ints) -> Truths:
        """Return the rows asked for; sources follow their rows."""
        return Truths(self.yes[rows], self.no[rows], lambda i: self.source(int(rows[i])))

    def follow(self, rows: Ints) -> Truths:
        """Return the rows asked for; a row of -1 is unknown."""
        if not (rows < 0).any():
            return self.take(rows)
        known, taken = rows >= 0, self.take(np.maximum(rows, 0))
        return Truths(taken.yes & known, taken.no & known, _where_known(known, taken.source))

    def negated(self) -> Truths:
        """Return the column with proofs and disproofs exchanged."""
        return Truths(self.no, self.yes, self.source)

    def value(self, row: int) -> bool | None:
        """Return one row; None where undecided."""
        return True if self.yes[row] else False if self.no[row] else None


class Texts(Struct, frozen=True, eq=False):
    """Texts as codes into a list of distinct values; code −1 is unknown."""

    codes: Ints
    values: Sequence[str]
    source: Source = _no_source
    asked: dict[frozenset[str], Truths] = field(default_factory=dict)
    """What has been asked so far: a dozen rules, each for every head, ask for the same few texts."""

    @classmethod
    def of(cls, texts: Sequence[str | None], source: Source = _no_source) -> Texts:
        """Return a column of texts; None is unknown, an empty text is known to be empty."""
        index: dict[str, int] = {}
        codes = [-1 if t is None else index.setdefault(t, len(index)) for t in texts]
        return cls(np.array(codes, dtype=np.int64), list(index), source)

    def __len__(self) -> int:
        return len(self.codes)

    def take(self, rows: Ints) -> Texts:
        """Return the rows asked for; sources follow their rows."""
        return Texts(self.codes[rows], self.values, lambda i: self.source(int(rows[i])))

    def follow(self, rows: Ints) -> Texts:
        """Return the rows asked for; a row of -1 is unknown."""
        if not (rows < 0).any():
            return self.take(rows)
        known, taken = rows >= 0, self.take(np.maximum(rows, 0))
        return Texts(np.where(known, taken.codes, -1), self.values, _where_known(known, taken.source))

    def value(self, row: int) -> str | None:
        """Return one row; None where unknown."""
        code = int(self.codes[row])
        return None if code < 0 else self.values[code]

    def equals(self, text: str) -> Truths:
        """Return where the text is *text*; unknown texts are undecided."""
        return self.is_in((text,))

    def is_in(self, texts: Iterable[str]) -> Truths:
        """Return where the text is one of *texts*; unknown texts are undecided."""
        wanted = frozenset(texts)
        if wanted not in self.asked:
            held = np.fromiter(map(wanted.__contains__, (*self.values, None)), dtype=bool)
            yes = held[self.codes]  # the last stands for -1
            self.asked[wanted] = Truths(yes, ~yes & (self.codes >= 0))
        return self.asked[wanted]


class Sets(Struct, frozen=True, eq=False):
    """Sets of texts, such as the kinds of mark a machine finds; None is unknown."""

    sets: Sequence[frozenset[str] | None]
    source: Source = _no_source

    def __len__(self) -> int:
        return len(self.sets)

    def take(self, rows: Ints) -> Sets:
        """Return the rows asked for; sources follow their rows."""
        return Sets([self.sets[int(r)] for r in rows], lambda i: self.source(int(rows[i])))

    def follow(self, rows: Ints) -> Sets:
        """Return the rows asked for; a row of -1 is unknown."""
        if not (rows < 0).any():
            return self.take(rows)
        known, taken = rows >= 0, self.take(np.maximum(rows, 0))
        sets = [members if is_known else None for members, is_known in zip(taken.sets, known, strict=True)]
        return Sets(sets, _where_known(known, taken.source))

    def value(self, row: int) -> str | None:
        """Return one row as a readable list; None where unknown."""
        members = self.sets[row]
        return None if members is None else ", ".join(sorted(members)) or "none"


Column = Numbers | Truths | Texts | Sets
Kind = TypeVar("Kind", Numbers, Truths, Texts, Sets)


def expected(column: Column, kind: type[Kind]) -> Kind:
    """Return *column* as the kind that the catalogue declares. Raises TypeError if a provider made another."""
    if not isinstance(column, kind):
        raise TypeError(f"a column of {type(column).__name__} stands where {kind.__name__} were declared")
    return column


YES: Final = Truths(np.array([True]), np.array([False]))

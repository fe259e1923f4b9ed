"""Tables of limits: what is asked of a part depends on its family, number, customer or whatever text is looked up.

The first row that fits counts. Where a text that is looked up is not known, each row that may be the right one
counts with its limit; where no row fits, the limit is unknown, and nothing passes by it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, reduce
from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.engine.nodes import Environment, Node, NumberNode, TextNode
from capcheck.engine.text_tests import folded
from capcheck.facts import Numbers, Texts
from capcheck.model import Ints, Said, say
from capcheck.values import Dimension, Place, pattern

EVERY: Final = "*"
"""A key that fits every text; within one it stands for anything."""
_STAR: Final = pattern(r"\*+")


class TableRow(Struct, frozen=True):
    """One row: the texts that it is found by, its limits by column (None where it states none), and where it is."""

    keys: tuple[str, ...]
    limits: Mapping[str, float | None]
    place: Place


class RowsByKey:
    """Rows of a table by what their keys begin and end with, so that few of many are looked at for a text.

    *facts* are those that the rows are found by.
    """

    def __init__(self, facts: Sequence[str]) -> None:
        self._facts = facts
        self._rows: dict[tuple[tuple[str, str], ...], list[int]] = {}
        self._ends: list[dict[str, set[str]]] = [{} for _ in facts]
        """For each fact what keys begin with, and what those end with that begin so."""

    def add(self, number: int, keys: Sequence[str]) -> None:
        """Add the row of a *number* by its keys."""
        ends = [_ends_of(key, fact) for key, fact in zip(keys, self._facts, strict=True)]
        for known, (first, last) in zip(self._ends, ends, strict=True):
            known.setdefault(first, set()).add(last)
        self._rows.setdefault(tuple(ends), []).append(number)

    def that_may_fit(self, texts: Sequence[str]) -> list[int]:
        """Return the numbers of the rows that may fit *texts*, in their order; which do, :func:`fits` tells."""
        found = []
        for known, text, fact in zip(self._ends, texts, self._facts, strict=True):
            plain = folded(text, fact)
            pieces = [plain[:at] for at in range(len(plain) + 1)]
            begun = [(first, known[first]) for first in pieces if first in known]
            endings = [plain[at:] for at in range(len(plain) + 1)]
            found.append([(first, last) for first, lasts in begun for last in endings if last in lasts])
        return sorted(number for ends in product(*found) for number in self._rows.get(ends, ()))


def _ends_of(key: str, fact: str) -> tuple[str, str]:
    if EVERY not in key:
        return folded(key, fact), folded(key, fact)
    return folded(key.partition(EVERY)[0], fact), folded(key.rpartition(EVERY)[2], fact)


class LimitTable(Struct, frozen=True, dict=True):
    """Limits by the texts of some facts; *dimensions* are those of its columns."""

    name: str
    facts: tuple[str, ...]
    dimensions: Mapping[str, Dimension]
    rows: tuple[TableRow, ...]

    @cached_property
    def by_key(self) -> RowsByKey:
        """The numbers of the rows by what they are found by."""
        found = RowsByKey(self.facts)
        for number, row in enumerate(self.rows):
            found.add(number, row.keys)
        return found

    def shifted(self, column: str, by: float) -> LimitTable:
        """Return the table with every limit of a column changed by *by*."""
        rows = tuple(
            TableRow(
                row.keys, {**row.limits, column: None if (old := row.limits[column]) is None else old + by}, row.place
            )
            for row in self.rows
        )
        return LimitTable(self.name, self.facts, self.dimensions, rows)


def fits(key: str, text: str, fact: str) -> bool:
    """Whether a key of a table fits a text of *fact*."""
    if EVERY not in key:
        return folded(key, fact) == folded(text, fact)
    first, *rest = (folded(piece, fact) for piece in _STAR.split(key))
    text = folded(text, fact)
    if not text.startswith(first) or len(text) < len(first) + len(rest[-1]) or not text.endswith(rest[-1]):
        return False
    at, end = len(first), len(text) - len(rest[-1])
    for piece in rest[:-1]:
        found = text.find(piece, at, end)
        if found < 0:
            return False
        at = found + len(piece)
    return True


class LookedUp(NumberNode, frozen=True, eq=False):
    """A limit of a table, for the texts of each subject."""

    table: LimitTable
    column: str
    keys: tuple[TextNode, ...]

    def children(self) -> tuple[Node, ...]:
        """Return the texts that it is found by."""
        return self.keys

    def evaluate(self, env: Environment) -> Numbers:
        """Return the bounds of what may be asked."""
        texts, codes, distinct = self._distinct(env)
        found = [self._limit(self._texts(texts, combination)) for combination in distinct]
        low, high = (np.array([ends[end] for ends in found], dtype=np.float64) for end in (0, 1))
        return Numbers(low[codes], high[codes])

    def found(self, env: Environment, row: int) -> tuple[Place | None, Said | None]:
        """Return where the limit of a row stands; else that no row of the table fits, where none does."""
        texts, codes, distinct = self._distinct(env)
        known = self._texts(texts, distinct[codes[row if len(codes) > 1 else 0]])
        candidates = list(self._candidates(known))
        if len(candidates) == 1 and candidates[0] is not None:
            return candidates[0].place, None
        if candidates == [None]:
            pairs = zip(self.table.facts, known, strict=True)
            keys = [say("engine.no row for", fact=fact, text=text) for fact, text in pairs]
            return None, say("engine.no row", table=self.table.name, keys=keys)
        return None, None

    def _distinct(self, env: Environment) -> tuple[list[Texts], Ints, list[tuple[int, ...]]]:
        """Return the columns looked up, for each row the number of its combination, and the combinations."""
        texts = [key.evaluate(env) for key in self.keys]
        count = max(len(column) for column in texts)
        if min(len(column) for column in texts) == 0:
            count = 0
        columns = [np.broadcast_to(column.codes, (count,)) for column in texts]
        sizes = [len(column.values) + 1 for column in texts]

        def joined(so_far: Ints, column: tuple[Ints, int]) -> Ints:
            codes, size = column
            found: Ints = so_far * size + codes + 1
            return found

        whole = reduce(joined, zip(columns, sizes, strict=True), np.zeros(count, dtype=np.int64))
        numbers, codes = np.unique(whole, return_inverse=True)
        return texts, codes, [_parted(int(number), sizes) for number in numbers.tolist()]

    @staticmethod
    def _texts(columns: Sequence[Texts], combination: tuple[int, ...]) -> list[str | None]:
        return [column.values[c] or None if c >= 0 else None for column, c in zip(columns, combination, strict=True)]

    def _candidates(self, texts: Sequence[str | None]) -> Iterator[TableRow | None]:
        """Yield each row that may be the one for these texts, and None where it may be none of them."""
        known = [text for text in texts if text is not None]
        rows = self.table.rows
        if len(known) == len(texts):
            rows = tuple(rows[number] for number in self.table.by_key.that_may_fit(known))
        for row in rows:
            certain = True
            for key, text, fact in zip(row.keys, texts, self.table.facts, strict=True):
                if text is None:
                    certain = certain and key == EVERY
                elif not fits(key, text, fact):
                    break
            else:
                yield row
                if certain:
                    return
        yield None

    def _limit(self, texts: Sequence[str | None]) -> tuple[float, float]:
        limits = [None if row is None else row.limits[self.column] for row in self._candidates(texts)]
        known = [limit for limit in limits if limit is not None]
        return (min(known), max(known)) if len(known) == len(limits) else (-np.inf, np.inf)


def _parted(number: int, sizes: Sequence[int]) -> tuple[int, ...]:
    codes: list[int] = []
    for size in reversed(sizes):
        number, code = divmod(number, size)
        codes.append(code - 1)
    return tuple(reversed(codes))

"""A column of a large text as bytes and positions: equal cells and plain numbers are found without a string a cell.

Eight bytes of a cell are taken as one whole number, so that NumPy compares or converts 100,000 cells in a few
milliseconds; making and hashing as many strings takes several times that. To everyone else a column is a sequence of
texts, made when they are asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from capcheck.model import Flags, Floats, Ints

Bytes = NDArray[np.uint8]
Words = NDArray[np.uint64]

PAD: Final = 16
"""Bytes of the buffer before the first and behind the last cell, so that a word may reach over an end."""
_ASCII: Final = 128
_IS_BLANK: Final = np.isin(np.arange(256), [*range(0x09, 0x0E), *range(0x1C, 0x21)])
_LONGEST: Final = 64
"""Longer cells are compared as strings."""
_WORD: Final = 8
_FIRST: Final = np.array([(1 << 8 * n) - 1 for n in range(_WORD + 1)], dtype="<u8")
"""Masks of the first n bytes of a word."""
_LAST: Final = ~_FIRST[::-1]
"""Masks of the last n bytes of a word."""
_ZEROS: Final = np.uint64(0x3030303030303030)
_LOW: Final = np.uint64(0x0101010101010101)
_HIGH: Final = np.uint64(0x8080808080808080)
_POWERS: Final = 10 ** np.arange(_WORD, dtype=np.uint64)
_SPREAD: Final = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9, 0xD6E8FEB86659FD93)
"""Odd numbers without a pattern, which spread words over a table."""


class PackedColumn(Sequence[str]):
    """Cells of UTF-8 text, each followed by one byte that is not its own (a delimiter or a line end).

    *data* has :data:`PAD` bytes to spare at both ends; *starts* and *ends* are the cells' positions in it.
    """

    __slots__ = ("_cells", "data", "ends", "starts")

    def __init__(self, data: Bytes, starts: Ints, ends: Ints) -> None:
        self.data = data
        self.starts = starts
        self.ends = ends
        self._cells: list[str] | None = None

    def __len__(self) -> int:
        return len(self.starts)

    @overload
    def __getitem__(self, at: int) -> str: ...
    @overload
    def __getitem__(self, at: slice) -> list[str]: ...
    def __getitem__(self, at: int | slice) -> str | list[str]:
        if self._cells is not None:
            return self._cells[at]
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(self)))]
        return self.data[self.starts[at] : self.ends[at]].tobytes().decode()

    def __iter__(self) -> Iterator[str]:
        return iter(self.cells())

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Sequence) or isinstance(other, str):
            return NotImplemented
        return len(self) == len(other) and self.cells() == list(other)

    __hash__ = None  # type: ignore[assignment]

    def cells(self) -> list[str]:
        """Return the cells as strings; they are made once."""
        if self._cells is None:
            sizes = self.ends - self.starts + 1
            behind = np.cumsum(sizes)
            at = np.arange(int(sizes.sum())) + np.repeat(self.starts - behind + sizes, sizes)
            out = self.data[at]
            out[behind - 1] = ord("\n")
            self._cells = out[:-1].tobytes().decode().split("\n") if len(self) else []
        return self._cells

    @property
    def filled(self) -> Flags:
        """Which cells hold anything."""
        return self.ends > self.starts

    def _words(self, at: Ints) -> Words:
        """Return the eight bytes from each position on as whole numbers, the first byte the lowest."""
        every = np.ndarray((len(self.data) - _WORD + 1,), "<u8", self.data.data, strides=(1,))
        return np.asarray(every[at], dtype=np.uint64)

    def holds(self, text: str) -> bool:
        """Whether a cell is *text*, told by its first bytes before any is looked at."""
        data = text.encode()
        at = np.flatnonzero(self.ends - self.starts == len(data))
        word = int.from_bytes(data[:_WORD].ljust(_WORD, b"\0"), "little")
        alike = self._words(self.starts[at]) & _FIRST[min(len(data), _WORD)] == np.uint64(word)
        return any(self[i] == text for i in at[alike].tolist())

    def first_equal(self) -> Ints | None:
        """Return for each cell the first row that holds the same text; None where a cell is too long for this."""
        size = self.ends - self.starts
        longest = int(size.max(initial=0))
        if longest > _LONGEST:
            return None
        words = [
            self._words(np.minimum(self.starts + k, self.ends)) & _FIRST[np.clip(size - k, 0, _WORD)]
            for k in range(0, max(longest, 1), _WORD)
        ]
        spread = words[0]
        for word, odd in zip(words[1:], _SPREAD * 2, strict=False):
            spread = (spread ^ (spread >> np.uint64(29))) * np.uint64(odd) ^ word
        return _first_equal(words, spread)

    def coded(self) -> tuple[Ints, list[str]] | None:
        """Return the number of each cell's text and the distinct texts in their order; None where cells are long."""
        first = self.first_equal()
        if first is None:
            return None
        rows = np.arange(len(first))
        leaders = np.flatnonzero(first == rows)
        number = np.empty(len(first), dtype=np.int64)
        number[leaders] = rows[: len(leaders)]
        return number[first], [self[i] for i in leaders.tolist()]

    def without_number(self) -> PackedColumn | None:
        """Return the cells without the digits at their ends; None where a number has eight digits or more."""
        tail = (self._words(self.ends - _WORD) & _LAST[np.clip(self.ends - self.starts, 0, _WORD)]).astype("<u8")
        letters = tail.view(np.uint8).reshape(-1, _WORD)
        digits = np.zeros(len(self), dtype=np.int64)
        going = np.ones(len(self), dtype=np.bool_)
        for k in range(_WORD - 1, -1, -1):
            going &= letters[:, k] - np.uint8(ord("0")) < 10
            digits += going
        return None if going.any() else PackedColumn(self.data, self.starts, self.ends - digits)

    def without_ending(self, ending: str) -> PackedColumn | None:
        """Return the cells without *ending*, of eight bytes at most; None where one does not end so."""
        data = ending.encode()
        word = int.from_bytes(data.rjust(_WORD, b"\0"), "little")
        mask = _LAST[len(data)]
        short = np.any(self.ends - self.starts < len(data))
        if short or np.any((self._words(self.ends - _WORD) & mask) != np.uint64(word)):
            return None
        return PackedColumn(self.data, self.starts, self.ends - len(data))

    def stripped(self) -> Sequence[str]:
        """Return the cells without the blanks around them, as ``str.strip`` takes them off."""
        starts, ends = self.starts.copy(), self.ends.copy()
        while (more := np.flatnonzero((starts < ends) & _IS_BLANK[self.data[starts]])).size:
            starts[more] += 1
        while (more := np.flatnonzero((starts < ends) & _IS_BLANK[self.data[ends - 1]])).size:
            ends[more] -= 1
        filled = starts < ends
        if np.any(self.data[starts[filled]] >= _ASCII) or np.any(self.data[ends[filled] - 1] >= _ASCII):
            return [cell.strip() for cell in self.cells()]  # a no-break space, perhaps
        return PackedColumn(self.data, starts, ends)

    def between(self, more: PackedColumn, at: int) -> PackedColumn:
        """Return the cells with the first *at* of *more*, which shares the bytes, before and the others behind them."""
        starts = np.concatenate([more.starts[:at], self.starts, more.starts[at:]])
        return PackedColumn(self.data, starts, np.concatenate([more.ends[:at], self.ends, more.ends[at:]]))

    def numbers(self, mark: str = ".") -> Floats | None:
        """Return the cells as numbers; None where one is no plain number of at most 8 and 7 digits about *mark*."""
        lead = self.data[self.starts]
        negative = lead == ord("-")
        starts = self.starts + (negative | (lead == ord("+")))
        size = self.ends - starts
        if not len(size) or size.min() < 1 or size.max() > 2 * _WORD:
            return None
        tail = _digits_at_end(self._words(self.ends - _WORD), np.minimum(size, _WORD))
        decimals, pointed = _decimals(tail, mark)
        whole = size - decimals - pointed
        if whole.max() > _WORD or (whole + decimals).min() < 1:
            return None
        fraction = _digits_at_end(tail, decimals)
        integer = _digits_at_end(self._words(self.ends - decimals - pointed - _WORD), whole)
        if not (_all_digits(fraction) and _all_digits(integer)):
            return None
        # At most 15 digits: the whole number and the power of ten are exact, and so their quotient is rounded once.
        exact = _value(integer) * _POWERS[decimals] + _value(fraction)
        values = exact.astype(np.float64) / _POWERS.astype(np.float64)[decimals]
        return np.where(negative, -values, values)


def pack(cells: Sequence[str]) -> PackedColumn | None:
    """Return *cells* as bytes in one column; None where one holds a line break."""
    data = np.frombuffer(b"".join([b"\0" * PAD, "\n".join(cells).encode(), b"\n" + b"\0" * PAD]), dtype=np.uint8)
    ends = np.flatnonzero(data == ord("\n"))
    if len(ends) != max(len(cells), 1):
        return None
    starts = np.concatenate([[PAD], ends[:-1] + 1])
    return PackedColumn(data, starts[: len(cells)], ends[: len(cells)])


def pack_around(middle: Sequence[PackedColumn], columns: Sequence[Sequence[str]], at: int) -> list[PackedColumn]:
    """Return each column of *middle*, which share their bytes, put into one of *columns* before its cell *at*.

    The bytes are copied once for all of them. No cell holds a line break.
    """
    rows = len(columns[0])
    more = pack(list(chain.from_iterable(columns)))
    if more is None:
        raise AssertionError
    shared = middle[0].data
    data = np.concatenate([shared, more.data])
    starts, ends = more.starts + len(shared), more.ends + len(shared)
    return [
        PackedColumn(data, column.starts, column.ends).between(
            PackedColumn(data, starts[k * rows : (k + 1) * rows], ends[k * rows : (k + 1) * rows]), at
        )
        for k, column in enumerate(middle)
    ]


def _first_equal(words: Sequence[Words], spread: Words) -> Ints:
    """Return for each row the first one equal to it in all *words*, by a table whose places *spread* tells."""
    rows = np.arange(len(spread))
    found = rows.copy()
    bits = max(8, len(rows).bit_length() + 1)
    table = np.empty(1 << bits, dtype=np.int64)
    todo = rows
    turn = 0
    while len(todo):
        mixed = (spread[todo] ^ np.uint64(turn)) * np.uint64(_SPREAD[turn % len(_SPREAD)])
        place = ((mixed ^ (mixed >> np.uint64(32))) * np.uint64(_SPREAD[0]) >> np.uint64(64 - bits)).astype(np.int64)
        # Of several rows the last one written stays: backwards, that is the first row.
        table[place[::-1]] = todo[::-1]
        first = table[place]
        same = np.ones(len(todo), dtype=np.bool_)
        for word in words:
            same &= word[first] == word[todo]
        found[todo[same]] = first[same]
        todo = todo[~same]
        turn += 1
    return found


def _digits_at_end(word: Words, count: Ints) -> Words:
    """Return *word* with all but its last *count* bytes as zeros of text."""
    mask = _LAST[count]
    return np.asarray((word & mask) | (_ZEROS & ~mask), dtype=np.uint64)


def _decimals(word: Words, mark: str) -> tuple[Ints, Ints]:
    """Return how many bytes stand behind the first *mark* of a word, and 1 where there is one, else 0."""
    other = word ^ (_LOW * np.uint64(ord(mark)))
    marked = (other - _LOW) & ~other & _HIGH
    lowest = marked & (~marked + np.uint64(1))
    decimals = np.zeros(len(word), dtype=np.int64)
    for behind in range(1, _WORD):
        decimals[lowest == np.uint64(1 << (8 * (_WORD - behind) - 1))] = behind
    return decimals, (lowest != 0).astype(np.int64)


def _all_digits(word: Words) -> bool:
    high = np.uint64(0xF0F0F0F0F0F0F0F0)
    above = word + np.uint64(0x0606060606060606)
    return bool(np.all(((word & high) == _ZEROS) & ((above & high) == _ZEROS)))


def _value(word: Words) -> Words:
    """Return the numbers that words of eight digits write: pairs, fours and then all are put together."""
    word = (word & np.uint64(0x0F0F0F0F0F0F0F0F)) * np.uint64(2561) >> np.uint64(8)
    word = (word & np.uint64(0x00FF00FF00FF00FF)) * np.uint64(6553601) >> np.uint64(16)
    return np.asarray((word & np.uint64(0x0000FFFF0000FFFF)) * np.uint64(42949672960001) >> np.uint64(32))

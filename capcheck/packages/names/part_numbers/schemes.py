"""The schemes of part numbers, read from ``data/part_numbers``: one file for each sort of component.

A scheme is a pattern over a whole number in capitals. What its named groups stand for:

``codes``    the meaning of each value of a group, or the name of one of the file's ``tables``
``gives``    what all numbers of the scheme say, whatever their groups
``starts``   the letters or digits that such a number begins with, by which the scheme is found
``needs``    kinds or reference letters of which one must agree, where other things are written in the same form

A meaning is written ``key value; key value`` (see :mod:`capcheck.packages.names.part_numbers.statements`). Groups
without a table are numbers: ``side_10`` is the side of a square body in tenths of a millimetre.
"""

from __future__ import annotations

import re
from functools import cache, cached_property
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.lexicon import shape
from capcheck.packages.tables import DATA, FROM_MEMORY, converted, rows_in
from capcheck.values import own_table, pattern

if TYPE_CHECKING:
    from collections.abc import Iterable

_FOLDER: Final = DATA / "part_numbers"
_INDEXED: Final = 2
"""Characters by which schemes are looked up; every start has as many at least."""

_LEAST_DIGITS: Final = 4
"""Digits of the shortest number that has nothing else; fewer are a value or a count."""
_SIZES: Final = frozenset({"size", "inch", "code"})
"""Groups that hold a size; what else stands in a number is the maker's own."""
_GROUP: Final = pattern(r"\(\?P<([a-z]+)>([^()]+)\)")

Meanings = dict[str, str]


class Scheme(Struct, frozen=True, forbid_unknown_fields=True, dict=True):
    """One form of part numbers, and what it says of the body."""

    name: str
    """What such numbers are, as a sentence names it: ``ceramic chips, GRM``."""
    starts: tuple[str, ...]
    pattern: str
    source: str
    kind: str = ""
    gives: str = ""
    codes: dict[str, Meanings] = {}
    needs: frozenset[str] = frozenset()

    @cached_property
    def form(self) -> re.Pattern[str]:
        """The compiled pattern; it is matched with the whole of a number."""
        return re.compile(self.pattern)

    @cached_property
    def form_of_any_size(self) -> re.Pattern[str] | None:
        """The same with any letters and digits for the size, one more or less; None where there is no plain size."""
        group = self._group_of_size
        if group is None:
            return None
        lengths = [len(code) for code in self.sizes]
        any_size = f"(?P<size>[0-9A-Z]{{{max(1, min(lengths) - 1)},{max(lengths) + 1}}})"
        return re.compile(self.pattern[: group.start()] + any_size + self.pattern[group.end() :])

    @cached_property
    def sizes(self) -> tuple[str, ...]:
        """The codes of all sizes that such numbers have; empty where there is no plain size."""
        group = self._group_of_size
        return () if group is None else tuple(self.codes.get(group[1]) or group[2].split("|"))

    @cached_property
    def _group_of_size(self) -> re.Match[str] | None:
        groups = [match for match in _GROUP.finditer(self.pattern) if match[1] in _SIZES]
        return groups[0] if len(groups) == 1 else None

    @property
    def is_from_memory(self) -> bool:
        """Whether no document was at hand for what the scheme says."""
        return FROM_MEMORY in self.source


class Suffix(Struct, frozen=True, forbid_unknown_fields=True):
    """Letters behind a number that name its package."""

    family: str
    code: str
    source: str
    package: str = ""
    """The packages that it may be, with a bar between them, as package names are written."""
    gives: str = ""


class NumberFamily(Struct, frozen=True, forbid_unknown_fields=True, dict=True):
    """The numbers of one maker, whose last letters name the package.

    *base* is what such a number begins with, *middle* what may stand between that and the package's letters, and
    *tail* what may follow these: the reel, the plating, the grade.
    """

    key: str
    name: str
    starts: tuple[str, ...]
    base: str
    tail: str
    source: str
    middle: str = "[A-Z0-9]*"
    needs: frozenset[str] = frozenset()

    @cached_property
    def codes(self) -> dict[str, Suffix]:
        """The package's letters that are known, with what they mean."""
        return {row.code: row for row in all_suffixes() if row.family == self.key}

    @cached_property
    def lengths(self) -> tuple[int, ...]:
        """The lengths that the package's letters have, the longest first."""
        return tuple(sorted({len(code) for code in self.codes}, reverse=True))

    @cached_property
    def base_form(self) -> re.Pattern[str]:
        """The compiled *base*."""
        return re.compile(self.base)

    @cached_property
    def middle_form(self) -> re.Pattern[str]:
        """The compiled *middle*."""
        return re.compile(self.middle)

    @cached_property
    def tail_form(self) -> re.Pattern[str]:
        """The compiled *tail*."""
        return re.compile(self.tail)


class _File(Struct, frozen=True, forbid_unknown_fields=True):
    """What one file holds: the schemes of a sort of component, or families of numbers with their suffixes."""

    kind: str = ""
    tables: dict[str, Meanings] = {}
    schemes: tuple[Scheme, ...] = ()
    families: tuple[NumberFamily, ...] = ()
    suffixes: str = ""


@cache
def _files() -> tuple[_File, ...]:
    """Return every file of part numbers. Raises ValueError with file and field for one that is wrong."""
    found = []
    for path in sorted(_FOLDER.glob("*.toml")):
        data = own_table(path)
        tables, kind = data.get("tables", {}), data.get("kind", "")
        for scheme in data.get("schemes", ()):
            scheme.setdefault("kind", kind)
            codes = scheme.get("codes", {})
            for group, meanings in codes.items():
                codes[group] = tables[meanings] if isinstance(meanings, str) else meanings
        found.append(converted(data, _File, f"part_numbers/{path.name}"))
    return tuple(found)


@cache
def all_schemes() -> tuple[Scheme, ...]:
    """Return every scheme, in the order of the files."""
    return tuple(scheme for file in _files() for scheme in file.schemes)


@cache
def all_families() -> tuple[NumberFamily, ...]:
    """Return every family of numbers with suffixes."""
    return tuple(family for file in _files() for family in file.families)


@cache
def all_suffixes() -> tuple[Suffix, ...]:
    """Return every row of package letters."""
    return tuple(row for file in _files() for row in rows_in(file.suffixes, Suffix, "part_numbers suffixes"))


_Entry = Scheme | NumberFamily


@cache
def _by_start() -> dict[str, list[tuple[str, _Entry]]]:
    """Return every start with its scheme by its first two characters, the longest start first."""
    index: dict[str, list[tuple[str, _Entry]]] = {}
    entries: tuple[_Entry, ...] = (*all_schemes(), *all_families())
    for entry in entries:
        for start in entry.starts:
            index.setdefault(start[:_INDEXED], []).append((start, entry))
    for found in index.values():
        found.sort(key=lambda pair: -len(pair[0]))
    return index


def starting(number: str) -> list[_Entry]:
    """Return the schemes and families that *number* may belong to by its first characters, the longest start first."""
    known = _by_start().get(number[:_INDEXED])
    if known is None:
        return []
    found = (entry for start, entry in known if number.startswith(start))
    return list({id(entry): entry for entry in found}.values())


@cache
def _starts(*, shaped: bool) -> dict[str, tuple[str, ...]]:
    """Return every start, or its shape, by its first two characters, without those that a shorter one begins."""
    shortest: dict[str, list[str]] = {}
    starts = (start for entries in _by_start().values() for start, _ in entries)
    for start in sorted(set(map(shape, starts) if shaped else starts)):
        # In this order, whatever one of them begins follows it without a gap.
        found = shortest.setdefault(start[:_INDEXED], [])
        if not found or not start.startswith(found[-1]):
            found.append(start)
    return {key: tuple(found) for key, found in shortest.items()}


def may_begin(numbers: Iterable[str], *, shaped: bool = False) -> bool:
    """Whether a number of any scheme begins as one of *numbers* does, or may begin as one of these shapes."""
    starts = _starts(shaped=shaped)
    for number in numbers:
        if shaped and len(number) < _LEAST_DIGITS and number.isdigit():
            continue
        known = starts.get(number[:_INDEXED])
        if known is not None and number.startswith(known):
            return True
    return False

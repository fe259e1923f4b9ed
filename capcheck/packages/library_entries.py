"""Rows of the shop's library, and how they are looked up by what the data say of a part."""

from __future__ import annotations

import re
from fnmatch import translate
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.packages.tables import Family
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import PartName
    from capcheck.packages.candidate import Candidate

_SEPARATORS: Final = pattern(r"[\s\u00ad\u200b\u2010-\u2015\u2212-]+")


def folded_number(number: str) -> str:
    """Return a part number as it is compared: without spaces and hyphens, in small letters."""
    if number.isascii():
        return "".join(number.split()).replace("-", "").casefold()
    return _SEPARATORS.sub("", number).casefold()


def folded_value(value: str) -> str:
    """Return a value as it is compared: without doubled blanks; 10M and 10m are two values."""
    return " ".join(value.split())


class Key(Struct, frozen=True):
    """The cells of a library's row by which a part is found again."""

    part_number: str = ""
    footprint: str = ""
    value: str = ""
    references: str = ""
    board: str = ""

    @property
    def cells(self) -> tuple[str, ...]:
        """The cells, in the order of a library's key columns."""
        return self.part_number, self.footprint, self.value, self.references, self.board

    @property
    def compared(self) -> tuple[str, ...]:
        """The cells as a library compares them; beside a part number the value is for the reader alone."""
        number = folded_number(self.part_number)
        value = "" if number else folded_value(self.value)
        return number, self.footprint.casefold(), value, self.references, self.board

    def __str__(self) -> str:
        """Return the cells that are filled, as people name the part."""
        return " ".join(filter(None, self.cells))


def family_named(name: str) -> Family | None:
    """Return the family whose bounds hold for a package of this name; None where it is none of them."""
    try:
        return Family(name)
    except ValueError:
        return None


class Entry(Struct, frozen=True, gc=False):
    """One row of a library: its keys as written and what it states."""

    part_number: str
    footprint: str
    candidate: Candidate
    where: str
    value: str = ""
    """The value that counts beside a footprint or a reference; empty where the part number says which part it is."""
    references: tuple[str, ...] = ()
    board: str = ""
    """The board that the references are of; empty for any."""

    @property
    def is_pattern(self) -> bool:
        """Whether a key holds a wildcard."""
        keys = self.part_number + self.footprint
        return "*" in keys or "?" in keys

    @property
    def key(self) -> tuple[str, str, str]:
        """Part number, value and footprint as they are compared."""
        return folded_number(self.part_number), folded_value(self.value), self.footprint.casefold()


class Library(Struct, frozen=True):
    """The bodies that the shop knows, ready to be looked up by what the data say of a part."""

    path: str
    entries: tuple[Entry, ...]
    exact: dict[tuple[str, str, str], list[Entry]]
    """Entries without wildcards or references, by their keys."""
    patterns: list[tuple[re.Pattern[str] | None, re.Pattern[str] | None, Entry]]
    """Entries with wildcards, the most particular first."""
    references: dict[str, list[Entry]]
    """Entries with references, by each of them."""

    def __len__(self) -> int:
        return len(self.entries)

    def of_board(self, name: str) -> Library:
        """Return the library without the references of other boards than the one called *name*."""
        if not self.references:
            return self
        return build_library(self.path, [e for e in self.entries if e.board.casefold() in {"", name.casefold()}])

    def by_reference(self, reference: str, name: PartName) -> list[Entry]:
        """Return the entries that name the part *name* by its *reference*, and by nothing that it is not."""
        number, value, footprint = _key_of(name)
        return [
            entry
            for entry in self.references.get(reference.casefold(), ())
            if all(not k or k == own for k, own in zip(entry.key, (number, value, footprint), strict=True))
        ]

    def candidates(self, name: PartName) -> list[Candidate]:
        """Return what the library states of a part, the most particular entry first, and before it what is believed."""
        number, value, footprint = _key_of(name)
        found = self.by_reference(name.reference, name) if name.reference else []
        for key in ((number, "", footprint), (number, "", ""), ("", value, footprint), ("", "", footprint)):
            if key[0] or key[2]:
                found.extend(self.exact.get(key, ()))
        written = name.part_number.casefold()
        for number_pattern, footprint_pattern, entry in self.patterns:
            fits = (number_pattern is None or number_pattern.fullmatch(written)) and (
                footprint_pattern is None or footprint_pattern.fullmatch(footprint)
            )
            if fits and entry.key[1] in {"", value}:
                found.append(entry)
        stated = [entry.candidate for entry in {id(entry): entry for entry in found}.values()]
        return sorted(stated, key=lambda candidate: not candidate.goes_first)


def _key_of(name: PartName) -> tuple[str, str, str]:
    return folded_number(name.part_number), folded_value(name.value), name.footprint.casefold()


def _pattern(key: str) -> re.Pattern[str] | None:
    # Square brackets are common in part names, so they stand for themselves.
    return re.compile(translate(key.casefold().replace("[", "[[]"))) if key else None


def build_library(path: str, entries: Sequence[Entry]) -> Library:
    """Return a library of *entries*, indexed for look-up."""
    exact: dict[tuple[str, str, str], list[Entry]] = {}
    references: dict[str, list[Entry]] = {}
    patterns = []
    for entry in entries:
        for reference in entry.references:
            references.setdefault(reference.casefold(), []).append(entry)
        if entry.references:
            continue
        if entry.is_pattern:
            patterns.append((_pattern(entry.part_number), _pattern(entry.footprint), entry))
        else:
            exact.setdefault(entry.key, []).append(entry)
    patterns.sort(key=lambda pattern: -_letters(pattern[2]))
    return Library(path, tuple(entries), exact, patterns, references)


def _letters(entry: Entry) -> int:
    letters = sum(c not in "*?" for c in entry.part_number + entry.footprint)
    return letters + (1000 if entry.part_number else 0)

"""Connectors by formula: positions times pitch bound the length, and a family's table the other side and the height."""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.lexicon import Words, fold, reference_letters
from capcheck.model import Basis, Family, say
from capcheck.packages.candidate import PROSE, Candidate, Trust, sides, texts_of
from capcheck.packages.names.written_sizes import USUAL_PITCHES_MM
from capcheck.packages.tables import DATA, converted, part_words
from capcheck.values import Interval, own_table, pattern

if TYPE_CHECKING:
    from capcheck.model import PartName
    from capcheck.packages.candidate import Column


class _Family(Struct, frozen=True, forbid_unknown_fields=True):
    """A row of ``data/connectors.toml``; intervals are written as in the tables: ``1.4..5``."""

    name: str = ""
    words: str = ""
    beside: str = ""
    unless: str = ""
    pitch: str = ""
    beyond: str = ""
    across: str = ""
    sides: str = ""
    height: float | None = None
    rows: int = 2
    ganged: bool = False
    source: str = ""


class _Table(Struct, frozen=True, forbid_unknown_fields=True):
    letters: frozenset[str]
    family: tuple[_Family, ...]
    pitched: tuple[_Family, ...]


class Positions(Struct, frozen=True):
    """The positions of one row that names may mean, least and most."""

    least: int
    most: int

    def hull(self, other: Positions) -> Positions:
        """Return the positions that either may mean."""
        return Positions(min(self.least, other.least), max(self.most, other.most))


class Connector(Struct, frozen=True):
    """What the texts say of a connector: its family, where they name one, and its positions."""

    family: _Family | None
    positions: Positions | None
    pitch: Interval | None
    """A pitch that stands among the texts without being marked as one."""
    contacts: int | None = None
    """All contacts, where one grid or one count states them."""


_MEMORY_MM: Final = 0.5
"""What a height from memory is allowed on top: a round figure is no proof at a head's limit, as round."""
_SAME_PITCH_MM: Final = 0.02
_TAB: Final = 1
"""Contacts more or less in a name that are no other count: a tab that holds the connector is counted or not."""
_GRID: Final = pattern(r"(?<![\d.])0?(\d{1,2})\s?X\s?0?(\d{1,3})(?![\d.]|\s?(?:MM|X))")
_COUNT: Final = pattern(
    lambda: r"(?<![\d.,])(\d{1,3})[-_ ]?(?:" + "|".join(part_words()["counted"]["contacts"]) + r")(?![A-Z]|0(?!\.))"
)
_DOUBLE: Final = pattern(r"(?:DUAL|DOUBLE|TWO|2)[-_ ]?ROW|ZWEIREIHIG|(?<![A-Z])DR(?![A-Z])")
_SINGLE: Final = pattern(r"(?:SINGLE|ONE|1)[-_ ]?ROW|EINREIHIG")
_INCH_PITCH: Final = pattern(r"(?<![\d.])(0\.635|1\.27|2\.54|3\.81|3\.96|5\.08|7\.62|10\.16)\s?(?:MM)?(?![\d.])")
"""Pitches that are no other usual dimension, whatever stands before them."""
_COUNTED_PITCH: Final = pattern(
    lambda: (
        r"(?<![\d.X])(?<!^[HLWDT])(?<![^A-Z][HLWDT])(?:(\d\.\d{1,2})(?:\s?MM)?|(\d)\s?MM)[-_ ]\d{1,3}[-_ ]?(?:"
        + "|".join(part_words()["counted"]["contacts"])
        + r")(?![A-Z\d])"
    )
)
"""A pitch directly before a count of contacts: FPC_0.5mm_24P, PH2.0-4P."""
_PITCH_BEHIND: Final = pattern(
    lambda: (
        r"(?<![\d.,X])\d{1,3}[-_ ]?(?:"
        + "|".join(part_words()["counted"]["contacts"])
        + r")[-_ ](?:(\d\.\d{1,2})(?:\s?MM)?|(\d)\s?MM)(?![\d.]|\s?X|[A-Z])"
    )
)
"""A pitch directly behind a count of contacts: FFC_24P_0.5mm."""
_BARE_COUNT: Final = pattern(r"(?<![\d.X])(\d\.\d{1,2})\s?MM[-_ ](\d{1,3})(?![\d.]|[-_ ]?[A-Z])")
"""A count of contacts that stands bare behind their pitch: FFC-1.00mm-15."""
_MOST_ROWS: Final = 12


@cache
def _table() -> _Table:
    return converted(own_table(DATA / "connectors.toml"), _Table, "connectors.toml")


class _Compiled(Struct, frozen=True):
    row: _Family
    words: Words
    beside: Words | None
    unless: Words


@cache
def _families() -> tuple[_Compiled, ...]:
    return tuple(
        _Compiled(
            row,
            Words(row.words),
            Words(row.beside) if row.beside else None,
            Words(row.unless),
        )
        for row in _table().family
    )


def may_be_connector(letters: str) -> bool:
    """Whether a part with such reference letters, in capitals, may be a connector."""
    return letters in _table().letters or reference_letters().get(letters) is None


def read_connector(name: PartName) -> Connector | None:
    """Return what the texts say of a connector's family and positions; None where the part is none."""
    letters = name.ref_prefix.upper()
    if not may_be_connector(letters):
        return None
    texts = tuple(text for _, text in texts_of(name) if text)
    return _read(texts, letters) if texts else None


def connector_in(text: str) -> Connector | None:
    """Return what one text says of a connector."""
    return _read((text,), "J") if text else None


@lru_cache(maxsize=4096)
def _read(texts: tuple[str, ...], letters: str) -> Connector | None:
    folded = [fold(text) for text in texts]
    family = next((found.row for found in _families() if _is_named(found, folded)), None)
    known = reference_letters().get(letters)
    if family is None and not (known and known.form == "connector"):
        return None
    upper = " ".join(text.upper() for text in texts)
    grids = {(min(g), max(g)) for m in _GRID.finditer(upper) if 0 < min(g := (int(m[1]), int(m[2]))) <= _MOST_ROWS}
    if family is not None and family.ganged and grids:
        return None
    pitches = {float(m[1]) for m in _INCH_PITCH.finditer(upper)}
    for form in (_COUNTED_PITCH, _PITCH_BEHIND):
        pitches |= {float(m[1] or m[2]) for m in form.finditer(upper)} & USUAL_PITCHES_MM
    counts = {int(m[1]) for m in _COUNT.finditer(upper)} - {0}
    if family is not None and family.rows == 1 and not counts and (bare := _BARE_COUNT.search(upper)):
        pitches |= {float(bare[1])} & USUAL_PITCHES_MM
        counts = {int(bare[2])}
    pitch = Interval.exactly(pitches.pop()) if len(pitches) == 1 else None
    stated = {few * many for few, many in grids} or counts
    return Connector(family, _positions(upper, grids, counts, family), pitch, min(stated) if len(stated) == 1 else None)


def _is_named(found: _Compiled, texts: list[str]) -> bool:
    if not any(map(found.words.search, texts)) or any(map(found.unless.search, texts)):
        return False
    return found.beside is None or any(map(found.beside.search, texts))


def _positions(text: str, grids: set[tuple[int, int]], counts: set[int], family: _Family | None) -> Positions | None:
    """Return the positions along a row: by rows times positions, else by a count of all contacts."""
    if grids:
        return Positions(min(g[1] for g in grids), max(g[1] for g in grids))
    if not counts:
        return None
    rows_most = family.rows if family is not None else 2
    least_rows = 2 if _DOUBLE.search(text) else 1
    most_rows = 1 if _SINGLE.search(text) else max(least_rows, rows_most)
    return Positions(math.ceil(min(counts) / most_rows), math.ceil(max(counts) / least_rows))


def contacts_named(name: PartName, *, drilled: bool) -> tuple[Candidate, ...]:
    """Return for each name of a land or package that says its contacts a candidate with their pitch and their number.

    A land for USB Micro-B stands against a part that is USB Type-C, and one for 15 contacts on 1 mm against a part that
    has 24 on 0.5 mm, whatever both bodies may measure. The contacts of a plug of a standard that is *drilled* go apart
    behind it.
    """
    if read_connector(name) is None:
        return ()
    letters = name.ref_prefix.upper()
    named = (_contacts(c, text, letters, drilled) for c, text in texts_of(name) if text and c not in PROSE)
    return tuple(filter(None, named))


@lru_cache(maxsize=4096)
def _contacts(column: Column, text: str, letters: str, drilled: bool) -> Candidate | None:
    found = _read((text,), letters)
    if found is None:
        return None
    family = found.family
    if family is not None and family.sides:
        pitch, pins = (None if drilled or not family.pitch else _interval(family.pitch)), None
        pitch = pitch if pitch is not None and pitch.is_exact else None
        scheme = say("packages.standard", family=family.name)
    else:
        pitch, pins, scheme = found.pitch, found.contacts, say("packages.contacts")
    if pitch is None and pins is None:
        return None
    return Candidate(
        Basis.DECODED,
        Trust.PACKAGE_NAME,
        column,
        text,
        scheme=scheme,
        pitch=pitch,
        pins=pins,
        family_key=Family.CONNECTOR,
    )


def has_rows_of_leads(found: Connector) -> bool:
    """Whether its standard gives the connector rows of leads and no grid of balls or lands."""
    return found.family is not None and bool(found.family.sides)


def connector_bounds(found: Connector, known: Candidate, counted: int | None = None) -> Candidate | None:
    """Return the bounds of a connector's body by its family, its positions and its pitch; None where there is none.

    *known* is what the names make of the part so far; its pitch counts before that of the family. *counted* are all
    contacts by the part number, which lie in one row or two. Positions lie on the pitch, so that (positions - 1) x
    pitch lies between the outermost contacts of a row. Where texts and number state other pitches or counts, the
    bounds hold for both.
    """
    pitch = known.pitch if known.pitch is not None and known.pitch.is_known else found.pitch
    if pitch is not None and found.pitch is not None and not pitch.overlaps(found.pitch, _SAME_PITCH_MM):
        pitch = pitch.hull(found.pitch)
    family = found.family
    if family is None:
        family = next((row for row in _table().pitched if pitch is not None and _lies_in(pitch, row.pitch)), None)
    if family is None:
        return None
    positions = found.positions
    if counted and (positions is None or (found.contacts is not None and abs(found.contacts - counted) > _TAB)):
        by_number = Positions(math.ceil(counted / max(2, family.rows)), counted)
        positions = by_number if positions is None else positions.hull(by_number)
    length = width = None
    if family.sides:
        length, width = map(_interval, family.sides.split(";"))
    elif family.beyond and positions is not None and (pitch is not None or family.pitch):
        between = pitch or _interval(family.pitch)
        length, width = sides(_along(positions, between, family), _interval(family.across))
    if length is None and not family.name:
        return None
    own_pitch = found.pitch or (_interval(family.pitch) if family.pitch and family.name else None)
    return Candidate(
        Basis.BOUND,
        Trust.BOUND,
        scheme=say("packages.connector", family=family.name or "connector", table=family.source),
        length=length,
        width=width,
        height=None if family.height is None else Interval.at_most(family.height + _MEMORY_MM),
        pitch=own_pitch,
        family_key=Family.CONNECTOR,
    )


def _along(positions: Positions, pitch: Interval, family: _Family) -> Interval:
    beyond = _interval(family.beyond)
    low, high = (positions.least - 1) * pitch.low + beyond.low, (positions.most - 1) * pitch.high + beyond.high
    return Interval(round(low, 3), round(high, 3))


def _lies_in(pitch: Interval, range_: str) -> bool:
    limits = _interval(range_)
    return limits.low <= pitch.low and pitch.high < limits.high


@cache
def _interval(text: str) -> Interval:
    low, _, high = text.partition("..")
    return Interval(float(low), float(high))

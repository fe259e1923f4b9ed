"""The part numbers of a part become candidates: one witness more of its body, beside footprint and description."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import DIGITS_ALIKE, reference_letters
from capcheck.model import NOTHING, Basis, Said, say
from capcheck.packages.candidate import Candidate, Column, Trust, hull_of, without_addresses
from capcheck.packages.names.part_kind import KIND_BY_PREFIX
from capcheck.packages.names.part_numbers.against import (
    coded_value,
    is_another_value,
    is_one_slip,
    numbers_of_every_size,
    schemes_of,
    unknown_size,
)
from capcheck.packages.names.part_numbers.cells import beginnings, is_other_number, levels, written_as
from capcheck.packages.names.part_numbers.schemes import NumberFamily, Scheme, may_begin, starting
from capcheck.packages.names.part_numbers.statements import candidate_of, parsed
from capcheck.packages.tables import FROM_MEMORY, meanings
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PartName

_NUMBERS: Final = {"size", "inch", "positions", "contacts", "rows", "pins", "value", "pitch", "height"} | {
    "length",
    "width",
    "side",
}
"""Fields that a group may hold itself; with ``_10`` or ``_100`` behind them tenths and hundredths of a millimetre."""
_SERIES: Final = 7
"""Characters by which most makers' numbers name the series and the body."""
_SHORT: Final = 60
"""Characters of a cell that is looked up as it stands."""
_ABOUT_ANOTHER: Final = pattern(lambda: rf"(?<![A-Z])(?:{'|'.join(sorted(meanings('another part')))})(?![A-Z])")
"""Words by which a text speaks of another part than the one that is fitted: what it mates with, what it replaces."""


def read_part_numbers(name: PartName, kind: str | None) -> tuple[Candidate, ...]:
    """Return what the part number of *name* says, or one in its value or description, and one that its footprint names.

    *kind* is the kind of part as far as known from elsewhere. Lengths are mm. A number that a footprint is named by
    says what its lands are for: a witness against the part that is fitted, of whose height it says nothing.
    """
    fitted = _fitted(name, kind)
    for text in (name.footprint.rpartition(":")[2], name.bom_package.rpartition(":")[2]):
        if found := _read(text, Column.FOOTPRINT, name.ref_prefix, kind):
            if fitted and _is_among(fitted[0].piece, found[0].piece, text):
                break
            another = fitted or _says_another(name.part_number, text)
            return (*fitted, *(replace(c, height=None) if another else c for c in found))
    return fitted


def _is_among(fitted: str, read: str, text: str) -> bool:
    """Whether a footprint is named by the number that is fitted, alone or as one of several that its lands are for.

    The other one may be written by its series alone, which no scheme reads.
    """
    series = fitted[:_SERIES]
    others = text.upper().replace(read, " ")
    return read == fitted or (
        len(series) == _SERIES and re.search(rf"(?<![A-Z0-9]){re.escape(series)}", others) is not None
    )


def _fitted(name: PartName, kind: str | None) -> tuple[Candidate, ...]:
    """Return what the number of the part that is fitted says: in its own column, or else in value or description."""
    found = _with_value(_read(name.part_number, Column.PART_NUMBER, name.ref_prefix, kind), name)
    if not found and (wrong := _wrong_size(name.part_number, name.ref_prefix, kind)):
        found = (wrong,)
    if found and not found[0].contradicted.key:
        return found
    for column, text in ((Column.VALUE, name.value), (Column.DESCRIPTION, without_addresses(name.description))):
        if in_prose := _with_value(_in_prose(text, column, name.ref_prefix, kind), name):
            return (*found, *in_prose)
    return found


def _with_value(found: tuple[Candidate, ...], name: PartName) -> tuple[Candidate, ...]:
    """Return the number's candidate; where it spells another value than the part's, as contradicted."""
    number = found[0].piece if found else ""
    for scheme in schemes_of(number):
        coded = coded_value(scheme, number)
        if coded is not None and is_another_value(coded, name.value, name.ref_prefix):
            said = say("packages.another value", number=number, value=name.value.strip())
            return (_contradicted(number, said, found[0].column, found[0].text, found[0]),)
    return found


@lru_cache(maxsize=4096)
def _wrong_size(cell: str, ref_prefix: str, kind: str | None) -> Candidate | None:
    """Return the contradicted candidate of a number whose size is none of its scheme; None of any other."""
    number = cell.strip().upper()
    agreeing = (s for s in schemes_of(number) if not s.needs or _agrees(s.needs, ref_prefix.upper(), kind))
    found = unknown_size(number, agreeing)
    if found is None:
        return None
    scheme, code = found
    said = say("packages.unknown size", number=number, code=code, name=scheme.name)
    return _contradicted(number, said, Column.PART_NUMBER, cell, _meant(scheme, number, code, cell))


def _meant(scheme: Scheme, number: str, code: str, cell: str) -> Candidate | None:
    """Return the part that a number with a wrong size may mean: one slip away, else one of all that have the scheme."""
    nearer, every = [], []
    for real, meant in numbers_of_every_size(scheme, number):
        found = _by_scheme(scheme, meant, Column.PART_NUMBER, cell)
        if found is not None:
            every.append(found)
            if is_one_slip(code, real):
                nearer.append(found)
    if not every:
        return None
    hull = hull_of(tuple(nearer or every), every[0].scheme)
    return hull if nearer else replace(hull, all_stated=True)


def _contradicted(number: str, said: Said, column: Column | None, cell: str, spelled: Candidate | None) -> Candidate:
    return Candidate(
        Basis.DECODED, Trust.PART_NUMBER, column, cell, piece=number, contradicted=said, as_spelled=spelled
    )


def _says_another(part_number: str, text: str) -> bool:
    """Whether a part number that no scheme reads is a maker's, and none that *text* holds."""
    number = part_number.upper().strip()
    return is_other_number(number) and number not in text.upper()


def _in_prose(text: str, column: Column, ref_prefix: str, kind: str | None) -> tuple[Candidate, ...]:
    found = _read(text, column, ref_prefix, kind)
    return () if found and _ABOUT_ANOTHER.search(text.upper()) else found


def _read(cell: str, column: Column, ref_prefix: str, kind: str | None) -> tuple[Candidate, ...]:
    """Return the numbers of one cell as candidates: of several that differ, one that spans them."""
    if not cell or not _may_hold_number(cell.upper().translate(DIGITS_ALIKE)):
        return ()
    return _numbers_in(cell, column, ref_prefix, kind)


@lru_cache(maxsize=8192)
def _numbers_in(cell: str, column: Column, ref_prefix: str, kind: str | None) -> tuple[Candidate, ...]:
    if not may_begin(beginnings(cell)):
        return ()
    for pieces in levels(cell):
        found: list[Candidate] = []
        others = 0
        for piece in pieces:
            number = _number(piece, cell, column, ref_prefix, kind)
            if number is not None:
                found.append(number)
            elif is_other_number(piece):
                others += 1
        if not found:
            continue
        if column is not Column.PART_NUMBER:
            others = 0  # words and values stand beside a number there, and no second one
        return (_one_of(found, cell, unread=others > 0),)
    return ()


def may_hold_number(cell: str) -> bool:
    """Whether a number of any scheme may begin in a cell."""
    if cell.isalnum() and len(cell) <= _SHORT:
        return may_begin((cell.upper(),))
    return _may_hold_number(cell.upper().translate(DIGITS_ALIKE)) and may_begin(beginnings(cell))


@lru_cache(maxsize=8192)
def _may_hold_number(shaped: str) -> bool:
    """Whether a number of any scheme may begin in a cell of such a shape: values and prose differ in digits mostly."""
    return may_begin(beginnings(shaped), shaped=True)


def _one_of(found: list[Candidate], cell: str, *, unread: bool) -> Candidate:
    first = found[0]
    if _differ(found):
        names = [c.piece for c in found]
        question = say("packages.one of several numbers", text=cell, names=names)
        hull = hull_of(tuple(found), first.scheme, question)
        # A footprint is named by all the numbers that its lands are for; one of those of the BOM is bought.
        first = replace(hull, members=tuple(found), all_stated=first.column is not Column.FOOTPRINT)
    # A second number that no scheme reads fits the same lands, but may be higher.
    return replace(first, height=None) if unread else first


def _number(piece: str, cell: str, column: Column, ref_prefix: str, kind: str | None) -> Candidate | None:
    for number in written_as(piece):
        if (found := _readings(number, cell, column, ref_prefix, kind)) is not None:
            return replace(found, piece=number)
    return None


def _readings(number: str, cell: str, column: Column, ref_prefix: str, kind: str | None) -> Candidate | None:
    """Return what a number says: by a scheme of the whole number, else by the longest letters of a package.

    Where makers use one form for several bodies, it is the hull of them.
    """
    by_scheme: list[Candidate] = []
    by_suffix: dict[int, list[Candidate]] = {}
    for entry in starting(number):
        if entry.needs and not _agrees(entry.needs, ref_prefix.upper(), kind):
            continue
        if isinstance(entry, Scheme):
            if (whole := _by_scheme(entry, number, column, cell)) is not None:
                by_scheme.append(whole)
        elif not by_scheme and (suffixed := _by_suffix(entry, number, column, cell)):
            by_suffix.setdefault(suffixed[0], []).append(suffixed[1])
    found = by_scheme or (by_suffix[min(by_suffix)] if by_suffix else [])
    if _differ(found):
        names = list(dict.fromkeys(filter(None, map(_called, found))))
        key = "packages.one of several outlines" if len(names) > 1 else "packages.one of several sizes"
        question = say(key, text=number, names=names)
        return hull_of(tuple(found), found[0].scheme, question)
    return found[0] if found else None


def _differ(found: list[Candidate]) -> bool:
    return len({(c.length, c.width, c.height, c.pitch, c.lead_style, c.family_key) for c in found}) > 1


def _called(candidate: Candidate) -> str:
    return ", ".join(candidate.alternatives) or candidate.family or ""


def _agrees(needs: frozenset[str], prefix: str, kind: str | None) -> bool:
    """Whether the reference letters or the kind are among those that a loose scheme asks for."""
    letters = reference_letters().get(prefix)
    return not needs.isdisjoint((prefix, kind, KIND_BY_PREFIX.get(prefix), letters.form if letters else None))


def _by_scheme(scheme: Scheme, number: str, column: Column, cell: str) -> Candidate | None:
    match = scheme.form.fullmatch(number)
    if match is None:
        return None
    said = dict(parsed(scheme.gives))
    for group, value in match.groupdict().items():
        if value is None:
            continue
        codes = scheme.codes.get(group)
        if codes is None:
            said |= _counted(group, value)
        elif value in codes:
            said |= parsed(codes[value])
        elif not group.startswith("height"):
            return None
    return candidate_of(said, scheme.kind, _said(scheme), column, cell, from_memory=scheme.is_from_memory)


def _counted(group: str, value: str) -> dict[str, str]:
    """Return what a group holds itself: a code, a count, or a length in mm, tenths or hundredths."""
    field, _, unit = group.partition("_")
    if field not in _NUMBERS:
        return {}
    if not unit and field != "side":
        return {field: value}
    millimetres = f"{int(value) / int(unit or 1):g}"
    if field == "side":
        return {"box": f"{millimetres} x {millimetres}"}
    return {field: millimetres}


def _by_suffix(family: NumberFamily, number: str, column: Column, cell: str) -> tuple[int, Candidate] | None:
    """Return where the package's letters begin in a number, and the candidate that they make."""
    base = family.base_form.match(number)
    if base is None:
        return None
    for start in range(base.end(), len(number)):
        for length in family.lengths:
            suffix = family.codes.get(number[start : start + length])
            if suffix is None or family.middle_form.fullmatch(number, base.end(), start) is None:
                continue
            tail = family.tail_form.fullmatch(number, start + length)
            if tail is None:
                continue
            package = _with_pins(suffix.package, tail.groupdict().get("pins"))
            if package is None:
                continue
            said = ({"package": package} if package else {}) | parsed(suffix.gives)
            scheme = say("packages.package in a part number", name=family.name, code=suffix.code, table=suffix.source)
            found = candidate_of(said, "", scheme, column, cell, from_memory=FROM_MEMORY in suffix.source)
            return None if found is None else (start, found)
    return None


def _with_pins(packages: str, pins: str | None) -> str | None:
    """Return those of *packages* that have the count which a number states behind the package's letters.

    None where all are of other counts: then the digits belong to the device, and so do the letters.
    """
    if pins is None or not packages:
        return packages
    counted = [name for name in packages.split("|") if re.search(rf"-{pins}(?!\d)", name)]
    return "|".join(counted) or None


def _said(scheme: Scheme) -> Said:
    return say("packages.part number", name=scheme.name, table=scheme.source) if scheme.name else NOTHING

"""Which rows of placement data are parts, which are fiducials, and which are only copper, print or holes.

A reference alone proves little: ``MK1`` may be a mark or a microphone, ``H1`` a hole or a header. Prefixes that
are shared need a word of the footprint or value beside them. The conventions of prefixes are common practice,
no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.tables import Coded, Role, prefix_of
from capcheck.lexicon import fold, reference_letters, vocabulary
from capcheck.model import BomLine, Codes, Kind, Note
from capcheck.values import Place, pattern, shortened

if TYPE_CHECKING:
    from capcheck.intake.placements.placement_table import PlacementColumns

_FIDUCIAL_WORDS: Final = pattern(lambda: str(vocabulary().features.fiducial))


def _mechanical() -> str:
    words = vocabulary().features
    return "|".join(f"(?P<{sort}>{getattr(words, sort)})" for sort in _REASONS)


_MECHANICAL_WORDS: Final = pattern(_mechanical)
_BARE_NAME: Final = pattern(r"(?i)\W*(?:fid|mark|tp|test|mh|hole|logo|ref|sym|nt)?[\W\d_]*")
"""A text that says no more than a prefix does, or nothing."""
_TEST_PAD: Final = pattern(r"(?i)(?<![a-z])tp[a-z]?(?![a-z])")
"""Names of bare pads, such as ``TP-1.0`` and ``TPC1``: read so only behind a reference that begins with TP."""
_STATED: Final = "stated in board.toml"
_REASONS: Final = {
    "hole": "hole",
    "test_point": "test point",
    "logo": "logo",
    "solder_bridge": "solder bridge",
    "break_off_edge": "break-off edge",
}
"""Sorts of the lexicon's features, and what reports call them."""


def classify(
    refs: Sequence[str], stem: Coded, footprint: Coded, value: Coded, stated: Mapping[str, str]
) -> tuple[Codes, dict[int, str]]:
    """Return the :class:`Kind` code of each row, and for each row that is no part the reason.

    *stem* is each reference without its number. *stated* maps references or patterns (``TP*``) to the words of
    board.toml and overrides everything.
    """
    codes = np.zeros(len(refs), dtype=np.int8)
    reasons: dict[int, str] = {}
    stems, footprints, values = stem[1], footprint[1], value[1]
    columns = (
        (stem[0], [_stem_matters(s) for s in stems]),
        (footprint[0], [_names_no_part(f) for f in footprints]),
        (value[0], [_names_no_part(v) for v in values]),
    )
    # Most rows are parts by all three; the others are few, and only they are looked at one by one.
    suspect = np.zeros(len(refs), dtype=np.bool_)
    for numbers, matters in columns:
        if any(matters):
            suspect |= np.array(matters, dtype=np.bool_)[numbers]
    for i in np.flatnonzero(suspect).tolist():
        text = stems[stem[0][i]]
        codes[i], reason = _of_name(prefix_of(text), text, footprints[footprint[0][i]], values[value[0][i]])
        if reason:
            reasons[i] = reason
    if stated:
        _apply_stated(refs, stated, codes, reasons)
    return codes, reasons


def _stem_matters(stem: str) -> bool:
    return _of_name(prefix_of(stem), stem, "", "")[0] is not Kind.PART


def _names_no_part(text: str) -> bool:
    folded = fold(text)
    return bool(_FIDUCIAL_WORDS.search(folded) or _MECHANICAL_WORDS.search(folded))


def _of_name(prefix: str, stem: str, footprint: str, value: str) -> tuple[Kind, str]:
    text = f"{footprint} {value}"
    known = reference_letters().get(prefix)
    stands_for = (known.nothing if known else None) or _feature_named(prefix)
    unsure = known is not None and known.unsure
    begins = f"reference begins with {prefix}"
    if stands_for == "fiducial" and not unsure:
        return Kind.FIDUCIAL, begins
    if _FIDUCIAL_WORDS.search(fold(text)):
        return Kind.FIDUCIAL, f'"{text.strip()}" names a fiducial'
    if stands_for and not unsure:
        return Kind.MECHANICAL, f"{stands_for}: {begins}"
    match = _MECHANICAL_WORDS.search(fold(text))
    if match and match.lastgroup:
        return Kind.MECHANICAL, f'{_REASONS[match.lastgroup]}: "{text.strip()}"'
    if prefix == "H" and not text.strip():
        return Kind.MECHANICAL, "hole: reference begins with H, without footprint or value"
    if stands_for:
        return Kind.FIDUCIAL, begins
    low = stem.casefold()
    if low.startswith(("hole", "logo", "g*", "ref*", "mousebite", "mounting")):
        return Kind.MECHANICAL, f'reference "{stem}"'
    return Kind.PART, ""


def _feature_named(prefix: str) -> str | None:
    """Return what a reference names that begins with a whole word, such as ``FIDUCIAL1``."""
    if len(prefix) < 2:
        return None
    words = vocabulary().features
    if prefix in words.fiducial:
        return "fiducial"
    return next((reason for sort, reason in _REASONS.items() if prefix in getattr(words, sort)), None)


def _apply_stated(refs: Sequence[str], stated: Mapping[str, str], codes: Codes, reasons: dict[int, str]) -> None:
    exact = {k: v for k, v in stated.items() if not set(k) & set("*?[")}
    patterns = [(k, v) for k, v in stated.items() if k not in exact]
    for i, ref in enumerate(refs):
        word = exact.get(ref) or next((v for k, v in patterns if fnmatchcase(ref, k)), None)
        if word is None:
            continue
        codes[i] = Kind[word.upper()]
        reasons.pop(i, None)
        if codes[i] != Kind.PART:
            reasons[i] = _STATED


def parts_by_bom(
    files: Sequence[PlacementColumns], lines: Sequence[BomLine]
) -> tuple[list[PlacementColumns], list[Note]]:
    """Return the files with those rows as parts that were set apart by their references and are bought by the BOM.

    A line buys a part where it has a part number, or is fitted and has a value and a package. Where a footprint,
    a value or the line itself names a fiducial, a hole or a test point, the row stays set apart, and so does
    what board.toml states. A note a file tells which rows they are.
    """
    kept: list[PlacementColumns] = []
    notes: list[Note] = []
    for file in files:
        rows: dict[int, BomLine] = {}
        apart = [i for i in np.flatnonzero(file.kind != Kind.PART).tolist() if file.reasons.get(i) != _STATED]
        bought = _lines_of([file.ref[i] for i in apart], lines) if apart else {}
        for i in apart:
            line = bought.get(file.ref[i].upper())
            own = f"{file.text(Role.FOOTPRINT, i)} {file.text(Role.VALUE, i)}"
            if line is None or not _buys_a_part(line) or _names_no_part(own):
                continue
            if prefix_of(file.ref[i]) != "TP" or not _TEST_PAD.search(f"{own} {line.part_number} {line.value}"):
                rows[i] = line
        kept.append(_with_parts(file, rows) if rows else file)
        notes += _taken_as_parts(file, rows)
    return kept, notes


def _lines_of(refs: Sequence[str], lines: Sequence[BomLine]) -> dict[str, BomLine]:
    """Return the first line of each reference that has one, by the reference in capitals."""
    wanted = {spelling for ref in refs for spelling in (ref, ref.upper(), ref.lower())}
    found: dict[str, BomLine] = {}
    for line in lines:
        for ref in wanted.intersection(line.refs):
            found.setdefault(ref.upper(), line)
    return found


def _buys_a_part(line: BomLine) -> bool:
    if _names_no_part(f"{line.part_number} {line.value} {line.description} {line.package}"):
        return False
    if any(map(str.isdigit, line.part_number)) and not _BARE_NAME.fullmatch(line.part_number):
        return True
    return line.fitted and not _BARE_NAME.fullmatch(line.value) and not _BARE_NAME.fullmatch(line.package)


def _with_parts(file: PlacementColumns, rows: Mapping[int, BomLine]) -> PlacementColumns:
    kind = file.kind.copy()
    kind[list(rows)] = Kind.PART
    return replace(file, kind=kind, reasons={i: why for i, why in file.reasons.items() if i not in rows})


def _taken_as_parts(file: PlacementColumns, rows: Mapping[int, BomLine]) -> Iterator[Note]:
    """Yield a note on each line of the BOM that makes rows parts."""
    by_line: dict[tuple[str, int], list[int]] = defaultdict(list)
    for i, line in rows.items():
        by_line[line.part_number or f"{line.value}, {line.package}", line.row].append(i)
    for (name, _), same in by_line.items():
        refs = shortened([file.ref[i] for i in same])
        why = file.reasons.get(same[0], "").rpartition(": ")[2]
        message = f"{refs}: taken as to be placed, because the BOM has a part for it ({name}), although {why}"
        yield Note(message, Place(file.table.file, int(file.row[same[0]])))

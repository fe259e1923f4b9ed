"""Values of resistors, capacitors and coils as numbers, so that two spellings of one value agree.

``100n`` is ``0.1uF``, ``4k7`` is ``4.7 kΩ`` (the code of IEC 60062, in which a letter stands for the point).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.placements import with_starts
from capcheck.intake.tables import Role, group, prefix_of, says_not_fitted
from capcheck.model import BomLine, Discrepancy, Flags, Ints, Said, Topic, say
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    import re

    from capcheck.intake.placements import PlacementColumns

_VALUE: Final = pattern(
    r"(?P<whole>\d{1,15}+|(?=R(?:\d{1,3}|00\d\d)(?!\d)))(?:[.,](?P<part>\d{1,15}+))?"
    r"[ _]?(?P<letter>[pnuµμmkKMGRrPNU])?(?P<rest>\d{1,15}+)?"
    r"[ _]?(?P<unit>[Ff](?:arad)?|[Hh](?:enry)?|[Oo]hms?|OHMS?|[\u03a9\u2126]|R)?(?![\w.]|-\d|['’]\d)"
)
_FACTORS: Final = {
    "": 1.0,
    "p": 1e-12,
    "n": 1e-9,
    "u": 1e-6,
    "µ": 1e-6,
    "μ": 1e-6,
    "m": 1e-3,
    "k": 1e3,
    "K": 1e3,
    "M": 1e6,
    "G": 1e9,
    "R": 1.0,
    "r": 1.0,
    "P": 1e-12,
    "N": 1e-9,
    "U": 1e-6,
}
_UNIT_OF: Final = {"R": "Ω", "C": "F", "L": "H"}
"""The unit of each class letter's value; others have part names for values."""
_CASE_DIGITS: Final = 4
"""``1206`` before a value is the size of the case."""
_THOUSANDS: Final = 3
_SAME: Final = 1.001


def magnitude(text: str, prefix: str) -> float | None:
    """Return the value that *text* begins with, in Ω, F or H by the reference's *prefix*; None where it is none.

    What follows, such as a tolerance or a voltage, is left out. A bare number is a value in Ω only: ``104`` on a
    capacitor is a code. What may be read in two ways is none: ``10,000`` and ``4.700`` have thousands or decimals after
    the mark, ``1206 10k`` begins with a size, and in ``43K1%`` the 1 belongs to the value or to the tolerance.
    """
    match = _VALUE.match(text.strip())
    expected = _UNIT_OF.get(prefix)
    if match is None or expected is None:
        return None
    letter, unit = match["letter"] or "", (match["unit"] or "")[:1].upper()
    stated = unit if unit in {"", "F", "H"} else "Ω"
    if stated not in {"", expected} or (letter in {"R", "r"} and expected != "Ω"):
        return None
    if expected == "Ω" and letter in set("nuµμpPNU"):
        return None
    if expected != "Ω" and (letter in set("kKMGRr") or not (letter or stated)):
        return None
    if match["rest"] is not None and (match["part"] is not None or not letter):
        return None
    if match["rest"] is not None and match.string[match.end() :].lstrip().startswith("%"):
        return None  # 43 kΩ of 1 %, or 43.1 kΩ
    if _may_be_thousands(match) or _is_case(match):
        return None
    number = float(f"{match['whole']}.{match['rest'] or match['part'] or '0'}")
    return number * _FACTORS[letter]


def _may_be_thousands(match: re.Match[str]) -> bool:
    """Whether the mark in the number may group thousands; before a letter only a comma is in doubt."""
    if len(match["part"] or "") != _THOUSANDS or not int(match["whole"]):
        return False
    return not match["letter"] or match.string[match.end("whole")] == ","


def _is_case(match: re.Match[str]) -> bool:
    """Whether a bare number of four digits stands before a further value."""
    if len(match[0].strip()) != _CASE_DIGITS or match["whole"] != match[0].strip():
        return False
    further = [(word, _VALUE.match(word)) for word in match.string[match.end() :].split()]
    return any(m and (m["letter"] or m["unit"] or m.end() == len(word)) for word, m in further)


def differ(one: str, two: str, prefix: str) -> bool:
    """Whether two texts certainly state different values: both are numbers, and not the same."""
    if one.casefold() == two.casefold():
        return False
    first, second = magnitude(one, prefix), magnitude(two, prefix)
    if first is None or second is None:
        return False
    if first == 0 or second == 0:
        return first != second
    return max(first, second) / min(first, second) > _SAME


def different_values(
    files: Sequence[PlacementColumns], bom_line: Ints, fitted: Flags, lines: Sequence[BomLine]
) -> list[Discrepancy]:
    """Return one record of all fitted parts whose value in the placements is another than on their BOM line.

    *bom_line* and *fitted* run over all files' rows.
    """
    refs: list[str] = []
    shown: list[Said] = []
    first: Place | None = None
    for file, start in with_starts(files):
        rows = slice(start, start + len(file))
        if Role.VALUE not in file.texts:
            continue
        codes, texts = file.texts[Role.VALUE]
        groups, leaders = group([codes, bom_line[rows], file.stem[0]]) if len(file) else (codes, codes)
        for k, i in enumerate(leaders.tolist()):
            number = int(bom_line[rows][i])
            if number < 0:
                continue
            placed, listed = texts[int(codes[i])], lines[number].value
            if not differ(placed, listed, prefix_of(file.stem[1][int(file.stem[0][i])])):
                continue
            same = [file.ref[j] for j in np.flatnonzero((groups == k) & fitted[rows]).tolist()]
            if not same or says_not_fitted(placed):
                continue
            refs += same
            place = Place(lines[number].file, lines[number].row)
            shown.append(say("compare.one against another", refs=same, placed=placed, listed=listed, place=place))
            first = first or file.place(i)
    if first is None:
        return []
    return [Discrepancy(Topic.TWO_VALUES, say("compare.two values", shown=shown), tuple(refs), first)]

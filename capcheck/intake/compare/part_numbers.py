"""Part numbers: damaged by a spreadsheet, missing, only described; two footprints of one, several of one value."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import says_not_fitted
from capcheck.lexicon import fold, vocabulary
from capcheck.model import BomLine, Discrepancy, Severity, Topic
from capcheck.values import Place, pattern, shortened

if TYPE_CHECKING:
    from capcheck.model import PartName

_NO_NUMBER: Final = pattern(
    lambda: rf"\s*(?:|-+|\?+|~|x+|\*|{vocabulary().answers.unstated}|{vocabulary().answers.any_part})\s*"
)
_EXPONENT: Final = pattern(r"\d+(?:\.\d+)?E[+-]?\d{1,3}", re.IGNORECASE)


def _date() -> str:
    month = f"(?:{'|'.join(sorted(vocabulary().lines.month.spelt))})"
    return (
        rf"\d{{4}}-\d{{2}}-\d{{2}}(?:[ T]00:00(?::00)?)?|\d{{1,2}}[-. ]{month}[^\W\d_]*(?:[-. ]\d{{2,4}})?"
        rf"|{month}[^\W\d_]*-\d{{2,4}}|\d{{1,2}}/\d{{1,2}}/\d{{2,4}}"
    )


_DATE: Final = pattern(_date)
_LONG_NUMBER: Final = pattern(r"\d{12,}0000")
_FAILED: Final = frozenset({"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!"})
_MAY_BE_DAMAGED: Final = pattern(lambda: rf"\s*(?:\d|#|{'|'.join(sorted(vocabulary().lines.month.spelt))})")
_CODE_LOST_ZERO: Final = frozenset(
    {"201", "402", "603", "805", "1005.0", "402.0", "603.0", "805.0", "201.0", "1206.0", "1210.0"}
)
_GENERIC: Final = pattern(r"(?i)\d+(?:[.,]\d+)?\s*(?:[pnuµm]f?|f|[kmr]?ohms?|[kmr]|[nuµm]?h)(?:\s+.*)?")
_MOST_SHOWN: Final = 6
_SIZE_CODE: Final = pattern(r"(?<!\d)(?:01005|0201|0402|0603|0805|1206|1210|1812|2010|2512)(?!\d)")


def damage(number: str) -> str:
    """Return how a spreadsheet seems to have damaged a part number, or an empty text.

    ``1E-05`` and ``1,20E+11`` were numbers once; a date was ``1-2`` or ``MAR-10``; ``402`` was ``0402``.
    """
    if not _MAY_BE_DAMAGED.match(fold(number)):
        return ""
    text = number.strip()
    if _EXPONENT.fullmatch(text.replace(",", ".")):
        return "a number in exponent form"
    if _DATE.fullmatch(fold(text)):
        return "a date"
    if text in _CODE_LOST_ZERO:
        return "a size code that lost its zero"
    if _LONG_NUMBER.fullmatch(text):
        return "a long number rounded to 15 digits"
    return "text from a failed formula" if text.upper() in _FAILED else ""


def check_part_numbers(lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return part numbers that were damaged, are missing or describe a part only; the last two as one record each."""
    found: list[Discrepancy] = []
    stated = any(line.part_number and not _NO_NUMBER.fullmatch(fold(line.part_number)) for line in lines)
    empty: list[str] = []
    first: BomLine | None = None
    generic: list[BomLine] = []
    for line in lines:
        number = line.part_number
        how = damage(number) if number else ""
        if how:
            message = f'part number "{number}" of {shortened(line.refs)} looks like {how}'
            found.append(
                Discrepancy(Topic.DAMAGED_PART_NUMBER, message, line.refs, Place(line.file, line.row), Severity.STOP)
            )
        how = damage(line.package) if line.package else ""
        if how:
            message = f'package "{line.package}" of {shortened(line.refs)} looks like {how}'
            found.append(
                Discrepancy(Topic.DAMAGED_PACKAGE, message, line.refs, Place(line.file, line.row), Severity.ASSUMED)
            )
        if not line.fitted or says_not_fitted(number):
            continue
        if stated and _NO_NUMBER.fullmatch(fold(number)):
            empty += line.refs
            first = first or line
        elif number and _GENERIC.fullmatch(number):
            generic.append(line)
    if generic:
        found.append(_generic(generic))
    if first is not None and empty:
        message = f"{shortened(empty)}: no part number"
        found.append(
            Discrepancy(Topic.NO_PART_NUMBER, message, tuple(empty), Place(first.file, first.row), Severity.ASSUMED)
        )
    return found


def _generic(lines: Sequence[BomLine]) -> Discrepancy:
    refs = tuple(chain.from_iterable(line.refs for line in lines))
    if len(lines) == 1:
        message = f'"{lines[0].part_number}" of {shortened(refs)} describes a part, it is no part number'
    else:
        shown = ", ".join(f'"{line.part_number}" of {shortened(line.refs, 3)}' for line in lines[:_MOST_SHOWN])
        more = f" and {len(lines) - _MOST_SHOWN} more" if len(lines) > _MOST_SHOWN else ""
        message = f"{len(lines)} lines describe a part and give no part number: {shown}{more}"
    return Discrepancy(Topic.GENERIC_PART_NUMBER, message, refs, Place(lines[0].file, lines[0].row), Severity.ASSUMED)


def compare_types(
    types: Sequence[PartName], used: Iterable[int], refs_of: Callable[[Iterable[int]], list[str]]
) -> list[Discrepancy]:
    """Return part numbers with two footprints, and footprints with one value but several part numbers.

    *used* are the indices of the types that are fitted; *refs_of* lists the references of some of them.
    """
    by_number: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    by_name: dict[tuple[str, str, str], dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    written: dict[str, str] = {}
    for i in used:
        if i < 0:
            continue
        kind = types[i]
        number = kind.part_number
        if not number or _NO_NUMBER.fullmatch(fold(number)) or _GENERIC.fullmatch(number):
            continue
        footprint = kind.footprint or kind.bom_package
        if footprint:
            by_number[number][footprint].append(i)
            if kind.value:
                written.setdefault(kind.value.casefold(), kind.value)
                by_name[kind.ref_prefix, kind.value.casefold(), footprint][number].append(i)

    def record(topic: Topic, what: str, groups: Mapping[str, list[int]], severity: Severity) -> Discrepancy:
        shown = ", ".join(f"{name} ({shortened(refs_of(at), 4)})" for name, at in groups.items())
        refs = tuple(refs_of(chain.from_iterable(groups.values())))
        return Discrepancy(topic, f"{what}: {shown}", refs, None, severity)

    found = []
    for number, lands in by_number.items():
        if len(set(map(_land, lands))) > 1:
            said = f"part number {number} has {len(lands)} footprints"
            found.append(record(Topic.TWO_FOOTPRINTS, said, lands, Severity.ASSUMED))
    for (_, value, land), numbers in by_name.items():
        if len(numbers) > 1:
            said = f"{written[value]} in {land} has {len(numbers)} part numbers, and one would do"
            found.append(record(Topic.SEVERAL_NUMBERS, said, numbers, Severity.ADVICE))
    return found


def _land(footprint: str) -> str:
    """Return what a footprint is for: its size code, where it is a chip's; two libraries have two names for one."""
    codes = set(_SIZE_CODE.findall(footprint))
    return codes.pop() if len(codes) == 1 else footprint

"""Part numbers: damaged by a spreadsheet, missing, only described; two footprints of one, several of one value."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import chain
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import may_name_body, says_not_fitted
from capcheck.lexicon import Concept, fold, is_named, vocabulary
from capcheck.model import BomLine, Discrepancy, Said, Severity, Topic, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PartName

_LONGEST: Final = 100
_EXPONENT: Final = pattern(r"\d+(?:\.\d+)?E[+-]?\d{1,3}", re.IGNORECASE)


def _date() -> str:
    month = f"(?:{'|'.join(sorted(vocabulary().lines.month.spelt))})"
    return (
        rf"\d{{4}}-\d{{2}}-\d{{2}}(?:[ T]00:00(?::00)?)?|\d{{1,2}}[-. ]{month}[^\W\d_]*(?:[-. ]\d{{2,4}})?"
        rf"|{month}[^\W\d_]*-\d{{2,4}}|\d{{1,2}}/\d{{1,2}}/\d{{2,4}}"
    )


_DATE: Final = pattern(_date)
_TWO_NUMBERS: Final = pattern(
    lambda: (
        r"(?=\S*\d)\S{4,40}"
        rf"(?:\s+(?:[/|&]|{vocabulary().lists.choice})\s+|\s*(?:[;\n]|[-=]>|→)\s*)(?=\S*\d)\S{{4,40}}"
        rf"|(?=\S*\d)\S{{4,40}}\s?[(\[]\s?{vocabulary().lists.choice}\W{{1,3}}(?=\S*\d)\S{{4,40}}"
    )
)
_ANOTHER: Final = pattern(
    lambda: (
        rf"(?<![^\s,;(])(?:{vocabulary().lists.choice}|{vocabulary().titles[Concept.ALTERNATE]})[\s:=]{{1,3}}"
        r"(?![a-z]{1,3}\d{1,4}(?![\w-]))(?=\S{0,39}\d\S{0,39}\d)(?:[a-z][\w./+-]{4,39}|\d[a-z]{1,3}\d\d[\w./+-]{1,39})"
    )
)
"""A word for a choice before what may be a part number, and is no reference and no value: ``or XQ77-99``."""
_QUESTIONED: Final = pattern(r"(?=[^\d\n]{0,100}\d)(?:[^?]{3,100}\?+|\W*\?+\W*[^?]{3,100})")
"""A number with a question mark before or behind it; one within it may stand for any letter."""
_MISTYPED: Final = pattern(
    r"(?<=[0-9])[Ol](?=[0-9])|(?<=\w) -(?=\w)|(?<=\w)- (?=\w)|(?:\.\.|…)\s*$|^\s*=|\S\*\s*$"
    r"|[A-Za-z0-9][\u0370-\u03a8\u03aa-\u03bb\u03bd-\u052f]|[\u0370-\u03a8\u03aa-\u03bb\u03bd-\u052f][A-Za-z0-9]"
)
"""What typing puts into a number, or a break over two lines: a letter O or l between figures, a space on one side of a
hyphen, dots at its end, the sign of a formula, a letter of Greek or Cyrillic that looks like one of ours."""
_STATUS: Final = pattern(
    lambda: rf"(?<![^\s(\[]){vocabulary().fitted.questioned}(?![^\s,;:.)\]])|{vocabulary().fitted.conditional}"
)
"""Words behind or before a number that say that it no longer counts: obsolete, replaced by."""
_BROKEN: Final = pattern(
    r"(?=[0-9]{0,15}[A-Z])(?=[A-Z]{0,15}[0-9])[A-Z0-9]{4,16} (?=[0-9]{0,15}[A-Z])(?=[A-Z]{0,15}[0-9])[A-Z0-9]{4,16}"
)
"""One blank between two pieces of letters and figures that read like the halves of one number."""
_A_VALUE: Final = pattern(r"[0-9]+[A-Z]{1,3}[0-9]*")
"""``100V`` or ``4K7`` behind a number is a value, and no half of it."""
_LONG_NUMBER: Final = pattern(r"\d{12,}0000")
_FAILED: Final = frozenset({"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!"})
_MAY_BE_DAMAGED: Final = pattern(lambda: rf"\s*(?:\d|#|{'|'.join(sorted(vocabulary().lines.month.spelt))})")
_CODE_LOST_ZERO: Final = frozenset(
    {"201", "402", "603", "805", "1005.0", "402.0", "603.0", "805.0", "201.0", "1206.0", "1210.0"}
)
_GENERIC: Final = pattern(r"(?i)\d+(?:[.,]\d+)?\s*(?:[pnuµm]f?|f|[kmr]?ohms?|[kmr]|[nuµm]?h)(?:\s+.*)?")
_SIZE_CODE: Final = pattern(r"(?<!\d)(?:01005|0201|0402|0603|0805|1206|1210|1812|2010|2512)(?!\d)")


def damage(text: str) -> Said | None:
    """Return how a spreadsheet seems to have damaged a part number, or None.

    ``1E-05`` and ``1,20E+11`` were numbers once; a date was ``1-2`` or ``MAR-10``; ``402`` was ``0402``.
    """
    if not _MAY_BE_DAMAGED.match(fold(text)):
        return None
    text = text.strip()
    if _EXPONENT.fullmatch(text.replace(",", ".")):
        return say("compare.exponent")
    if _DATE.fullmatch(fold(text)):
        return say("compare.date")
    if text in _CODE_LOST_ZERO:
        return say("compare.lost zero")
    if _LONG_NUMBER.fullmatch(text):
        return say("compare.rounded")
    return say("compare.failed formula") if text.upper() in _FAILED else None


def check_part_numbers(lines: Sequence[BomLine], no_parts: Collection[str] = ()) -> list[Discrepancy]:
    """Return part numbers that were damaged, are missing or describe a part only; the last two as one record each.

    *no_parts* are designators of what is copper of the board and bought from nobody.
    """
    found: list[Discrepancy] = []
    stated = any(is_named(line.part_number) for line in lines)
    empty: list[BomLine] = []
    generic: list[BomLine] = []
    for line in lines:
        number = line.part_number
        another = _another_beside(line)
        two = say("compare.two numbers") if line.fitted and (another or _TWO_NUMBERS.fullmatch(fold(number))) else None
        asked = say("compare.questioned") if line.fitted and _is_questioned(number) else None
        typed = say("compare.mistyped") if line.fitted and _is_mistyped(number) else None
        if how := damage(number) or two or asked or typed:
            key = "compare.number in question" if how in {two, asked, typed} else "compare.damaged number"
            said = say(key, text=f"{number} {another}" if how is two and another else number, damage=how)
            found.append(Discrepancy(Topic.DAMAGED_PART_NUMBER, said, line.refs, line.place, Severity.STOP))
        if how := damage(line.package):
            said = say("compare.damaged package", text=line.package, damage=how)
            found.append(Discrepancy(Topic.DAMAGED_PACKAGE, said, line.refs, line.place))
        if not line.fitted or says_not_fitted(number):
            continue
        if stated and not (is_named(number) and number.strip("0 ")):
            empty.append(line)
        elif number and _GENERIC.fullmatch(number):
            generic.append(line)
    if generic:
        found.append(_generic(generic))
    lacking = [(ref, line.place) for line in empty for ref in line.refs if ref not in no_parts]
    if lacking:
        refs = tuple(ref for ref, _ in lacking)
        found.append(Discrepancy(Topic.NO_PART_NUMBER, say("compare.no part number"), refs, lacking[0][1]))
    return found


def _another_beside(line: BomLine) -> str:
    """Return what another cell of a line says of a number that may be bought as well; blank where none does."""
    if not line.part_number:
        return ""
    # All but few cells are one word, and hold no word for a choice beside a number.
    texts = (text[:_LONGEST] for text in line.cells.values() if " " in text and text != line.part_number)
    return next((text for text in texts if _ANOTHER.search(fold(text))), "")


def _is_questioned(number: str) -> bool:
    """Whether a number is marked as open, or words beside it say that it may no longer count."""
    if _QUESTIONED.fullmatch(number.strip()):
        return True
    return " " in number.strip() and any(map(str.isdigit, number)) and _STATUS.search(fold(number)) is not None


def _is_mistyped(number: str) -> bool:
    """Whether a number holds what typing or a break of lines puts in; a package's name or a value may follow it."""
    if _MISTYPED.search(number):
        return True
    if not _BROKEN.fullmatch(number.strip()):
        return False
    behind = number.split()[1]
    return not may_name_body(behind) and not _A_VALUE.fullmatch(behind)


def _generic(lines: Sequence[BomLine]) -> Discrepancy:
    refs = tuple(chain.from_iterable(line.refs for line in lines))
    if len(lines) == 1:
        said = say("compare.a generic number", number=lines[0].part_number)
    else:
        shown = [say("compare.number of", number=line.part_number, refs=line.refs) for line in lines]
        said = say("compare.generic numbers", lines=len(lines), shown=shown)
    return Discrepancy(Topic.GENERIC_PART_NUMBER, said, refs, lines[0].place)


def compare_types(
    types: Sequence[PartName], used: Iterable[int], refs_of: Callable[[Iterable[int]], list[str]]
) -> list[Discrepancy]:
    """Return part numbers with two footprints, and footprints with one value but several part numbers.

    A word without a figure, such as LED, is no value: what it leaves out may be what the numbers differ in.

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
        if not is_named(number) or _GENERIC.fullmatch(number):
            continue
        footprint = kind.footprint or kind.bom_package
        if footprint:
            by_number[number][footprint].append(i)
            if any(map(str.isdigit, _SIZE_CODE.sub("", kind.value))):
                written.setdefault(kind.value.casefold(), kind.value)
                by_name[kind.ref_prefix, kind.value.casefold(), footprint][number].append(i)

    def shown(groups: Mapping[str, list[int]]) -> list[Said]:
        return [say("compare.refs of a name", name=name, refs=refs_of(at)) for name, at in groups.items()]

    found = []
    for number, lands in by_number.items():
        if len(set(map(_land, lands))) > 1:
            said = say("compare.two footprints", number=number, lands=len(lands), shown=shown(lands))
            refs = tuple(refs_of(chain.from_iterable(lands.values())))
            found.append(Discrepancy(Topic.TWO_FOOTPRINTS, said, refs))
    for (_, value, land), numbers in by_name.items():
        if len(numbers) > 1:
            said = say(
                "compare.several numbers", value=written[value], land=land, numbers=len(numbers), shown=shown(numbers)
            )
            refs = tuple(refs_of(chain.from_iterable(numbers.values())))
            found.append(Discrepancy(Topic.SEVERAL_NUMBERS, said, refs, severity=Severity.ADVICE))
    return found


def _land(footprint: str) -> str:
    """Return what a footprint is for: its size code, where it is a chip's; two libraries have two names for one."""
    codes = set(_SIZE_CODE.findall(footprint))
    return codes.pop() if len(codes) == 1 else footprint

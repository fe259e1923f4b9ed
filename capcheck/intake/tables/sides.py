"""The side of the board, in the spellings that customers' files use."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.model import Codes, Decision, Side, Topic
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

_LONGEST_TITLE: Final = 60


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_TOP: Final = _words(
    "top t tp tl front f fcu fr component comp components cs compside primary prim upper oben oberseite vorne "
    "vorderseite dessus haut recto face avant superior sup arriba 表 表面 部品面 "
    "トップ 上 上面 顶层 顶面 正面 bs bestückungsseite"
)
_BOTTOM: Final = _words(
    "bottom bot b bo bt bl back bcu bk solder sold soldering ss soldside secondary sec lower unten unterseite hinten "
    "rückseite dessous bas verso arrière inferior inf abajo "
    "裏 裏面 はんだ面 半田面 ボトム 下 下面 底层 底面 反面 ls lötseite"
)
_COMPONENT_OR_SOLDER: Final = {"c": Side.TOP, "s": Side.BOTTOM, "": Side.UNKNOWN}
_YES: Final = _words("yes y true t 1 m mirror mirrored x ja j oui o si sí はい 有 是 ✓")
_NO: Final = _words("no n false f 0 none unmirrored nein non いいえ 無 否 -") | {""}
_WORD: Final = pattern(r"[^\W\d_]+")
_NUMBER: Final = pattern(r"\d+")
_CAMEL: Final = pattern(r"(?<=[a-zà-ÿ])(?=[A-Z])")
_FULL_WORDS: Final = pattern(
    r"(?<![a-zà-ÿ])(?:top|front|oben|oberseite|dessus|bestückungsseite|bottom|bot|back|unten|unterseite|dessous|lötseite)"
    r"(?![a-zà-ÿ])|表|部品面|裏|半田面"
)


def side_of_word(text: str) -> Side | None:
    """Return the side that a label names by a word, or None: ``T``, ``B.Cu``, ``L8-BOTTOM``, ``Oben``, ``部品面``."""
    words = {w.casefold() for w in _WORD.findall(_CAMEL.sub(" ", text))}
    whole = "".join(_WORD.findall(text)).casefold()
    top = bool(words & _TOP) or whole in _TOP
    bottom = bool(words & _BOTTOM) or whole in _BOTTOM
    if top and bottom:
        # "Bottom T" or "B (top view)": only a word written out decides.
        top, bottom = (any(len(w) > 2 and w in known for w in words) for known in (_TOP, _BOTTOM))
    if top == bottom:
        return None
    return Side.TOP if top else Side.BOTTOM


def read_side_labels(labels: Iterable[str]) -> dict[str, Side | None]:
    """Return the side of each distinct label of a column; None for one that says nothing; blank is UNKNOWN.

    Bare numbers are read together: 1 and 2, 0 and 1, or the first and last layer's number; so are the letters C and S,
    component and solder side.
    """
    sides: dict[str, Side | None] = {}
    numbers: dict[str, int] = {}
    labels = list(labels)
    if {label.strip().casefold() for label in labels} - {""} == {"c", "s"}:
        return {label: _COMPONENT_OR_SOLDER[label.strip().casefold()] for label in labels}
    for label in labels:
        if not label.strip():
            sides[label] = Side.UNKNOWN
            continue
        side = side_of_word(label)
        digits = _NUMBER.findall(label)
        if side is None and digits and not (set(_WORD.findall(label.casefold())) - {"l", "layer", "side", "lage"}):
            numbers[label] = int(digits[0])
            continue
        sides[label] = side
    distinct = sorted(set(numbers.values()))
    first = 0 if distinct[:1] == [0] else 1
    for label, number in numbers.items():
        if number == first:
            sides[label] = Side.TOP
        else:
            sides[label] = Side.BOTTOM if number == distinct[-1] and len(distinct) <= 2 else None
    return sides


def read_mirror_labels(labels: Iterable[str]) -> dict[str, Side | None]:
    """Return the side that each distinct label of a mirror flag means: mirrored parts sit on the bottom."""
    sides: dict[str, Side | None] = {}
    for label in labels:
        word = label.strip().casefold()
        sides[label] = Side.BOTTOM if word in _YES else Side.TOP if word in _NO else side_of_word(label)
    return sides


def side_from_names(file: str, sheet: str | None, preamble: Sequence[tuple[int, str]]) -> tuple[Side, str] | None:
    """Return the side that a preamble line, the sheet's or the file's name states, with the evidence."""
    for row, text in preamble:
        match = re.search(r"(?i)\b(?:side|layer|seite|face)\b\s*[:=]?\s*([^\W\d_]+)", text)
        side = side_of_word(match[1]) if match else None
        if side is not None and match is not None:
            return side, f'line {row} says "{match[0].strip()}"'
    for what, name in (("sheet", sheet or ""), ("file name", PurePath(file).stem)):
        side = _written_out(name)
        if side is not None:
            return side, f'the {what} "{name}" says so'
    return None


def sides_by_pair(files: Sequence[str]) -> dict[str, tuple[Side, str]]:
    """Return the side of two files whose names differ in one letter alone, T and B or F and B, with the evidence."""
    names = [PurePath(file).name for file in files]
    if len(names) != 2 or len(names[0]) != len(names[1]):
        return {}
    differing = [(a, b) for a, b in zip(*(name.casefold() for name in names), strict=True) if a != b]
    if len(differing) != 1 or set(differing[0]) not in ({"t", "b"}, {"f", "b"}):
        return {}
    evidence = f'the names "{names[0]}" and "{names[1]}" differ in {" and ".join(differing[0])} alone'
    return {
        file: (Side.BOTTOM if letter == "b" else Side.TOP, evidence)
        for file, letter in zip(files, differing[0], strict=True)
    }


def sides_by_titles(table: Table) -> tuple[Codes, Decision] | None:
    """Return the side of each row by the titles that stand between the rows, where every row is below one of them."""
    titles = [
        (row, side, text)
        for row, text in table.titles
        if len(text) < _LONGEST_TITLE and (side := _written_out(text)) is not None
    ]
    rows = np.asarray(table.row_numbers, dtype=np.int64)
    if not titles or not len(rows) or rows[0] < titles[0][0]:
        return None
    at = np.searchsorted([row for row, _, _ in titles], rows) - 1
    sides = np.array([side for _, side, _ in titles], dtype=np.int8)[at]
    shown = ", ".join(f'row {row} says "{text.strip()}"' for row, _, text in titles[:4])
    return sides, Decision(
        Topic.SIDE, "by the titles between the rows", shown, "", 'side = "top"', place=Place(table.file)
    )


def _written_out(name: str) -> Side | None:
    found = {side_of_word(m) for m in _FULL_WORDS.findall(_CAMEL.sub(" ", name).casefold())}
    return found.pop() if len(found) == 1 else None


def code_column(cells: Sequence[str], sides: Mapping[str, Side | None]) -> Codes:
    """Return the side code of each cell; a label without a side is UNKNOWN."""
    codes = {label: int(Side.UNKNOWN if side is None else side) for label, side in sides.items()}
    return np.fromiter(map(codes.__getitem__, cells), dtype=np.int8, count=len(cells))

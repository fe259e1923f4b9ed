"""The side of the board, in the spellings that customers' files use."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.tables.header_words import CAMEL
from capcheck.intake.tables.in_doubt import is_in_doubt
from capcheck.intake.tables.side_words import label_pairs, named_sides, side_of_word
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Codes, Decision, Flags, Said, Side, Topic, say
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

_WORD: Final = pattern(r"[^\W\d_]+")
_NUMBER: Final = pattern(r"(?<!\d)\d{1,9}(?!\d)")
_ANNOUNCED: Final = pattern(lambda: rf"(?<![^\W_]){vocabulary().titles[Concept.SIDE]}\s*[:=]?\s*([^\W\d_]+)")


_AROUND: Final = " :;#*-=/."
"""Marks round a line that stands above a list."""
_LONGEST_TITLE: Final = 60


def read_side_labels(labels: Iterable[str]) -> dict[str, Side | None]:
    """Return the side of each distinct label of a column; None for one that says nothing; blank is UNKNOWN.

    Bare numbers are read together: 1 and 2, 0 and 1, or the first and last layer's number; so are labels that name a
    side only beside each other, such as C and S, component and solder side.
    """
    sides: dict[str, Side | None] = {}
    numbers: dict[str, int] = {}
    labels = list(labels)
    folded = {label: fold(label.strip()) for label in labels}
    for top, bottom in label_pairs():
        if set(folded.values()) - {""} == {top, bottom}:
            meant = {top: Side.TOP, bottom: Side.BOTTOM, "": Side.UNKNOWN}
            return {label: meant[text] for label, text in folded.items()}
    for label in labels:
        if not label.strip():
            sides[label] = Side.UNKNOWN
            continue
        if is_in_doubt(label):
            sides[label] = None
            continue
        side = side_of_word(label)
        digits = _NUMBER.findall(label)
        if (
            side is None
            and digits
            and not (set(_WORD.findall(folded[label])) - {"l", *vocabulary().titles[Concept.SIDE].spelt})
        ):
            numbers[label] = int(digits[0])
            continue
        sides[label] = side
    distinct = sorted(set(numbers.values()))
    first = 0 if distinct[:1] == [0] else 1
    # A number beside words counts nothing that the words tell: 1 may be the first layer, or yes to the bottom.
    in_words = any(side in {Side.TOP, Side.BOTTOM} for side in sides.values())
    for label, number in numbers.items():
        if in_words:
            sides[label] = None
        elif number == first:
            sides[label] = Side.TOP
        else:
            sides[label] = Side.BOTTOM if number == distinct[-1] and len(distinct) <= 2 else None
    return sides


def read_mirror_labels(labels: Iterable[str]) -> dict[str, Side | None]:
    """Return the side that each distinct label of a mirror flag means: mirrored parts sit on the bottom."""
    return {label: _mirrored(label) for label in labels}


def _mirrored(label: str) -> Side | None:
    answers = vocabulary().answers
    if is_in_doubt(label):
        return None
    if any(label in words for words in (answers.yes, answers.yes_marks, answers.mirrored)):
        return Side.BOTTOM
    if not label.strip() or any(label in words for words in (answers.no, answers.no_marks, answers.not_mirrored)):
        return Side.TOP
    return side_of_word(label)


def side_from_names(file: str, sheet: str | None, preamble: Sequence[tuple[int, str]]) -> tuple[Side, Said] | None:
    """Return the side that a preamble line, the sheet's or the file's name states, or its ending, with the evidence."""
    return next(_sides_named(file, sheet, preamble), None)


def against_names(
    file: str, sheet: str | None, preamble: Sequence[tuple[int, str]], side: Side
) -> tuple[Side, Said] | None:
    """Return what of the same states the other side than *side*, the one that is taken; None where nothing does."""
    return next((told for told in _sides_named(file, sheet, preamble) if told[0] is not side), None)


def _sides_named(file: str, sheet: str | None, preamble: Sequence[tuple[int, str]]) -> Iterator[tuple[Side, Said]]:
    for row, text in preamble:
        side = _announced(text)
        if side is not None:
            yield side[0], say("sides.line", row=row, text=side[1])
    for key, name in (("sides.sheet", sheet or ""), ("sides.file name", PurePath(file).stem)):
        written = _written_out(name)
        if written is not None:
            yield written, say(key, name=name)
    ending, sides = PurePath(file).suffix.removeprefix("."), vocabulary().sides
    for ended, endings in ((Side.TOP, sides.top_endings), (Side.BOTTOM, sides.bottom_endings)):
        if ending and ending in endings:
            yield ended, say("sides.file ending", name=PurePath(file).name)


def sides_by_folders(files: Sequence[str]) -> dict[str, tuple[Side, Said]]:
    """Return the side of files that lie in two folders, one named for each side, with the evidence; else nothing."""
    parts = [PurePath(file).parts for file in files]
    if len(parts) < 2:
        return {}
    same = next((k for k, names in enumerate(zip(*parts, strict=False)) if len(set(names)) > 1), 0)
    if any(len(names) < same + 2 for names in parts):
        return {}
    folders = [names[same] for names in parts]
    told = {name: side for name in set(folders) if (side := _written_out(PurePath(name).stem)) is not None}
    if len(set(folders)) != 2 or set(told.values()) != {Side.TOP, Side.BOTTOM}:
        return {}
    return {file: (told[name], say("sides.folder name", name=name)) for file, name in zip(files, folders, strict=True)}


def sides_by_pair(files: Sequence[str]) -> dict[str, tuple[Side, Said]]:
    """Return the sides of two files by their names, with the evidence.

    The names differ in one letter alone, T and B or F and B, or the folders that they lie in are named for a side each.
    """
    names = [PurePath(file).name for file in files]
    if found := sides_by_folders(files):
        return found
    if len(names) != 2 or len(names[0]) != len(names[1]):
        return {}
    differing = [(a, b) for a, b in zip(*(name.casefold() for name in names), strict=True) if a != b]
    if len(differing) != 1 or set(differing[0]) not in ({"t", "b"}, {"f", "b"}):
        return {}
    evidence = say("sides.pair", one=names[0], other=names[1], here=differing[0][0], there=differing[0][1])
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
    return sides, Decision(
        Topic.SIDE,
        choice=say("sides.by titles"),
        evidence=say(
            "sides.titles", titles=[say("sides.title", row=row, text=text.strip()) for row, _, text in titles[:4]]
        ),
        settle='side = "top"',
        place=Place(table.file),
    )


def against_titles(table: Table, sides: Codes) -> tuple[Flags, Decision | None]:
    """Return which rows stand below a title of the other side than their own cell says, with the question on them."""
    rows = np.asarray(table.row_numbers, dtype=np.int64)
    against = np.zeros(len(rows), dtype=np.bool_)
    told = []
    ends = [*(row for row, _ in table.titles[1:]), np.inf][: len(table.titles)]
    for (row, text), after in zip(table.titles, ends, strict=True):
        side = _written_out(text) if len(text) < _LONGEST_TITLE else None
        below = (rows > row) & (rows < after)
        if side is not None and (other := below & (sides != side) & (sides != Side.UNKNOWN)).any():
            against |= other
            told.append((row, text.strip()))
    if not told:
        return against, None
    return against, Decision(
        Topic.SIDE,
        choice=say("placements.side unknown"),
        evidence=say("sides.against titles", titles=[say("sides.title", row=row, text=text) for row, text in told[:4]]),
        settle='side = "top"',
        open=True,
        place=Place(table.file, told[0][0], sheet=table.sheet),
    )


def _announced(text: str) -> tuple[Side, str] | None:
    """Return the side that a line such as ``Side: top`` names alone, with what of the line says so.

    A line that is the name of a side, ``Bottom side``, does so too.
    """
    folded = fold(text)
    match = _ANNOUNCED.search(folded)
    if match is None:
        named = side_of_word(folded.strip(_AROUND))
        return None if named is None else (named, text.strip())
    side = side_of_word(match[1])
    if side is None or named_sides(folded[match.start(1) :]) - {side}:
        return None
    return side, (text[match.start() : match.end()] if len(folded) == len(text) else match[0]).strip()


def _written_out(name: str) -> Side | None:
    found = named_sides(fold(CAMEL.sub(" ", name)))
    return found.pop() if len(found) == 1 else None


def code_column(cells: Sequence[str], sides: Mapping[str, Side | None]) -> Codes:
    """Return the side code of each cell; a label without a side is UNKNOWN."""
    codes = {label: int(Side.UNKNOWN if side is None else side) for label, side in sides.items()}
    return np.fromiter(map(codes.__getitem__, cells), dtype=np.int8, count=len(cells))

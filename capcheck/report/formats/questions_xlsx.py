"""The questions to the customer as a workbook to fill in, which ``capcheck answers`` reads back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import customers_catalogue
from capcheck.model import LeadStyle, Mounting
from capcheck.report.picture import Thumbnails, size_of_png
from capcheck.report.questions import DATA_SHEET, FILLED_IN, GROUPS, ListedRow, columns_of, listed_rows, table_of
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.workbook import Picture, Workbook

HELP: Final = "the questions to the customer to fill in, of the board and of its parts, these ringed on small pictures"
_WIDTHS: Final = {
    "no": 6,
    "group": 22,
    "question": 60,
    "designators": 26,
    "part": 36,
    "boxes": 36,
    "choice": 30,
    DATA_SHEET: 26,
    "answer": 36,
    "otherwise": 36,
    "where": 20,
}
_WIDE: Final = 98
_PICTURE: Final = "picture"
_BEHIND: Final = "question"
"""The column behind which the pictures stand."""
_PX_A_CHARACTER: Final = 7.0
"""Width of a column's unit in the usual font at the usual zoom (px)."""
_WORDS: Final = {
    "lead style": [style for style in LeadStyle if style is not LeadStyle.OTHER],
    "mounting": [*Mounting],
}
"""What can be chosen where no number is asked for."""


def render(report: Report) -> bytes:
    """Return a workbook with a row for each question and for each part of one, with choices and cells to fill in.

    What is asked of the board stands on a sheet of its own. Raises :class:`~capcheck.values.InputError` where a library
    for workbooks or for their pictures is not installed.
    """
    paper = customers_catalogue().paper
    rows = listed_rows(report)
    pictures = _pictures(report, rows)
    group, meaning, careful = paper["column group"], paper["column meaning"], paper["sheet cautions"]
    groups = [(group, meaning), *((paper[f"group {g}"], paper[f"meaning {g}"]) for g in GROUPS), ("", paper["guide"])]
    with Workbook() as book:
        book.name_choices(paper["sheet choices"])
        _fill_in(book, paper["sheet board"], [row for row in rows if not row.of_parts], pictures)
        if of_parts := [row for row in rows if row.of_parts]:
            _fill_in(book, paper["sheet parts"], of_parts, pictures)
        book.sheet(paper["sheet groups"], groups, {group: 40, meaning: 80}, wrap=True)
        book.sheet(careful, [(careful,), (paper["cautions"],)], {careful: _WIDE}, wrap=True)
    return book.content


def _pictures(report: Report, rows: Sequence[ListedRow]) -> dict[str, Picture]:
    """Return the picture of each row of the list that names parts with a place, by the row's key."""
    small, of, catalogue = Thumbnails.of(report.board), RowsOfSubjects(report.board).of_refs, customers_catalogue()
    found = {}
    for row in rows:
        placed = of(row.refs)
        if views := small.sides(placed):
            words = catalogue.comma.join(catalogue.words[str(view.side)] for view in views)
            found[row.cells["key"]] = Picture(small.png(placed), *size_of_png(views), words)
    return found


def _fill_in(book: Workbook, title: str, rows: Sequence[ListedRow], of_key: Mapping[str, Picture]) -> None:
    """Add a sheet of questions, in which what is to be filled in is framed and can be chosen from."""
    paper, words = customers_catalogue().paper, customers_catalogue().words
    drawn = [of_key.get(row.cells["key"]) for row in rows]
    columns = _with_pictures(columns_of(rows)) if any(drawn) else columns_of(rows)
    head, *texts = table_of(rows, columns)
    numbered = [tuple(int(text) if text.isdecimal() and not at else text for at, text in enumerate(r)) for r in texts]
    looks: dict[tuple[int, int], str] = {}
    choices: dict[tuple[int, int], Sequence[str]] = {}
    pictures: dict[tuple[int, int], Picture] = {}
    for at, (row, picture) in enumerate(zip(rows, drawn, strict=True), 1):
        for column, name in enumerate(columns):
            if name in row.figures:
                looks[at, column] = "asked"
            elif name in FILLED_IN:
                looks[at, column] = "fill in"
            elif row.of_parts and row.is_question:
                looks[at, column] = "heading"
            if name == "choice" and row.boxes:
                choices[at, column] = row.boxes
            if name in _WORDS and not row.is_question:
                choices[at, column] = [words[word] for word in _WORDS[name]]
            if name == _PICTURE and picture is not None:
                pictures[at, column] = picture
    widest = max((picture.width for picture in pictures.values()), default=0)
    wide = {**_WIDTHS, _PICTURE: round(widest / _PX_A_CHARACTER) + 2}
    widths = {paper[f"column {name}"]: wide.get(name, 12) for name in columns}
    hidden = {paper["column key"], paper["column asked"]}
    book.sheet(
        title,
        [head, *numbered],
        widths,
        hidden=hidden,
        wrap=True,
        looks=looks,
        choices=choices,
        pictures=pictures,
    )


def _with_pictures(columns: tuple[str, ...]) -> tuple[str, ...]:
    at = columns.index(_BEHIND) + 1
    return (*columns[:at], _PICTURE, *columns[at:])

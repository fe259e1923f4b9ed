"""What is filled in comes back as it was, whatever was done to the list on its way: nothing lost, nothing changed.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import csv
import datetime as dt
import io

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from openpyxl import load_workbook

from capcheck.answers import Answering, asked_now, read_filled_list, settle_answers
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.model import Basis, LeadStyle
from capcheck.packages import Key, LibraryFile, Statement, load_library, written
from capcheck.report import customers_languages, load_format
from capcheck.report.questions import FIGURES, FILLED_IN
from capcheck.values import Interval

DAY = dt.date(2030, 1, 2)
LANGUAGES = customers_languages()
LETTERS = st.characters(codec="utf-8", categories=("L", "N", "P", "S"))
WORDS = st.lists(st.text(LETTERS, min_size=1, max_size=12), min_size=1, max_size=3).map(" ".join)
ANSWERS = st.one_of(
    WORDS, st.sampled_from(["=1+1", "+4", "-", "@x", "'quoted", "1,5 mm", "see data sheet", "0402", "1e5"])
)


def as_workbook(report, language, answers, order, *, added):
    """Fill in the workbook by another library, which sorts, inserts, renames and saves it; return its bytes."""
    with customers_language(language):
        book = load_workbook(io.BytesIO(load_format("questions-xlsx").render(report)))
        paper = customers_catalogue().paper
    titles = {paper[f"column {name}"]: name for name in ("key", *FILLED_IN) if f"column {name}" in paper}
    for number, name in enumerate((paper["sheet board"], paper["sheet parts"])):
        if name not in book.sheetnames:
            continue
        sheet = book[name]
        head, *rows = [list(row) for row in sheet.iter_rows(values_only=True)]
        columns = {titles[title]: at for at, title in enumerate(head) if title in titles}
        for row in rows:
            for column, text in answers.get(row[columns["key"]], {}).items():
                row[columns[column]] = text
        rows = [rows[at % len(rows)] for at in order if at < len(rows)] if order else rows
        sheet.delete_rows(1, sheet.max_row)
        if added:
            sheet.append(["our own remarks", None])
        for row in ([*head, "buyer"] if added else head), *rows:
            sheet.append(row)
        sheet.title = f"Tabelle{number}"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def as_csv(report, language, answers, order, *, added):
    """Fill in the CSV, as a program with another delimiter saves it."""
    with customers_language(language):
        rows = list(csv.reader(io.StringIO(load_format("questions-csv").render(report))))
        paper = customers_catalogue().paper
    head, *rows = rows
    titles = {paper[f"column {name}"]: name for name in ("key", *FILLED_IN) if f"column {name}" in paper}
    columns = {titles[title]: at for at, title in enumerate(head) if title in titles}
    for row in rows:
        for column, text in answers.get(row[columns["key"]], {}).items():
            row[columns[column]] = text
    rows = [rows[at % len(rows)] for at in order if at < len(rows)] if order else rows
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if added else ",")
    writer.writerows([head, *rows])
    return out.getvalue().encode("utf-8-sig" if added else "utf-8")


@st.composite
def filled(draw, report):
    """Answers by key and column, only in cells that the list has."""
    asked = asked_now(report)
    figures = {name for one in asked.values() if one.part is not None for name in one.part.figures}
    every = {}
    for key, one in asked.items():
        columns = ["choice", "answer"] + ([*sorted(figures), "data sheet"] if one.question.rows else [])
        every[key] = draw(st.dictionaries(st.sampled_from(columns), ANSWERS, max_size=3))
    return {key: cells for key, cells in every.items() if cells}


@settings(max_examples=sample_size(40))
@given(data=st.data())
@pytest.mark.parametrize("form", [as_workbook, as_csv])
def test_every_answer_comes_back_as_it_was_written(demo, tmp_path, form, data):
    answers = data.draw(filled(demo))
    order = data.draw(st.permutations(range(len(asked_now(demo)))))
    content = form(demo, data.draw(st.sampled_from(LANGUAGES)), answers, order, added=data.draw(st.booleans()))
    path = tmp_path / "came-back.bin"
    path.write_bytes(content)
    back = read_filled_list(path)
    assert {row.key: dict(row.cells) for row in back.rows if row.is_filled} == answers
    asked = asked_now(demo)
    assert all(row.asked == asked[row.key].version for row in back.rows)
    assert back.without_key == ()


@settings(max_examples=sample_size(25))
@given(data=st.data())
def test_a_cut_list_answers_what_is_left_and_nothing_else(demo, tmp_path, data):
    answers = data.draw(filled(demo))
    left = data.draw(st.lists(st.integers(0, len(asked_now(demo)) - 1), min_size=1, unique=True))
    path = tmp_path / "cut.csv"
    path.write_bytes(as_csv(demo, "en", answers, left, added=False))
    back = read_filled_list(path)
    keys = {row.key for row in back.rows}
    assert len(keys) == len(left)
    assert {row.key: dict(row.cells) for row in back.rows if row.is_filled} == {
        key: cells for key, cells in answers.items() if key in keys
    }


@settings(max_examples=sample_size(40))
@given(data=st.data())
def test_an_answer_is_understood_the_same_in_each_language(demo, tmp_path, data):
    asked = asked_now(demo)
    key = data.draw(st.sampled_from([key for key, one in asked.items() if one.question.boxes]))
    box = data.draw(st.integers(0, len(asked[key].question.boxes) - 1))
    states = set()
    for language in LANGUAGES:
        with customers_language(language):
            text = asked_now(demo)[key].question.boxes[box]
        path = tmp_path / "answered.csv"
        path.write_bytes(as_csv(demo, language, {key: {"choice": text}}, [], added=False))
        (one,) = settle_answers(read_filled_list(path), demo, Answering("Ada Example", DAY))
        changed = tuple((edit.path, edit.value) for edit in one.edits)
        states.add((one.state, changed, one.closes, len(one.acceptances)))
    assert len(states) == 1


FIGURE = st.integers(1, 400_000).map(lambda n: n / 1000)
"""Thousandths of a millimetre: what a drawing can mean."""
INTERVALS = st.one_of(
    FIGURE.map(lambda v: Interval(v, v)),
    st.tuples(FIGURE, FIGURE).filter(lambda p: p[0] < p[1]).map(lambda p: Interval(*p)),
    FIGURE.map(Interval.at_most),
)
NAMES = st.text("ABCXYZ0123456789-/+. ", min_size=1, max_size=12).map(str.strip).filter(bool)
VALUES = st.dictionaries(
    st.sampled_from([name for name in FIGURES if name not in {"pins", "lead style", "mounting"}]), INTERVALS, min_size=1
)


@settings(max_examples=sample_size(80))
@given(
    figures=st.dictionaries(NAMES, VALUES, min_size=1, max_size=5),
    pins=st.integers(1, 2000),
    style=st.sampled_from([*LeadStyle]),
    head=st.sampled_from(["part number,height [mm]", "part number;length [inch];note", "note,part number,width", ""]),
)
def test_a_figure_is_looked_up_as_it_was_stated(tmp_path, figures, pins, style, head):
    path = tmp_path / "library.csv"
    path.unlink(missing_ok=True)
    if head:
        path.write_text(f"{head}\n")
    library = LibraryFile(path)
    folded = {Key(part_number=name).compared: name for name in figures}
    for name in folded.values():
        library.state(Statement(Key(part_number=name), {**figures[name], "pins": pins, "lead style": style}, "told"))
    path.write_bytes(library.content())
    read = {entry.key: entry.candidate for entry in load_library(path).entries}
    assert len(read) == len(folded)
    for name in folded.values():
        candidate = read[(*Key(part_number=name).compared[:1], "", "")]
        assert (candidate.pins, candidate.lead_style, candidate.basis) == (pins, style, Basis.LIBRARY)
        stated = dict(figures[name])
        if {"length", "width"} <= stated.keys():
            # The longer side is the length, whichever was called so.
            sides = sorted(stated.pop(side).high for side in ("length", "width"))
            assert sorted([candidate.length.high, candidate.width.high]) == pytest.approx(sides, abs=1e-9)
        for column, value in stated.items():
            got = getattr(candidate, column.replace(" ", "_"))
            assert got.low == pytest.approx(value.low, abs=1e-9)
            assert got.high == pytest.approx(value.high, abs=1e-9)
    assert all(
        c.kind == "same" for n in folded.values() for c in LibraryFile(path).changes(_again(n, figures, pins, style))
    )


def _again(name, figures, pins, style):
    return Statement(Key(part_number=name), {**figures[name], "pins": pins, "lead style": style}, "told")


@given(INTERVALS)
def test_no_figure_is_written_as_two(value):
    assert written(value) == written(Interval(value.low, value.high))

"""Every box of every type of question, in every language: the answer comes back as what the table of effects says.

Figures: invented, as the values of the questions are.
"""

import datetime as dt
import tomllib

import pytest

from capcheck.answers import Answering, FilledList, FilledRow, State, effects, settle_answers, with_entries
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.model import Manifest, Severity
from capcheck.report import Question, customers_languages
from capcheck.values import Place

DAY = dt.date(2030, 1, 2)
REFS = ("R1", "R2", "R3")
VALUES = {
    "title": "assembled",
    "other_title": "variant B",
    "unit": "mm",
    "other_unit": "mil",
    "mark": ".",
    "opposite_mark": ",",
    "dx": 1.25,
    "dy": -2.0,
    "drawn": 1.6,
    "stated": 1.0,
    "x": "Centre X",
    "y": "Centre Y",
    "chosen": "a.csv",
    "other": "b.csv",
    "first": "a.csv",
    "second": "b.csv",
    "other_x": 50.0,
    "other_y": 40.0,
    "circuits": 4,
    "ratio": 5.0,
    "text": "12.5",
    "measured": 12.7,
    "n": 3,
    "kinds": 1,
    "taken": "MPN",
    "others": "MPN 2",
}
SETTLE = {
    "which-file": 'bom = "a.csv"',
    "outline-contour": 'outline = "a.dxf"',
    "outline-unit": 'outline = { file = "a.dxf", unit = "mm" }',
}
STATES = {
    "noted": State.NOTED,
    "holds": State.HOLDS,
    "waits": State.WAITS,
    "settle": State.WRITTEN,
    "settle other": State.WRITTEN,
    "write": State.WRITTEN,
    "accept": State.NOTED,  # nothing on this board is there to be accepted
}


def question(type_):
    """Return a question of a type as it is asked in the language in force."""
    catalogue = customers_catalogue()
    # A contour is given by its sides, columns by their titles.
    sides = {"x": 60.0, "y": 45.0} if type_ == "outline-contour" else {}
    values = {**VALUES, **sides}
    wording = catalogue.questions[type_]
    boxes = [catalogue.filled(box, values) for box in wording.boxes]
    there = {number: box for number, box in enumerate(boxes) if box}
    return Question(
        type_,
        Severity.ASSUMED,
        "",
        tuple(there.values()),
        "",
        REFS,
        type=type_,
        asked="abc",
        numbers=tuple(there),
        values=values,
        every=REFS,
        settle=SETTLE.get(type_, ""),
    )


def blank_of(effect, box):
    """Return what a customer writes into the blanks of a box."""
    if effect.of != "all":
        return ("R2",)
    if any("units" in key for key in effect.board):
        return ("inch",)
    return ("1.2 mm",) if box.count("___") == 1 and "thickness" in effect.board else ("50 mm", "40 mm")


@pytest.mark.parametrize("type_", sorted(effects()))
def test_each_box_does_what_the_table_says_in_each_language(type_, demo, monkeypatch):
    for module in ("settling", "boxes"):
        monkeypatch.setattr(f"capcheck.answers.{module}.questions_by_key", lambda _: {type_: question(type_)})
    told = {}
    for language in customers_languages():
        with customers_language(language):
            asked = question(type_)
        for number, box in zip(asked.numbers, asked.boxes, strict=True):
            effect, text = effects()[type_][number], box
            for written in blank_of(effect, box):
                text = text.replace("___", written, 1)
            row = FilledRow(type_, "abc", Place("filled.csv", 2), {"choice": text}, {})
            (one,) = settle_answers(FilledList((row,)), demo, Answering("Ada Example", DAY))
            assert one.state is STATES[effect.does], (language, box, one.doubts)
            assert one.closes == (one.state is not State.WAITS)
            changed, entries = with_entries("", one.edits)
            Manifest.model_validate(tomllib.loads(changed))
            assert len(entries) == len(one.edits)
            assert (effect.does in {"write", "settle", "settle other"}) <= bool(
                one.edits or one.statements or effect.body
            )
            assert with_entries(changed, one.edits) == (changed, []), "a second time changes nothing"
            told.setdefault(number, set()).add((one.state, tuple((e.path, e.value) for e in one.edits)))
    assert all(len(answers) == 1 for answers in told.values()), "in each language the same"
    for number, ((_, edits),) in told.items():
        lists = {"fitted", "not_fitted", "provided", "bought"}
        stated = [ref for path, value in edits if path[0] in lists for ref in value]
        assert len(stated) == len(set(stated)), "no part is fitted and not, provided and bought"
        if effects()[type_][number].rest:
            assert sorted(stated) == list(REFS)

"""What is counted on a board on which it is open whether a row is a part, or on which side one lies.

Figures: boards and limits are invented.
"""

from __future__ import annotations

import pytest

from capcheck.checking.answer import Choice, check

HEAD = "Ref,Value,Footprint,Length (mm),Width (mm),Height (mm),X (mm),Y (mm),Rotation,Side\n"
SURE = "U1,a,F1,5,5,1,10,10,0,top\nU2,b,F2,5,5,1,20,10,0,top\n"
DOUBTED = "X1,,graphic,5,5,1,26,10,0,top\n"
TOML = 'units = "mm"\nmounting = { "*" = "surface" }\n'


@pytest.fixture
def asked(tmp_path):
    """Return a function that gives the outcome of a rule that requires *text* of a board with these rows."""

    def ask(rows, text, *, subject="board", toml=TOML):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        (folder / "p.csv").write_text(HEAD + rows)
        (folder / "board.toml").write_text(toml)
        words = dict.fromkeys(("title", "message", "why", "remedy", "basis"), "as it says")
        rule = {"id": "own", "subject": subject, "require": text, **words}
        report = check(folder, choice=Choice(made=[rule], select=["own"]))
        told = {f.subject.side: "undecided" if f.undecided else f.outcome for f in report.findings}
        return told if subject == "side" else next(iter(told.values()), "pass")

    return ask


@pytest.mark.parametrize(
    ("text", "sure", "with_one_doubted"),
    [
        ("count(part) == 2", "pass", "undecided"),
        ("count(part) >= 3", "fail", "undecided"),
        ("count(pair, where pair.gap <= '1 mm') >= 1", "fail", "undecided"),
        ("any(pair.gap <= '1 mm')", "fail", "undecided"),
        ("all(pair.gap > '1 mm')", "pass", "undecided"),
        ("least(pair.gap, where pair.gap <= '2 mm') <= '1 mm'", "fail", "undecided"),
        ("board.placements == 2", "pass", "undecided"),
        ("board.placements >= 3", "fail", "undecided"),
    ],
)
def test_what_may_be_no_part_is_not_counted_as_one_nor_left_out(asked, text, sure, with_one_doubted):
    assert asked(SURE, text) == sure
    assert asked(SURE + DOUBTED, text) == with_one_doubted


@pytest.mark.parametrize(
    ("text", "on_the_surface", "drilled"),
    [
        ("count(pair, where pair.gap <= '1 mm') >= 1", "pass", "fail"),
        ("count(pair, where pair.gap <= '1 mm') == 0", "fail", "pass"),
        ("any(pair.gap <= '1 mm')", "pass", "fail"),
        ("all(pair.gap > '1 mm')", "fail", "pass"),
        ("least(pair.gap) <= '1 mm'", "pass", "fail"),
        ("count(part) == 3", "pass", "pass"),
    ],
)
def test_a_body_of_which_it_is_open_whether_it_is_on_the_surface_makes_no_sure_pair(
    asked, text, on_the_surface, drilled
):
    rows = SURE + "A3,c,F3,5,5,1,25.5,10,0,top\n"
    of_the_others = 'units = "mm"\nmounting = { "U*" = "surface" }\n'
    assert asked(rows, text) == on_the_surface
    known = of_the_others.replace("}", ', A3 = "through hole" }')
    assert asked(rows, text, toml=known) == drilled
    expected = on_the_surface if on_the_surface == drilled else "undecided"
    assert asked(rows, text, toml=of_the_others) == expected


def test_a_side_on_which_only_what_may_be_no_part_lies_may_be_bare(asked):
    below = DOUBTED.replace("top", "bottom")
    assert asked(SURE, "not side.populated", subject="side") == {"top": "fail"}
    assert asked(SURE + below, "not side.populated", subject="side") == {"top": "fail", "bottom": "undecided"}
    assert asked(SURE + below, "side.placements == 0", subject="side") == {"top": "fail", "bottom": "undecided"}
    assert asked(SURE + below, "board.populated_sides == 1") == "undecided"


def test_parts_whose_side_is_open_count_as_those_of_either(asked):
    rows = SURE + "U3,c,F3,5,5,1,40,10,0,\n"
    assert asked(rows, "side.placements <= 2", subject="side") == {"top": "undecided"}
    assert asked(rows, "side.placements == 0", subject="side") == {"top": "fail", "bottom": "undecided"}

"""What a customer is asked: one question a cause, with a key that stays, in words that he knows.

Figures: boards and sizes are invented.
"""

import csv
import io
import re

import pytest

from capcheck.checking import check
from capcheck.lexicon import customers_language
from capcheck.model import Severity
from capcheck.report import load_format
from capcheck.report.questions import GROUPS, outlook_of_questions, questions
from capcheck.shop.settings import Choice

HEAD = "Ref,X,Y,Rotation,Layer,Value,Footprint"
BOM = "Designator,Qty,Part number,Value"


@pytest.fixture
def asked(tmp_path, shop):
    """Return a function that checks placements and BOM and gives the questions by key."""

    def ask(rows, bom=(), *, toml="", listed=BOM):
        (tmp_path / "placements.csv").write_text("\n".join([HEAD, *rows, ""]), encoding="utf-8")
        if bom:
            (tmp_path / "bom.csv").write_text("\n".join([listed, *bom, ""]), encoding="utf-8")
        if toml:
            (tmp_path / "board.toml").write_text(toml, encoding="utf-8")
        report = check(tmp_path, line=shop / "lines" / "full.line.toml")
        every, outlook = questions(report), outlook_of_questions(report)
        assert outlook.count == len(every)
        assert outlook.blocking == sum(question.group is GROUPS[0] for question in every)
        assert list(outlook.first) == every[: min(3, outlook.blocking)]
        return {question.key: question for question in questions(report)}

    return ask


ROWS = ["R1,10,10,0,top,10k,0805", "R2,14,10,0,top,10k,0805", "U1,30,20,90,top,W-7,SOIC-8"]


def test_a_size_in_doubt_is_asked_only_where_a_check_waits_for_it(asked):
    # SOT-23 is 2.9 × 1.3 mm and SC-59 2.9 × 1.5 to 1.7 mm (JEDEC TO-236, JEITA SC-59A): heads of this line take both.
    found = asked(["Q1,10,10,0,top,W-8,SOT-23-3", *ROWS])
    assert "Q1" not in {ref for row in getattr(found.get("body-size"), "rows", ()) for ref in row.refs}


@pytest.mark.parametrize(
    ("row", "line", "key"),
    [
        ("TP1,50,20,0,top,,free_pin", ["TP1,1,W-9,"], "part-or-feature"),
        ("H1,50,20,0,top,B0,free_pin", [], "not-in-bom"),
    ],
)
def test_whether_there_is_a_part_is_asked_before_anything_about_it(asked, row, line, key):
    found = asked([*ROWS, row], ["R1,1,W-1,10k", "R2,1,W-1,10k", "U1,1,W-7,", *line])
    ref = row.partition(",")[0]
    every = {name: {ref for row in q.rows for ref in row.every} | set(q.every) for name, q in found.items()}
    assert [name for name, refs in every.items() if ref in refs] == [key]


def test_a_land_that_takes_no_part_is_not_asked_for_its_part_number(asked):
    found = asked([*ROWS, "P1,50,20,0,top,,POGO_LANDPAD"], ["R1,1,W-1,10k", "U1,1,W-7,"])
    assert [ref for row in found["not-in-bom"].rows for ref in row.refs] == ["R2"]


def test_pin_one_is_asked_and_what_is_done_until_then_is_told(asked):
    question = asked(ROWS)["pin-one"]
    assert question.refs == ("U1",)
    assert question.group is Severity.ASSUMED
    assert "1 part" in question.otherwise or "one part" in question.otherwise
    assert len(question.boxes) > 2


def test_designators_are_told_in_ranges_and_none_is_left_out(asked):
    rows = [f"U{n},{10 + 9 * n},10,0,top,W-7,SOIC-8" for n in (*range(1, 13), 14)]
    assert asked(rows)["pin-one"].refs == ("U1–U12", "U14")


def test_parts_of_one_number_are_one_row_with_a_key_of_its_own(asked):
    rows = [*ROWS, *(f"X{n},{40 + 9 * n},30,0,top,W-9,SPECIAL-{n % 2}" for n in range(4))]
    bom = ['"R1,R2",2,W-1,10k', "U1,1,W-7,", '"X0,X1,X2,X3",4,W-9,']
    body = asked(rows, bom)["body-size"]
    (row,) = (row for row in body.rows if row.name == "W-9")
    assert row.refs == ("X0–X3",)
    assert row.key.startswith("body-size:")


def test_a_key_stays_when_other_parts_come_and_rows_change_places(asked):
    first = asked(ROWS, ["R1,1,W-1,10k"])
    rows = {row.key for row in first["not-in-bom"].rows}
    again = asked([*reversed(ROWS), "C9,60,60,0,top,1u,0603"], ["R1,1,W-1,10k"])
    assert rows <= {row.key for row in again["not-in-bom"].rows}


def test_two_parts_at_one_place_are_asked_once_and_not_as_an_overlap_too(asked):
    found = asked([*ROWS, "R3,14,10,0,top,22k,0805"])
    assert [(row.name, row.refs) for row in found["one-spot"].rows] == [("R2", ("R3",))]
    assert "overlap" not in found


def test_an_overlap_with_a_third_part_stays(asked):
    found = asked([*ROWS, "R3,14,10,0,top,22k,0805", "R4,14.6,10,0,top,22k,0805"])
    pairs = {frozenset((row.name, ref)) for row in found["overlap"].rows for ref in row.refs}
    assert frozenset(("R2", "R3")) not in pairs
    assert any("R4" in pair for pair in pairs)


def test_circuits_of_a_panel_are_nothing_to_the_customer(asked):
    toml = 'length = "100 mm"\nwidth = "80 mm"\n[panel]\ncolumns = 2\nrows = 2\n'
    for question in asked(ROWS, ["R1,1,W-1,10k"], toml=toml).values():
        for ref in (*question.refs, *(ref for row in question.rows for ref in row.refs)):
            assert "/" not in ref


def test_a_stroke_in_a_designator_of_the_customer_s_own_is_no_circuit(asked):
    found = asked([*ROWS, "R1/2,18,10,0,top,10k,0805"], ["R1,1,W-1,10k"])
    assert "R1/2" in [ref for row in found["not-in-bom"].rows for ref in row.every]


def test_a_guess_waits_for_the_answer_whatever_is_assumed(asked):
    # 1 and 2 as they stand may be mm or inch: the choice is a guess.
    found = asked(["R1,1,1,0,top,10k,", "R2,2,1,0,top,10k,"])
    question = next(q for key, q in found.items() if key.startswith("coordinate-unit"))
    assert question.group is Severity.STOP
    assert "wait" in question.otherwise


@pytest.mark.rows("board", ["irrigation-controller", "flow-sensor", "light-strip"])
@pytest.mark.rows("line", ["full", "chip"])
def test_no_list_names_a_rule_a_fact_a_file_key_or_a_machine(shop, board, line):
    report = check(shop / board, line=shop / "lines" / f"{line}.line.toml")
    own = {rule.id for rule in report.answers.rules} | {m.name for m in report.line.machines}
    own |= {fact for rule in report.answers.rules for fact in rule.facts} | {"board.toml"}
    for question in questions(report):
        words = " ".join([question.ask, *question.boxes, question.otherwise, *(row.detail for row in question.rows)])
        assert not [name for name in own if re.search(rf"\b{re.escape(name)}\b", words)]


def test_what_fails_is_asked_or_is_the_shops_own_matter(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "chip.line.toml")
    failing = {f.rule for f in report.findings if f.outcome == "fail" and not f.undecided}
    assert "part-height" in failing
    found = {question.key: question for question in questions(report)}
    assert any("L3" in row.refs for row in found["not-placeable"].rows)


def test_what_is_waived_is_not_asked(shop, tmp_path):
    config = tmp_path / "capcheck.toml"
    waiver = '[[waiver]]\nrule = "part-*"\nreason = "tried"\nwho = "us"\nuntil = 9999-01-01\n'
    config.write_text(waiver, encoding="utf-8")
    line = shop / "lines" / "chip.line.toml"
    before = {q.key: q for q in questions(check(shop / "irrigation-controller", line=line))}
    after = {q.key: q for q in questions(check(shop / "irrigation-controller", line=line, config=config))}
    rows = {row.key for row in before["not-placeable"].rows}
    assert rows > {row.key for q in after.values() for row in q.rows if q.key == "not-placeable"}


def test_keys_are_the_same_in_every_language(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")
    english = questions(report)
    for language in ("de", "ja"):
        with customers_language(language):
            told = questions(report)
        assert [q.key for q in told] == [q.key for q in english]
        assert [[row.key for row in q.rows] for q in told] == [[row.key for row in q.rows] for q in english]
        assert all(a.ask != b.ask for a, b in zip(told, english, strict=True))


@pytest.mark.parametrize(("language", "said"), [("en", "How thick"), ("de", "Wie dick"), ("ja", "板厚")])
def test_the_command_asks_in_the_language_that_is_named(run, shop, language, said):
    line = shop / "lines" / "full.line.toml"
    for form in ("questions", "mail", "questions-csv", "html"):
        code, out, _ = run("check", shop / "flow-sensor", "--line", line, "--format", form, "--language", language)
        assert code == 0
        assert said in out


def test_a_mail_has_no_markup_and_its_subject_first(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")
    first, *lines = load_format("mail").render(report).splitlines()
    assert report.board.name in first
    assert not [line for line in lines if re.search(r"\*\*|\\[_#.*]|^#", line)]


def test_the_table_has_a_key_in_every_row(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")
    rows = list(csv.DictReader(io.StringIO(load_format("questions-csv").render(report))))
    keys = [row["key"] for row in rows]
    assert all(keys)
    assert len(set(keys)) == len(keys)


def test_two_files_that_differ_are_one_question(tmp_path, shop):
    rows = [f"R{n},{5 * n},10,0,top,10k,0805" for n in range(1, 9)]
    (tmp_path / "a.csv").write_text("\n".join([HEAD, *rows, ""]), encoding="utf-8")
    (tmp_path / "b.csv").write_text("\n".join([HEAD, *rows[:-1], "R8,60,40,0,top,10k,0805", ""]), encoding="utf-8")
    found = questions(check(tmp_path, line=shop / "lines" / "full.line.toml"))
    of_files = [q for q in found if q.key.startswith(("which-file", "lists-differ"))]
    assert len(of_files) == 1
    assert str(tmp_path) not in " ".join([of_files[0].ask, *of_files[0].boxes])


def test_a_part_that_a_remark_leaves_off_is_asked(asked):
    bom = ["R1,10k,W-1,yes", "R2,10k DNF,W-2,", "U1,,W-7,yes"]
    found = asked(ROWS, bom, listed="References,Value,Part number,Fitted")
    assert found["fitted-by-word"].refs == ("R2",)


def test_parts_without_a_line_are_asked_for_once(asked):
    found = asked([*ROWS, "X1,50,50,0,top,,"], ['"R1,R2",2,W-1,10k', "U1,1,W-7,"])
    about = [key for key, q in found.items() if "X1" in q.refs or any("X1" in (r.name, *r.refs) for r in q.rows)]
    assert about == ["not-in-bom"]


@pytest.mark.parametrize("ask", ["", "W-7 is sold no more. May we take another part?"])
def test_a_shops_own_rule_is_asked_in_words_meant_for_customers_or_not_at_all(tmp_path, shop, ask):
    """A headline speaks to the shop, of its customers, prices or people perhaps: it leaves the house in no list."""
    rule = f"""
[[rule]]
id = "shop-no-w7"
title = "We build no W-7"
subject = "part"
require = "part.height > limits.most"
outcome = "fail"
message = "{{part.ref}}: height {{part.height}}"
why = "w"
remedy = "r"
basis = "tried"
ask = "{ask}"
limits = {{ most = "99 mm" }}
"""
    (tmp_path / "shop.toml").write_text(rule, encoding="utf-8")
    choice = Choice(folders=[tmp_path])
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml", choice=choice)
    assert not [q for q in questions(report) if "We build no W-7" in q.ask]
    found = [q for q in questions(report) if q.key.startswith("other-")]
    if not ask:
        assert not found
        return
    (question,) = found
    assert ask in question.ask
    assert question.group is Severity.STOP
    assert len(question.refs) > 1


def test_two_numbers_in_one_cell_are_asked_as_such_and_not_as_damaged_by_a_spreadsheet(asked):
    found = asked(ROWS, ['"R1,R2",2,W-10K-0805,10k', "U1,1,W-70001-A or W-80002-B,"])
    assert "damaged-text" not in found
    (row,) = found["number-in-question"].rows
    assert row.every == ("U1",)
    assert "more than one part number" in found["number-in-question"].ask


def test_a_waiver_that_nobody_needs_is_no_question_to_the_customer(shop, tmp_path):
    config = tmp_path / "capcheck.toml"
    waivers = [("part-height", "9999-01-01"), ("part-mass", "2000-01-01")]
    text = '[[waiver]]\nrule = "{}"\npart = "X99"\nreason = "tried"\nwho = "us"\nuntil = {}\n'
    config.write_text("".join(text.format(*one) for one in waivers), encoding="utf-8")
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml", config=config)
    assert {"waiver-unused", "waiver-expired"} <= {finding.rule for finding in report.findings}
    assert not [q.key for q in questions(report) if q.type == "other"]


def test_how_a_part_is_mounted_is_asked_beside_its_size(asked):
    found = asked([*ROWS, "X1,50,50,0,top,W-9,OWN-1"], ["R1,1,W-1,10k", "U1,1,W-7,", "X1,1,W-9,", "R2,1,W-1,10k"])
    (row,) = (row for row in found["body-size"].rows if row.name == "W-9")
    assert {"length", "width", "height", "mounting"} <= set(row.figures)
    assert "mounting" not in found

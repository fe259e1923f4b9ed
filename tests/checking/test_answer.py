"""The main job, from files to a report.

Figures: files and bodies are invented, sums by hand; sizes of codes and outlines are in capcheck/packages/data/*.csv,
with their sources.
"""

import json

import ezdxf
import pytest

from capcheck.checking.answer import Choice, check
from capcheck.checking.read import read_board
from capcheck.lexicon import sentence
from capcheck.report.formats import json as json_format

MOUNTER = """\
name = "Mounter"
[board]
min_length = "50 mm"
max_length = "700 mm"
min_width = "50 mm"
max_width = "460 mm"
[[head]]
name = "head"
smallest_chip = "0402M"
max_body_length = "100 mm"
max_body_width = "45 mm"
max_part_height = "15 mm"
"""
"""Limits of a mounter for odd parts: common practice, no source."""

BOM = "Refs,Part number,Length [mm],Width [mm],Height [mm]"


def outcomes(report, rule):
    return {(f.subject.ref, f.outcome, f.undecided) for f in report.findings if f.rule == rule}


@pytest.mark.parametrize(
    ("size", "broken"),
    [
        (("100", "45", "15"), set()),
        (("100.1", "45", "15"), {"largest-body"}),
        (("100", "45.1", "15"), {"largest-body"}),
        (("100", "45", "15.1"), {"part-height"}),
    ],
)
def test_a_part_on_the_limits_passes_and_one_step_past_fails(make_board, make_line, size, broken):
    """45 × 100 mm parts of up to 15 mm: common practice, no source."""
    board = make_board(
        ["J1,10,10,0,top,,special"], bom=[BOM, f"J1,P-1,{','.join(size)}"], toml='mounting = { J1 = "surface" }'
    )
    report = check(board, line=make_line(MOUNTER), choice=Choice(select=["largest-body", "part-height"]))
    assert {f.rule for f in report.findings if f.outcome == "fail"} == broken
    assert report.verdict == ("fail" if broken else "pass")
    assert report.exit_code == (1 if broken else 0)


# IPC-7351B: 0.4 x 0.2 mm. A limit by code: common practice, no source. 0302 is invented.
@pytest.mark.parametrize(("footprint", "passes"), [("CAPC0402X20N", True), ("CAPC0302X20N", False)])
def test_the_smallest_chip_is_compared_by_its_nominal_size(make_board, make_line, footprint, passes):
    """Metric 0402 is taken although the body may be 0.35 mm: the trade quotes the limit by code."""
    board = make_board([f"C1,10,10,0,top,,{footprint}"])
    report = check(board, line=make_line(MOUNTER), choice=Choice(select=["smallest-chip"]))
    assert (not report.findings) == passes


@pytest.mark.parametrize(
    ("length", "width", "broken"),
    [
        ("700 mm", "460 mm", set()),
        ("460 mm", "700 mm", set()),  # turned, it is the same board
        ("700.1 mm", "460 mm", {"board-length"}),
        ("700 mm", "460.1 mm", {"board-width"}),
        ("50 mm", "50 mm", set()),
        ("49.9 mm", "50 mm", {"board-width"}),
    ],
)
def test_a_board_on_the_limits_passes_and_one_step_past_fails(make_board, make_line, length, width, broken):
    """Boards of up to 700 × 460 mm: common practice, no source."""
    board = make_board(["R1,10,10,0,top,,PART-1"], toml=f'length = "{length}"\nwidth = "{width}"')
    report = check(board, line=make_line(MOUNTER), choice=Choice(select=["board-length", "board-width"]))
    assert {f.rule for f in report.findings} == broken


SMALL = '[[head]]\nname = "low"\nmax_part_height = "3 mm"\nmax_body_length = "5 mm"\nmax_body_width = "5 mm"\n'
TALL = '[[head]]\nname = "tall"\nmax_part_height = "20 mm"\nmax_body_length = "50 mm"\nmax_body_width = "50 mm"\n'
CHOICE = Choice(select=["largest-body", "part-height"])


def test_a_line_takes_a_part_if_one_head_does(make_board, make_line):
    board = make_board(["J1,10,10,0,top,,s"], bom=[BOM, "J1,P,30,30,18"], toml='mounting = { J1 = "surface" }')
    line = make_line(f'name = "A"\n{SMALL}', f'name = "B"\n{TALL}')
    report = check(board, line=line, choice=CHOICE)
    assert report.findings == []
    assert report.part_results()[0].taken_by == ("B/tall",)


def test_a_part_that_no_head_takes_is_reported_on_the_head_that_comes_closest(make_board, make_line):
    board = make_board(["J1,10,10,0,top,,s"], bom=[BOM, "J1,P,30,30,21"], toml='mounting = { J1 = "surface" }')
    line = make_line(f'name = "A"\n{SMALL}', f'name = "B"\n{TALL}')
    (finding,) = check(board, line=line, choice=CHOICE).findings
    assert (finding.rule, str(finding.subject)) == ("part-height", "J1 on B / tall")
    assert finding.margin is not None
    assert finding.margin.high == -1.0
    assert finding.message == "J1: 21 mm tall; tall can place up to 20 mm"
    assert {v.name: v.source for v in finding.facts}["part.height"].endswith(
        "bom.csv:2 Height [mm]"
    ) or "bom.csv:2" in {v.name: v.source for v in finding.facts}["part.height"]


def test_two_heads_that_each_break_another_rule_take_nothing_together(make_board, make_line):
    wide_low = (
        '[[head]]\nname = "wide"\nmax_part_height = "3 mm"\nmax_body_length = "50 mm"\nmax_body_width = "50 mm"\n'
    )
    narrow_high = (
        '[[head]]\nname = "high"\nmax_part_height = "30 mm"\nmax_body_length = "5 mm"\nmax_body_width = "5 mm"\n'
    )
    board = make_board(["J1,10,10,0,top,,s"], bom=[BOM, "J1,P,30,30,18"], toml='mounting = { J1 = "surface" }')
    report = check(board, line=make_line(f'name = "A"\n{wide_low}{narrow_high}'), choice=CHOICE)
    assert report.verdict == "fail"
    assert report.part_results()[0].taken_by == ()


def test_what_is_unknown_is_never_a_pass(make_board, make_line):
    board = make_board(["J1,10,10,0,top,,mystery"], toml='mounting = { J1 = "surface" }')
    report = check(board, line=make_line(f'name = "B"\n{TALL}'), choice=CHOICE)
    assert report.verdict == "warn"
    assert report.exit_code == 0
    assert all(f.undecided for f in report.findings)
    assert {name for f in report.findings for name in f.missing} == {"part.height", "part.length", "part.width"}
    strict = check(board, line=make_line(f'name = "B"\n{TALL}'), choice=CHOICE, strict=True)
    assert strict.exit_code == 1


def test_a_limit_that_the_profile_leaves_out_is_unknown(make_board, make_line):
    board = make_board(["J1,10,10,0,top,,s"], bom=[BOM, "J1,P,3,3,1"], toml='mounting = { J1 = "surface" }')
    report = check(board, line=make_line('name = "A"\n[[head]]\nname = "h"\n'), choice=CHOICE)
    assert {f.rule for f in report.findings if f.undecided} == {"largest-body", "part-height"}


# IPC-7351B: 1.6 x 0.8 mm, 0.9 mm high.
def test_a_limit_that_the_profile_leaves_out_is_not_asked_of_the_part(make_board, make_line):
    board = make_board(["C1,10,10,0,top,1u,CAPC1608X90N"])
    report = check(board, line=make_line('name = "A"\n[[head]]\nname = "h"\n'), choice=CHOICE)
    assert {name for f in report.findings for name in f.missing} == {
        "head.max_body_length",
        "head.max_body_width",
        "head.max_part_height",
    }


def test_a_board_must_pass_through_every_machine(make_board, make_line):
    small = 'name = "Small"\n[board]\nmin_length = "1 mm"\nmax_length = "100 mm"\n[[head]]\nname = "h"\n'
    board = make_board(["R1,10,10,0,top,,PART-1"], toml='length = "200 mm"\nwidth = "150 mm"')
    report = check(board, line=make_line(MOUNTER, small), choice=Choice(select=["board-length"]))
    assert [(f.subject.machine, f.outcome) for f in report.findings] == [("Small", "fail")]


def test_parts_with_leads_through_holes_are_not_for_the_heads(make_board, make_line):
    board = make_board(["J1,10,10,0,top,,DIP-8"], toml='mounting = { J1 = "through hole" }')
    report = check(board, line=make_line(f'name = "A"\n{SMALL}', extra="hand_placement = false\n"))
    assert report.part_results()[0].taken_by == ()
    assert ("hand-placement", "warn") in {(f.rule, f.outcome) for f in report.findings}
    assert "part-height" not in {f.rule for f in report.findings}


def test_a_missing_line_or_outline_is_one_note(make_board):
    report = check(make_board(["R1,10,10,0,top,,PART-1"]))
    messages = [sentence(n.said) for n in report.notes if sentence(n.said).startswith("no ")]
    assert len([m for m in messages if m.startswith("no line was given") and "part-height" in m]) == 1
    assert not any(f.rule == "part-height" for f in report.findings)


def test_a_side_with_parts_needs_two_fiducials(make_board):
    """SMEMA 3.1: at least two global marks on each populated side."""
    marks = ["FID1,1,1,0,top,,fiducial", "FID2,90,40,0,top,,fiducial", "FID3,1,1,0,bottom,,fiducial"]
    parts = ["R1,10,10,0,top,,R0805", "R2,20,10,0,bottom,,R0805"]
    report = check(make_board([*parts, *marks]), choice=Choice(select=["fiducial-count"]))
    assert [(f.subject.side, f.outcome) for f in report.findings] == [("bottom", "fail")]


# IPC-7351B: 1.6 x 0.8 mm, 0.9 mm high.
def test_only_the_facts_of_the_chosen_rules_are_worked_out_and_each_once(make_board, make_line):
    board = make_board(["C1,10,10,0,top,,CAPC1608X90N"])
    report = check(board, line=make_line(MOUNTER), choice=Choice(select=["part-height"]))
    facts = {name: n for name, n in report.session.calls.items() if "." in name and not name.startswith("capcheck.")}
    asked_before_any_report = {"part.for_heads", "part.height", "head.max_part_height", "part.ref", "head.name"}
    assert asked_before_any_report <= set(facts)
    assert not {"part.pitch", "board.mass", "transport.length", "machine.max_board_length"} & set(facts)
    assert set(facts.values()) == {1}


def test_the_tightest_margin_names_its_part(make_board, make_line):
    board = make_board(
        ["C1,10,10,0,top,,s", "C2,30,10,0,top,,s"],
        bom=[BOM, "C1,P,3,3,14", "C2,Q,3,3,9"],
        toml='mounting = { "C*" = "surface" }',
    )
    report = check(board, line=make_line(MOUNTER), choice=Choice(select=["part-height"]))
    (tight,) = report.answers.tightest
    assert (tight.subject.ref, tight.margin.low) == ("C1", 1.0)


# IPC-7351B: 1.6 x 0.8 mm, 0.9 mm high.
def test_a_rule_that_raises_is_named_and_the_others_go_on(make_board, make_line):
    from capcheck.facts import FACTS

    catalogue = FACTS.copy()

    def broken():
        raise RuntimeError("the scale is off")

    fact = FACTS["part.height"]
    catalogue._facts["part.height"] = type(fact)(fact.name, fact.kind, fact.dimension, fact.help, broken)
    board = make_board(["C1,10,10,0,top,,CAPC1608X90N"])
    choice = Choice(select=["part-height", "smallest-chip"], catalogue=catalogue)
    report = check(board, line=make_line(MOUNTER), choice=choice)
    assert report.exit_code == 2
    assert any(
        '"part-height" could not be answered: RuntimeError: the scale is off' in sentence(n.said) for n in report.notes
    )
    assert report.answers.counts["smallest-chip"].passed == 1


@pytest.mark.parametrize("line", ["mixed", "chip", "full"])
def test_two_runs_on_the_demo_give_the_same_bytes(shop, line):
    def run():
        return json_format.render(check(shop / "irrigation-controller", line=shop / "lines" / f"{line}.line.toml"))

    assert run() == run()


def test_the_demo_shows_every_outcome_for_natural_reasons(shop):
    def run(line):
        return check(shop / "irrigation-controller", line=shop / "lines" / f"{line}.line.toml")

    mixed, chip, full = run("mixed"), run("chip"), run("full")
    assert mixed.verdict == "warn"
    assert mixed.totals.undecided
    assert chip.verdict == "fail"
    assert ("J14", "fail", False) in outcomes(chip, "part-height")
    assert ("U5", "fail", False) in outcomes(chip, "ball-recognition")
    assert not outcomes(full, "part-height") & {("J14", "fail", False)}
    assert full.totals.undecided < mixed.totals.undecided + 1
    assert all(r.totals.passed > 500 for r in (mixed, chip, full))


def test_the_json_keeps_the_contract(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "mixed.line.toml")
    data = json.loads(json_format.render(report))
    assert data["schema"] == "capcheck-report/1"
    assert data["verdict"] in {"pass", "warn", "fail"}
    assert set(data["counts"]) >= {"pass", "warn", "fail", "undecided", "waived"}
    assert data["board"]["placements"] == len(data["parts"]) == 273
    assert {i["role"] for i in data["inputs"]} >= {"placements", "bom", "outline", "machine", "line"}
    assert all(len(i["sha256"]) == 64 for i in data["inputs"])
    part = data["parts"][0]
    keys = {
        "ref",
        "kind",
        "side",
        "x_mm",
        "y_mm",
        "rotation_deg",
        "fitted",
        "part_number",
        "value",
        "footprint",
        "lead_style",
        "pins",
        "pitch_mm",
        "body_mm",
        "body_from",
        "outcome",
        "taken_by",
    }
    assert keys <= set(part)
    assert set(part["body_mm"]) == {"length", "width", "height"}
    finding = data["findings"][0]
    keys = {"rule", "outcome", "undecided", "waived", "subject", "facts", "margin", "message", "remedy", "file", "row"}
    assert keys <= set(finding)
    assert data["counts"]["warn"] == sum(f["outcome"] == "warn" for f in data["findings"])
    assert data["counts"]["undecided"] == sum(f["undecided"] for f in data["findings"])


@pytest.mark.parametrize(
    ("stated", "low", "high"), [("100.4 mm", 100.4, 100.4), ("60 mm", 60.0, 100.0), ("120 mm", 100.0, 120.0)]
)
def test_a_stated_size_that_the_outline_contradicts_proves_nothing_between_the_two(make_board, stated, low, high):
    folder = make_board(["U1,50,30,0,top,v,s"], toml=f'outline = "outline.dxf"\nlength = "{stated}"\n')
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
    drawing.saveas(folder / "outline.dxf")
    board = read_board(folder)
    assert (board.size.length.value.low, board.size.length.value.high) == (low, high)
    assert bool([n for n in board.notes if "the outline 100 mm" in sentence(n.said)]) == (low != high)


def test_no_panel_is_proposed_where_a_machine_does_not_say_how_large_a_board_it_takes(make_board, make_line):
    folder = make_board(["U1,50,30,0,top,v,s"], toml='outline = "outline.dxf"\n')
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
    drawing.saveas(folder / "outline.dxf")
    machine = 'name = "M"\n[board]\nmax_length = "110 mm"\n[[head]]\nname = "h"\n'
    notes = [sentence(n.said) for n in check(folder, line=make_line(machine)).notes]
    assert [m for m in notes if "M does not state the largest board" in m]
    assert not [m for m in notes if "circuits on" in m]


def test_entries_of_board_toml_that_name_nothing_are_told(make_board):
    kinds = '[kinds]\n"U*" = "part"\n"ZZ*" = "mechanical"\n'
    toml = f'not_fitted = ["R1-R2", "R*", "R77"]\n{kinds}[mounting]\nJ99 = "surface"\n'
    board = read_board(make_board(["R1,1,1,0,top,v,s", "R2,5,5,0,top,v,s", "U1,9,9,0,top,v,s"], toml=toml))
    told = [sentence(n.said) for n in board.notes if "reference of the data" in sentence(n.said)]
    assert told == [
        "not_fitted: R*, R77 name no reference of the data",
        "kinds: ZZ* names no reference of the data",
        "mounting: J99 names no reference of the data",
    ]

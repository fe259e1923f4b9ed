"""The first screen: nothing that the report holds is lost on it, and it fits a screen.

Figures: boards and lines are those of the fixtures, which are invented.
"""

import re
from itertools import pairwise

import ezdxf
import pytest

from capcheck.checking import check
from capcheck.report.first_screen import first_screen
from capcheck.report.questions import outlook_of_questions
from capcheck.report.report_as_text import styled_report
from capcheck.shop import Choice

BOARDS = ("irrigation-controller", "flow-sensor", "light-strip")
LINES = ("chip", "mixed", "full")


@pytest.fixture(scope="module", params=[(board, line) for board in BOARDS for line in LINES], ids="-".join)
def report(request, shop):
    board, line = request.param
    return check(shop / board, line=shop / "lines" / f"{line}.line.toml")


def text(report, *, full=False):
    return "\n".join(line.text for line in styled_report(report, width=100, full=full))


def rows(report, title):
    return [row for section in first_screen(report).sections if section.title.startswith(title) for row in section.rows]


def test_it_fits_a_screen_or_two(report):
    assert len(text(report).splitlines()) <= 60


def test_every_part_is_counted_once(report):
    numbers = first_screen(report).numbers
    total = int(re.match(r"(\d+) part", numbers)[1])
    shares = re.findall(r"(\d+) (?:proved placeable|not placeable|undecided|waived|by hand|bare pads?)", numbers)
    assert sum(map(int, shares)) == total == int(report.board.placements.is_part.sum())


def test_a_designator_of_two_rows_counts_for_both(make_board, shop):
    board = make_board([f"{ref},{10 + 9 * at},10,0,top,1k,R_0603" for at, ref in enumerate(("10uF", "10uF", "R2"))])
    numbers = first_screen(check(board, line=shop / "lines" / "mixed.line.toml")).numbers
    shares = re.findall(r"(\d+) (?:proved placeable|not placeable|undecided|by hand)", numbers)
    assert numbers.startswith("3 parts, ")
    assert sum(map(int, shares)) == 3


def test_a_designator_that_is_no_more_than_a_part_number_is_named(make_board, shop):
    bom = ["Designator,Part number", "R1,PN-1", "KONN_9,KONN_9"]
    report = check(make_board(["R1,10,10,0,top,1k,R_0603"], bom=bom), line=shop / "lines" / "mixed.line.toml")
    assert any(row.startswith("KONN_9: in the BOM") for row in rows(report, "Unclear"))


def test_each_cause_of_a_failure_is_a_row(report):
    rules = {f.rule for f in report.findings if f.outcome == "fail" and not f.waived}
    assert len(rows(report, "Stops it")) == min(len(rules), 8)
    assert (report.verdict == "fail") == bool(rules)
    if rules:
        assert f"{len(rules)} thing" in first_screen(report).verdict


def test_every_part_with_an_undecided_answer_is_in_a_row_s_count_or_asked_about_first(report):
    open_ = {f.subject.ref for f in report.findings if f.undecided and f.subject.kind.startswith("part")}
    open_ -= outlook_of_questions(report).refs
    counted = [int(n) for row in rows(report, "Undecided, data missing") for n in re.findall(r": (\d+) parts?\b", row)]
    assert sum(counted) >= len(open_)
    assert bool(counted) == bool(open_)


def test_the_whole_report_names_every_finding(report):
    whole = " ".join(text(report, full=True).split())
    for finding in report.findings:
        assert finding.rule in whole
        if not finding.undecided and finding.subject.machine is None:
            assert " ".join(finding.text.split()) in whole


def test_it_says_how_to_see_the_rest(report):
    assert "--full" in text(report)


def test_a_waiver_s_reason_and_the_configuration_stand_on_it(shop, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text('[[waiver]]\nrule = "*"\nreason = "seen in the sample"\nwho = "A. B."\nuntil = 2099-01-01\n')
    shown = text(check(shop / "irrigation-controller", line=shop / "lines" / "chip.line.toml", config=config))
    assert "seen in the sample" in shown
    assert "capcheck.toml" in shown


def test_many_causes_are_cut_and_counted(make_board, make_line):
    names = [f"R{n},{n % 40 * 5},{n // 40 * 5},0,top,v{n},ODD-{n}" for n in range(1, 200)]
    line = make_line('name = "M"\n[[head]]\nname = "h"\nmax_part_height = "9 mm"\nmax_body_length = "9 mm"\n')
    found = check(make_board(names), line=line)
    assert len(text(found).splitlines()) <= 60
    assert "199 parts" in text(found)


PROFILE = 'name = "M"\n[[head]]\nname = "h"\nmax_part_height = "9 mm"\n'


def verdict(report):
    return first_screen(report).verdict


def test_it_is_not_said_to_build_while_anything_is_undecided(report):
    open_ = report.totals.undecided + report.totals.waiting
    if report.verdict == "warn" and open_:
        assert f"if {open_} undecided check" in verdict(report)
    assert "builds as sent" not in verdict(report) or "if" in verdict(report) or not open_


def test_limits_that_only_the_shop_knows_leave_it_undecided_too(make_board, make_line):
    line = make_line('name = "M"\n[[head]]\nname = "h"\n')
    found = check(make_board(["R1,5,5,0,top,1k,RESC2012X55N"]), line=line)  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    assert found.totals.undecided + found.totals.waiting
    assert "undecided" in verdict(found)
    assert "builds" not in verdict(found)


def test_what_only_some_rules_were_asked_of_is_not_said_to_build(make_board, make_line):
    from capcheck.shop import Choice

    board = make_board(["R1,5,5,0,top,1k,RESC2012X55N"])  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    found = check(board, line=make_line(PROFILE), choice=Choice(select=("part-height",)))
    assert found.verdict == "pass"
    assert "builds" not in verdict(found)
    assert "nothing that was asked" in verdict(found)


def test_known_failures_of_a_baseline_do_not_build(shop, tmp_path):
    from capcheck.report.formats import json as json_format

    line, board, old = shop / "lines" / "chip.line.toml", shop / "irrigation-controller", tmp_path / "old.json"
    old.write_text(json_format.render(check(board, line=line)))
    found = check(board, line=line, baseline=old, new_only=True)
    assert found.verdict != "fail"
    assert "builds" not in verdict(found)
    assert "known from before" in verdict(found)


def test_a_reading_that_is_asked_above_is_not_told_again(make_board, shop):
    lines = shop / "lines" / "full.line.toml"
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "R2,15,5,0,top,,", "R3,25,5,0,top,,"]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    found = check(make_board(parts, bom=["Refs,Part number", "R1,RC-1"]), line=lines)
    assert any("not in the BOM" in row for row in rows(found, "Ask before"))
    assert [row for row in rows(found, "Undecided") if "R2" in row] == []
    assert rows(found, "Undecided") == []
    assert "2 undecided" in first_screen(found).numbers
    assert [row for row in rows(found, "Unclear") if "R2" in row] == []


def test_a_part_that_may_not_be_fitted_is_not_asked_for_its_number_too(make_board, shop):
    parts = [f"R{n},{10 * n},5,0,top,1k,RESC2012X55N" for n in (1, 2, 3)]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    for mark, told in (("?", False), ("yes", True)):
        bom = ["Refs,Part number,Value,Fitted", "R1,RC-1,1k,yes", f"R2,,2k,{mark}", f"R3,RC-3,3k,{mark}"]
        found = check(make_board(parts, bom=bom), line=shop / "lines" / "full.line.toml")
        assert any("to be fitted" in row and "R2" in row for row in rows(found, "Ask before")) is not told
        assert any("no part number" in row for row in rows(found, "Unclear")) is told
        assert any(f.rule == "part-number-given" for f in found.findings)


def test_pads_without_a_part_are_not_counted_as_placeable(make_board, shop):
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "P1,15,5,0,top,v,POGO_LANDPAD"]
    numbers = first_screen(check(make_board(parts), line=shop / "lines" / "full.line.toml")).numbers
    assert "1 proved placeable" in numbers
    assert "1 bare pad" in numbers


def test_bare_pads_that_the_bom_lacks_are_one_row_and_apart_from_the_parts_that_it_lacks(make_board, shop):
    pads = [f"P{n},{5 * n},25,0,top,v,POGO_LANDPAD" for n in range(1, 31)]
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "R2,15,5,0,top,2k,RESC2012X55N"]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    found = check(
        make_board([*parts, *pads], bom=["Refs,Part number", "R1,RC-1"]), line=shop / "lines" / "full.line.toml"
    )
    told = [row for section in first_screen(found).sections for row in section.rows if "P1" in row]
    assert told == ["bare pads by their names, nothing to place: P1–P30 (30)"]
    # None is lost: the finding stands in the full report, and says why none is asked for.
    (of_pads,) = (f for f in found.findings if f.subject.kind == "data" and "P1" in (f.subject.ref or ""))
    assert "R2" not in of_pads.message
    assert "nothing is placed" in of_pads.message
    assert any("R2" in f.message and "Which part?" in f.message for f in found.findings)


def test_what_the_first_questions_ask_of_the_whole_board_is_not_told_again(make_board, shop):
    found = check(make_board(["R1,5,5,0,top,1k,RESC2012X55N"]), line=shop / "lines" / "full.line.toml")
    assert any("bill of materials" in row for row in rows(found, "Ask before"))
    assert not [row for row in rows(found, "Settle first") if "BOM" in row]


def test_a_question_on_one_part_without_a_name_names_its_designator(make_board, shop):
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "Z1,25,5,0,top,,"]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    found = check(make_board(parts, bom=["Refs,Part number", "R1,RC-1"]), line=shop / "lines" / "full.line.toml")
    (row,) = (row for row in rows(found, "Ask before") if "not in the BOM" in row)
    assert row.endswith("(Z1)")


# IPC-7351B: 1.6 x 0.8 mm.
def test_what_the_verdict_says_is_not_told_again(make_board, shop):
    """An outline that lacks and the panel that the board goes in each stand once, in the first sentence."""
    lines = shop / "lines" / "full.line.toml"
    bom = ["Refs,Part number", "R1,RC-1"]
    found = check(make_board(["R1,10,10,0,top,1k,RESC1608X55N"], bom=bom), line=lines)
    assert "no outline (size and edges not checked)" in first_screen(found).verdict
    assert not rows(found, "Settle first")
    more = 'length = "20 mm"\nwidth = "20 mm"\nthickness = "1.6 mm"\n'
    marks = ["FID1,2,2,0,top,,", "FID2,18,18,0,top,,"]
    found = check(make_board(["R1,10,10,0,top,1k,RESC1608X55N", *marks], bom=bom, toml=more), line=lines)
    assert " in a panel of " in first_screen(found).verdict
    (row,) = (row for row in rows(found, "For review") if "as sent" in row)
    assert "panel" not in row
    assert (
        "Board length outside the conveyor's limits, Board width outside the conveyor's limits (every machine)" in row
    )
    whole = " ".join(text(found, full=True).split())
    assert "as sent it does not run" in whole


def _square(length, width):
    """Return a DXF of a rectangle, without a unit."""
    corners = [(0, 0), (length, 0), (length, width), (0, width), (0, 0)]
    lines = (f"0\nLINE\n8\n0\n10\n{a}\n20\n{b}\n11\n{c}\n21\n{d}\n" for (a, b), (c, d) in pairwise(corners))
    return f"0\nSECTION\n2\nENTITIES\n{''.join(lines)}0\nENDSEC\n0\nEOF\n"


READINGS = {
    "origin": ((80, 60), [(200, 160), (210, 170), (240, 180), (250, 150)], "do not start from the same point"),
    "unit of the outline": ((5, 4), [(1, 1), (2, 3), (3, 1), (4, 3)], "In which unit is your outline drawn?"),
}


# IPC-7351B: 1.6 x 0.8 mm.
@pytest.mark.parametrize("reading", READINGS)
def test_what_hangs_on_a_reading_that_is_asked_above_is_one_remark_behind_it(reading, make_board, shop):
    size, places, asks = READINGS[reading]
    parts = [f"R{k},{x},{y},0,top,1k,RESC1608X55N" for k, (x, y) in enumerate(places, 1)]
    folder = make_board(parts, bom=["Refs,Part number", '"R1,R2,R3,R4",RC-1'], toml='outline = "edge.dxf"\n')
    (folder / "edge.dxf").write_text(_square(*size))
    found = check(folder, line=shop / "lines" / "full.line.toml")
    asked = rows(found, "Ask before")
    assert any(asks in row for row in asked)
    assert [row for row in asked if "Until then distances to edges and cut-outs are not judged" in row] == [
        row for row in asked if asks in row
    ]
    assert not rows(found, "Settle first")
    assert not [row for row in rows(found, "Also undecided") if "length" in row or "aspect" in row]
    assert "aspect" in text(found, full=True), "the full report has it all the same"


def test_no_part_counts_as_placeable_where_only_some_rules_were_asked(shop):
    """A run of one rule says nothing of the others: that nothing was found is no proof."""
    line = shop / "lines" / "full.line.toml"
    chosen = (Choice(), Choice(select=("fiducial-count",)))
    whole, some = (check(shop / "flow-sensor", line=line, choice=choice) for choice in chosen)
    assert "39 proved placeable" in first_screen(whole).numbers
    assert "placeable" not in first_screen(some).numbers


@pytest.mark.parametrize("line", ["chip", "mixed"])
def test_what_a_waiver_accepts_is_not_called_proved(shop, tmp_path, line):
    """A part whose failure or open answer is waived is counted as waived: nothing proves that a head places it."""
    line_file = shop / "lines" / f"{line}.line.toml"
    plain = check(shop / "irrigation-controller", line=line_file)
    config = tmp_path / "capcheck.toml"
    config.write_text('[[waiver]]\nrule = "*"\nreason = "seen"\nwho = "A. B."\nuntil = 2099-01-01\n')
    accepted = check(shop / "irrigation-controller", line=line_file, config=config)

    def of(report, words):
        found = re.search(rf"(\d+) {words}", first_screen(report).numbers)
        return int(found[1]) if found else 0

    assert of(plain, "waived") == 0
    assert of(accepted, "proved placeable") == of(plain, "proved placeable")
    assert of(accepted, "waived") == of(plain, "not placeable") + of(plain, "undecided")
    test_every_part_is_counted_once(accepted)


def test_what_is_not_known_of_board_and_sides_is_one_row(make_board, shop):
    found = check(make_board(["R1,5,5,0,top,1k,RESC2012X55N"]), line=shop / "lines" / "full.line.toml")
    (row,) = [row for row in rows(found, "Also undecided") if "not known" in row]
    assert "thickness not known" in row
    assert "top side: fiducials not known" in row


def test_fiducials_of_which_the_same_is_vague_are_one_row(make_board, shop):
    """A body of unknown size may reach each of them, so far and so far."""
    marks = "".join(f'[[fiducials]]\nx = "{x} mm"\ny = "5 mm"\ndiameter = "1 mm"\nside = "top"\n' for x in (5, 30, 70))
    rows_ = ["U1,20,5,0,top,odd,ODD-9", "R1,50,5,0,top,1k,RESC2012X55N"]
    found = check(make_board(rows_, toml=marks), line=shop / "lines" / "full.line.toml")
    told = [row for row in rows(found, "Also undecided") if "fiducial 1" in row]
    assert told == ["fiducial 1–fiducial 3: clear area around it not known exactly"]


# "QFN-16-PAD" leaves the size open: of some 16-lead QFN a head for 4 mm takes the body, of others not.
def test_a_part_is_named_under_one_heading_with_what_it_lacks_and_why(make_board, make_line):
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "U6,25,5,0,top,v,QFN-16-PAD"]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    board = make_board(parts, bom=["Refs,Part number", "R1,RC-1", "U6,W-6"])
    found = check(board, line=make_line(PROFILE + 'max_body_length = "4 mm"\n'))
    told = [(section.title, row) for section in first_screen(found).sections for row in section.rows if "U6" in row]
    ((title, row),) = told
    assert title.startswith("Undecided, data missing")
    assert "1 part: U6 (W-6" in row
    assert "state which" in row


def test_of_two_parts_at_one_position_both_stand_alike_in_the_question(make_board, shop):
    board = make_board(["R1,30,30,0,top,1k,0805", "R2,30,30,0,top,2k,0805"])
    told = rows(check(board, line=shop / "lines" / "mixed.line.toml"), "Ask before")
    assert next(row for row in told if "same position" in row).endswith("(R1, R2)")


def test_of_a_part_whose_leads_are_unknown_the_balls_are_not_what_is_missing(shop):
    told = rows(check(shop / "irrigation-controller", line=shop / "lines" / "mixed.line.toml"), "Undecided, data")
    of = {ref: row.partition(":")[0] for row in told for ref in ("J11", "U5") if f"({ref})" in row}
    assert of == {"J11": "pitch or leads", "U5": "balls"}


def test_the_tallest_part_underneath_is_a_row_only_where_no_other_names_the_parts_of_unknown_height(make_board, shop):
    toml = 'length = "100 mm"\nwidth = "80 mm"\nbottom_view = "through the board"\n'
    parts = ["R1,5,5,0,top,1k,RESC2012X55N", "U1,25,5,0,top,v,mystery-a", "U2,25,25,0,bottom,v,mystery-b"]
    toml += 'mounting = { "U*" = "surface" }\n'
    board = make_board(parts, bom=["Refs,Part number", "R1,RC-1", "U1,W-1", "U2,W-2"], toml=toml)
    found = check(board, line=shop / "lines" / "full.line.toml")
    assert any(f.undecided and f.rule == "underside-clearance" for f in found.findings)
    assert any("W-2 " in row for row in rows(found, "Undecided"))
    assert not [row for row in rows(found, "Also undecided") if "tallest" in row]
    only = check(board, line=shop / "lines" / "full.line.toml", choice=Choice(select=("underside-clearance",)))
    assert [row for row in rows(only, "Also undecided") if "tallest" in row], "nothing else names the parts"


def test_of_long_names_a_row_shows_a_few(make_board, shop):
    names = [f"Printed housing of the handle colour {n}" for n in "abcdefghijkl"]
    bom = ["Refs,Part number", "R1,RC-1", *(f'"{name}",W-9' for name in names)]
    parts = ["R1,5,5,0,top,1k,RESC2012X55N"]  # IPC-7351B: 2.0 × 1.2 × 0.55 mm
    found = check(make_board(parts, bom=bom), line=shop / "lines" / "full.line.toml")
    (row,) = (row for row in rows(found, "Unclear") if "Printed housing" in row)
    assert row.count("Printed housing") == 2
    assert "and 10 more" in row


def test_what_a_missing_bom_would_say_is_not_asked_part_by_part(make_board, shop):
    """A list that is asked for names the parts: no row says that they have no number."""
    report = check(make_board(["XQ1,10,10,0,top,,"]), line=shop / "lines" / "mixed.line.toml")
    assert any("bill of materials" in row for row in rows(report, "Ask before"))
    assert not any("neither part number" in row for row in rows(report, "Unclear"))


def test_fiducials_that_a_side_lacks_as_sent_are_told_once(make_board, shop):
    """The rails that we would order may carry them: what is missing is told as what keeps the board from running."""
    toml = 'length = "20 mm"\nwidth = "20 mm"\nthickness = "1.6 mm"\n'
    marks = ["FID1,2,2,0,top,,", "FID2,18,18,0,top,,"]
    parts = ["R1,10,10,0,top,1k,RESC1608X55N", "R2,12,8,0,bottom,1k,RESC1608X55N"]
    found = check(make_board([*parts, *marks], toml=toml), line=shop / "lines" / "full.line.toml")
    (row,) = (row for row in rows(found, "For review") if "as sent" in row)
    assert "bottom side" in row
    assert not any("bottom side: fiducials" in row for row in rows(found, "Also undecided"))


def test_whether_a_side_has_parts_is_not_asked_beside_its_fiducials(make_board, shop):
    found = check(make_board(["XQ1,5,5,0,top,odd,ODD-9"]), line=shop / "lines" / "full.line.toml")
    (row,) = [row for row in rows(found, "Also undecided") if "not known" in row]
    assert "top side: fiducials not known" in row


def test_what_may_be_advised_of_a_part_too_stands_with_those_of_which_it_is(make_board, shop):
    """R2 ends 3 mm from the edge, as far as its length is known: 3.8 mm − 1.6 mm / 2."""
    parts = [f"R{number},{x},50,0,top,1k,RESC1608X55N" for number, x in ((1, 2), (2, 3.8), (3, 80))]
    board = make_board(parts, toml='outline = "edge.dxf"\n')
    drawing = ezdxf.new(units=ezdxf.units.MM)
    drawing.modelspace().add_lwpolyline([(0, 0), (160, 0), (160, 100), (0, 100)], close=True)
    drawing.saveas(board / "edge.dxf")
    found = check(board, line=shop / "lines" / "mixed.line.toml")
    (row,) = (row for row in rows(found, "For review") if "leading or trailing edge" in row)
    assert row.startswith("R1: within")
    assert row.endswith("(perhaps also R2)")
    assert not rows(found, "Undecided, data missing")


def test_a_part_whose_value_is_a_word_for_nothing_is_not_called_by_it(make_board, shop):
    found = check(make_board(["J1,10,10,0,top,unknown,ODD-9"]), line=shop / "lines" / "mixed.line.toml")
    told = " ".join(rows(found, "Undecided, data missing"))
    assert "ODD-9" in told
    assert "unknown" not in told


def test_what_stops_it_says_what_can_be_done(tmp_path):
    (tmp_path / "placements.csv").write_text("Ref,Value,Package,X,Y,Rot,Side\nU1,,BGA-256,30,30,0,top\n")
    report = check(tmp_path, line="fixtures/lines/chip.line.toml")
    stops = next(section for section in first_screen(report).sections if section.title == "Stops it")
    assert all(" → " in row for row in stops.rows)

"""A board that a line does not take as sent is judged in the panel that would be ordered of it.

Figures: boards, machines and limits are invented and round; panel sizes are worked by hand from them.
"""

import json

import ezdxf
import pytest

from capcheck import check
from capcheck.lexicon import sentence
from capcheck.planning import plan
from capcheck.report.first_screen import first_screen

MACHINE = """name = "Placer"
[board]
min_length = "80 mm"
max_length = "300 mm"
min_width = "60 mm"
max_width = "250 mm"
edge_clearance_top = "{strip} mm"
edge_clearance_bottom = "{strip} mm"
[fiducials]
kinds = ["circle"]
min_diameter = "0.5 mm"
max_diameter = "3 mm"
[[head]]
name = "H"
max_body_length = "20 mm"
max_body_width = "15 mm"
"""
CHIP = "RESC2012X55N"  # IPC-7351B: 2.0 × 1.2 mm, 0.55 mm high, by the digits of the name
LARGE = "QFN100P3000X3000X90-100N"  # IPC-7351B: 30 × 30 mm, larger than any head here takes
PASSES, WIDTH, EDGE = "board-passes-line", "board-width", "edge-clearance"


@pytest.fixture
def asked(make_board, make_line):
    def ask(length, width, *, toml="", at=None, strip=3, footprint=CHIP, machines=1, config=None, slots=""):
        x, y = at or (length / 2, width / 2)
        rows = [f"R1,{x},{y},0,top,1k,{footprint}", f"R2,12,12,90,top,1k,{CHIP}"]
        folder = make_board(rows, toml=f'outline = "outline.dxf"\nthickness = "1.6 mm"\n{toml}')
        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (length, 0), (length, width), (0, width)], close=True)
        drawing.saveas(folder / "outline.dxf")
        line = make_line(
            *[MACHINE.format(strip=strip).replace("Placer", f"Placer {n + 1}") + slots for n in range(machines)]
        )
        return folder, line, check(folder, line=line, config=config)

    return ask


def outcomes(report, rule):
    return [f.outcome for f in report.findings if f.rule == rule]


def size(report):
    panel = report.in_panel.panel
    return panel.source.columns, panel.source.rows, round(panel.length_mm, 6), round(panel.width_mm, 6)


def test_a_board_too_small_for_the_conveyor_is_judged_in_the_smallest_panel_that_it_takes(asked):
    _, _, report = asked(40, 30)
    # 2 × 40 + 2 = 82 along the conveyor; 2 × 30 + 2 + 2 × 5 = 72 across it
    assert size(report) == (2, 2, 82, 72)
    assert outcomes(report, WIDTH) == []
    assert outcomes(report, PASSES) == ["warn"]
    assert report.verdict == "warn"
    message = next(f.message for f in report.findings if f.rule == PASSES)
    assert "2 × 2 on 82 × 72 mm" in message
    assert "Placer 1" in message


def test_whether_the_slots_suffice_is_answered_for_the_circuit(asked):
    """Heads are asked of the circuit alone: on the panel nobody knew who takes what, and so whose the slots are."""
    _, _, report = asked(40, 30, slots='[feeders]\nslots = 10\nslots_used = { "8 mm" = 1, "12 mm" = 2 }\n')
    assert report.in_panel is not None
    assert report.answers.counts["feeder-slots"].passed == 1
    assert outcomes(report, "feeder-slots") == []


def test_with_a_greatest_size_the_panel_fills_it(asked):
    _, _, report = asked(40, 30, toml='[panel_proposal]\nmax_length = "150 mm"\nmax_width = "110 mm"\ngap = "0 mm"\n')
    # carried along y: 5 × 30 long, 2 × 40 + 2 × 5 across; the other way 3 × 3 would fit
    assert size(report) == (2, 5, 90, 150)


def test_the_shop_s_habit_holds_and_board_toml_overrides_it(asked, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text('[panel]\nrail = "10 mm"\ngap = "4 mm"\n')
    _, _, report = asked(40, 30, config=config)
    assert report.in_panel.panel.rail_mm == 10
    assert report.in_panel.panel.gap_mm == 4
    _, _, report = asked(40, 30, config=config, toml='[panel_proposal]\nrail = "7 mm"\n')
    assert report.in_panel.panel.rail_mm == 7
    assert report.in_panel.panel.gap_mm == 4


def test_rails_cure_a_part_in_the_edge_strip_of_a_board_that_the_conveyor_takes(asked):
    _, _, report = asked(100, 70, at=(50, 2))
    assert size(report) == (1, 1, 100, 80)
    assert outcomes(report, EDGE) == []
    assert report.verdict == "warn"


@pytest.mark.parametrize(
    ("toml", "footprint", "strip"),
    [
        ("[panel_proposal]\norder = false\n", CHIP, 3),  # not wanted
        ('[panel_proposal]\nmax_length = "50 mm"\nmax_width = "50 mm"\n', CHIP, 3),  # too small to be taken
    ],
)
def test_where_no_panel_is_ordered_the_board_fails_as_sent(asked, toml, footprint, strip):
    _, _, report = asked(40, 30, toml=toml, footprint=footprint, strip=strip)
    assert report.in_panel is None
    assert report.verdict == "fail"
    assert outcomes(report, WIDTH) == ["fail"]


def test_what_a_panel_does_not_cure_fails_in_it_too(asked):
    _, _, report = asked(40, 30, footprint=LARGE)
    assert report.in_panel is not None
    assert report.verdict == "fail"
    assert outcomes(report, "largest-body") == ["fail"]
    assert outcomes(report, WIDTH) == []


def test_a_stated_panel_is_judged_as_it_is(asked):
    _, _, report = asked(40, 30, toml='[panel]\ncolumns = 1\nrows = 1\nrails = { top = "5 mm", bottom = "5 mm" }\n')
    assert report.in_panel is None
    assert report.verdict == "fail"


def test_a_board_that_passes_is_judged_as_sent(asked):
    _, _, report = asked(100, 90)
    assert report.in_panel is None
    assert outcomes(report, PASSES) == []


def test_the_circuit_s_parts_are_counted_once_and_named_as_the_customer_names_them(asked):
    _, _, report = asked(40, 30, at=(20, 1.2), strip=8)
    refs = {f.subject.ref for f in report.findings if f.subject.ref}
    assert not [ref for ref in refs if "/" in ref]
    counts = report.answers.counts["edge-clearance"]
    assert counts.passed + counts.broken + counts.undecided == 2
    assert len(report.part_results()) == 2


def test_marks_are_on_the_rails_only_where_the_shop_draws_them(asked):
    _, _, without = asked(40, 30)
    assert outcomes(without, "fiducial-count") == ["warn"]
    _, _, drawn = asked(40, 30, toml='[panel_proposal]\nfiducial_diameter = "1 mm"\nrail = "8 mm"\n')
    assert outcomes(drawn, "fiducial-count") == []


def test_fiducials_on_rails_that_we_order_are_not_told_beside_those_of_the_sides(asked):
    _, _, without = asked(40, 30)
    told = [row for s in first_screen(without).sections for row in s.rows if "fiducials" in row]
    assert outcomes(without, "panel-marks") == ["warn"]
    assert any("side: fiducials not known" in row for row in told)
    assert "rails" not in " ".join(told)


def test_marks_that_only_rails_may_carry_stop_no_panel_and_are_no_reason_for_one(asked):
    """Marks are listed on the bottom alone: as sent the top fails, on rails of our own it is open."""
    listed = '[[fiducials]]\nx = "9 mm"\ny = "9 mm"\ndiameter = "1 mm"\nside = "bottom"\n'
    _, _, small = asked(40, 30, toml=listed)
    assert small.in_panel is not None
    assert (outcomes(small, "fiducial-count"), small.verdict) == (["warn"], "warn")
    assert "fiducials (top side)" in sentence(small.in_panel.as_sent)
    _, _, passing = asked(100, 90, toml=listed)
    assert passing.in_panel is None
    assert outcomes(passing, "fiducial-count") == ["fail"]


def test_every_format_tells_of_the_panel(asked, run):
    folder, line, _ = asked(40, 30)
    for name in ("text", "markdown", "html", "json", "junit", "lines"):
        _, out, _ = run("check", folder, "--line", line, "--format", name)
        assert "2 × 2" in out or '"columns":2' in out.replace(" ", ""), name
    _, out, _ = run("check", folder, "--line", line, "--format", "json")
    panel = json.loads(out)["panel"]
    assert (panel["columns"], panel["rows"], panel["length_mm"], panel["width_mm"]) == (2, 2, 82, 72)


def test_plan_and_check_agree_that_the_panel_passes(asked):
    folder, line, _ = asked(40, 30, machines=2)
    found = plan([folder], line).plan
    assert found.verdict == "warn"
    (said,) = (said for said in found.warned if said.key == "planning.in a panel")
    assert "2 × 2" in sentence(said)


def waiver(rule):
    return f'[[waiver]]\nrule = "{rule}"\nreason = "seen"\nwho = "A. B."\nuntil = 2099-01-01\n'


def test_what_a_waiver_accepts_as_sent_needs_no_panel(asked, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text(waiver("edge-clearance"))
    _, _, report = asked(100, 70, at=(50, 2), config=config)
    assert report.in_panel is None
    assert [f.rule for f in report.findings if f.waived] == [EDGE]
    assert outcomes(report, "unused-waiver") == []


def test_a_part_that_several_circuits_object_to_is_one_finding_with_the_worst_of_them(asked):
    # 2 × 2 of 40 × 30 mm with rails of 4 mm and a strip of 8 mm: R1 at 2 mm from the lower edge lies 6 mm from the
    # panel's in the lower circuits; each machine objects once to it
    _, _, report = asked(40, 30, at=(20, 2), strip=8, toml='[panel_proposal]\nrail = "4 mm"\n')
    found = [(f.subject.ref, f.subject.machine) for f in report.findings if f.rule == EDGE]
    assert len(found) == len(set(found))


def test_pairs_that_may_touch_are_those_of_the_board_and_not_of_its_copies(asked):
    either = "SOP65P640X120-8N"  # IPC-7351B reads so; which side lies along x at 0° the name does not say
    folder, line, _ = asked(40, 30)
    rows = [
        "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint",
        f"U1,15,15,0,top,a,{either}",
        f"U2,19,15,0,top,b,{either}",
    ]
    (folder / "placements.csv").write_text("\n".join(rows) + "\n")
    report = check(folder, line=line)
    assert report.in_panel.panel.source.columns > 1
    told = next(f for f in report.findings if f.rule == "bodies-apart-decided")
    assert next(value.low for value in told.facts if value.name == "board.open_gaps") == 1

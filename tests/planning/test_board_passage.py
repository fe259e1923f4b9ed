"""What a plan says of the board's passage names every machine.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from capcheck.engine.findings import Finding, SubjectName, Waiting
from capcheck.lexicon import sentence
from capcheck.planning import compose, plan
from capcheck.planning.board_passage import _besides, open_passages

FIXTURES = Path(__file__).parents[2] / "fixtures"


def finding(machine, template):
    return Finding(
        rule="r",
        title="t",
        outcome="fail",
        undecided=False,
        subject=SubjectName("board on machine", None, machine),
        facts=(),
        margin=None,
        template=template,
        remedy="do",
    )


@pytest.mark.parametrize(
    ("template", "machines", "said"),
    [
        ("too long for {machine.name}", ["P10", "P1", "P2"], " (also on P1, P2)"),
        ("too long for {machine.name}", ["P1"], ""),
        ("too long", ["P1"], " (on P1)"),
        ("too long", ["P1", "P2"], " (on P1, P2)"),
    ],
)
def test_every_machine_is_named_that_the_message_does_not_name(template, machines, said):
    assert sentence(_besides([finding(machine, template) for machine in machines])) == said


def undecided(rule, missing, subject, waits_for=None):
    found = replace(finding(None, ""), rule=rule, outcome="warn", undecided=True)
    return replace(found, subject=subject, missing=missing, waits_for=waits_for)


@pytest.mark.parametrize("blocks", [True, False])
def test_what_is_open_is_told_once_by_what_a_person_can_state(blocks):
    """A ratio to a thickness that nobody stated is settled by the thickness, and so is advice that hangs on it."""
    known = undecided("thickness-known", ("board.thickness", "board.width_to_thickness"), SubjectName("board"))
    waits = Waiting(known.rule, known.subject)
    on_a = SubjectName("board on machine", None, "A")
    found = [known, undecided("board-sag", ("board.width_to_thickness",), on_a, waits)]
    found += [undecided("board-thickness", ("board.thickness", "machine.max_thickness"), on_a, waits)] if blocks else []
    outcomes = {"board-sag": "warn", "board-thickness": "fail", known.rule: "warn"}
    told = {"facts": {"board.thickness"}, "settles": {"board.thickness", "board.width_to_thickness"}}
    rules = [SimpleNamespace(id=name, outcome=outcome, **told) for name, outcome in outcomes.items()]
    board, answers = SimpleNamespace(name="b"), SimpleNamespace(rules=rules)
    (said,) = open_passages([SimpleNamespace(board=board, answers=answers, findings=found)], ["A"])
    assert said.key == ("planning.passage open" if blocks else "planning.advice open")
    # What the profile lacks is asked of the shop beside it.
    assert list(said.values["missing"]) == ["board.thickness", "machine.max_thickness"][: 1 + blocks]


def takes(name, most_along, most_across):
    limits = f'max_length = "{most_along} mm"\nmax_width = "{most_across} mm"\n'
    return f'name = "{name}"\n[board]\n{limits}[feeders]\nslots = 40\n[[head]]\nname = "h"\n'


# IPC-7351B: 1.6 x 0.8 mm.
@pytest.mark.parametrize(("size", "turned"), [(("200", "90"), True), (("100", "100"), False)])
def test_a_board_that_must_be_turned_fails_the_plan_of_a_line_and_not_of_one_machine(
    size, turned, make_board, make_line
):
    length, width = size
    board = make_board(
        ["R1,10,10,0,top,10k,RESC1608X55N"],
        toml=f'length = "{length} mm"\nwidth = "{width} mm"\n',
    )
    both = make_line(takes("Long", 300, 100), takes("Short", 100, 300))
    found = [sentence(why) for why in plan([board], both).plan.failed]
    assert [why for why in found if "has to be turned between" in why] == found
    assert bool(found) is turned
    stock = sorted(both.parent.glob("*.machine.toml"))
    row = compose([board], stock, max_machines=2).row
    assert row is not None
    assert row.plan.failed == ()


# IPC-7351B: 1.6 x 0.8 mm.
def test_a_part_without_a_side_is_not_lost_from_a_plan(make_board, make_line):
    board = make_board(["R1,10,10,0,top,10k,RESC1608X55N", "R2,20,10,0,,10k,RESC1608X55N"])
    found = plan([board], make_line(takes("Long", 300, 100))).plan
    assert found.verdict == "fail"
    assert "no side is known of R2" in " ".join(map(sentence, found.failed))


MARKS = ["FID1,2,2,0,top,,", "FID2,18,18,0,top,,"]
FEW = 'length = "20 mm"\nwidth = "20 mm"\nthickness = "1.6 mm"\n'


# IPC-7351B: 1.6 x 0.8 mm; a panel that the shop would order, rails and gap are common practice, no source.
def test_a_board_that_goes_in_a_panel_is_planned_as_the_panel_that_the_check_judges(make_board):
    board = make_board(["R1,10,10,0,top,10k,RESC1608X55N", *MARKS], toml=FEW)
    found = plan([board], FIXTURES / "lines" / "mixed.line.toml", per_year=[1200])
    ordered = found.reports[0].in_panel.panel
    boards = ordered.source.columns * ordered.source.rows
    assert boards > 1
    (passed,) = found.plan.job.passes
    assert (passed.boards, passed.per_year) == (boards, pytest.approx(1200 / boards))
    assert passed.marks == 2 * boards
    assert passed.width.low == pytest.approx(min(ordered.length_mm, ordered.width_mm))
    (set_up,) = found.plan.set_ups
    assert sum(sum(f.counts) for f in set_up.feeders) == boards
    said = [sentence(why) for why in found.plan.warned]
    assert sum(f"in a panel of {ordered.source.columns} × {ordered.source.rows}" in why for why in said) == 1


# IPC-7351B: 1.6 x 0.8 mm.
def test_a_spare_machine_is_asked_about_the_panel_and_not_about_the_board_as_sent(make_board, tmp_path):
    """As sent the board is too small for every machine; in the panel that the line carries it is not."""
    board = make_board([f"R{n},{n},10,0,top,10k,RESC1608X55N" for n in range(4, 16, 2)] + MARKS, toml=FEW)
    profile = next((FIXTURES / "machines").glob("all-round*.machine.toml"))
    spare = tmp_path / "spare.machine.toml"
    spare.write_text(profile.read_text().replace('name            = "All-round', 'name            = "Spare', 1))
    found = plan([board], FIXTURES / "lines" / "mixed.line.toml", changes=True, spare=[spare])
    assert found.reports[0].in_panel is not None
    assert not [note for note in map(sentence, found.plan.notes) if "is not tried" in note]


# IPC-7351B: 1.6 x 0.8 mm.
def test_a_line_composed_of_a_stock_carries_the_panel_that_every_machine_of_it_takes(make_board):
    board = make_board(["R1,10,10,0,top,10k,RESC1608X55N", *MARKS], toml=FEW)
    stock = sorted((FIXTURES / "machines").glob("[ac]*.machine.toml"))
    found = compose([board], stock, max_machines=1)
    (passed,) = found.row.plan.job.passes
    assert passed.boards > 1
    assert found.row.plan.panels
    assert any("cannot run as sent" in why for why in map(sentence, found.row.plan.warned))
    assert int(found.row.plan.job.counts().sum()) == passed.boards

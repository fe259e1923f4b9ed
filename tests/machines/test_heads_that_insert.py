"""Heads that put leads through holes: what they are proved to take is placed by the line, all else stays with hands.

Figures: invented in round numbers.
"""

import pytest

from capcheck.checking import check, parts_by_outcome, prepare
from capcheck.machines import read_machine
from capcheck.planning import plan
from capcheck.shop import Settings
from capcheck.values import InputError

HEAD = """\
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
max_body_length = "40 mm"
max_body_width = "40 mm"
max_part_height = "{height}"
smallest_chip = "0402M"
rated = "10000 1/h"
supplies = ["tape", "stick"]
"""
PLACER = """\
name = "{name}"
[board]
top_clearance = "{above}"
[feeders]
slots = 40
slots_used = {{ "8 mm" = 1, "24 mm" = 2 }}
stick_slots = 4
[[head]]
name = "{name} head"
"""
FITTED = """[[bench]]
name = "Hands"
seconds = "5 s"
"""


def placer(name, *, height="20 mm", above="40 mm", takes=""):
    return PLACER.format(name=name, above=above) + HEAD.format(height=height) + takes


INSERTS = 'takes = ["through-hole"]\nmax_lead_length = "5 mm"\n'


@pytest.fixture
def judged(make_board, make_line, tmp_path):
    """Return what check and plan say of a chip and a part with leads through holes on a line of these machines."""

    def judge(*machines, leads="4", height="12", supply="tape"):
        table = tmp_path / "parts.csv"
        table.write_text(
            "part number,mounting,length [mm],width [mm],height [mm],supply,tape width [mm],"
            "lead length [mm],pins,lead style\n"
            f"XJ9902-99,through hole,20,10,{height},{supply},24,{leads},2,\n"
            "XR9901-99,surface,1.6,0.8,0.5,tape,8,,2,chip\n"
        )
        folder = make_board(
            ["J1,15,30,0,top,X,OWN LAND", "R1,40,30,0,top,1k,OWN LAND"],
            bom=["Ref,Qty,Part number", "J1,1,XJ9902-99", "R1,1,XR9901-99"],
        )
        line = make_line(*machines, extra=FITTED)
        report = check(folder, line=line, libraries=[table])
        return report, plan([folder], line, shop=prepare(Settings(libraries=[table]), None))

    return judge


def who_places(report, ref):
    (taker,) = [t for t in report.takers if ref in {report.board.placements.ref[row] for row in t.rows}]
    return [name for name, take in zip(report.head_names(), taker.takes, strict=True) if take.state > 0]


def test_a_head_that_inserts_takes_the_part_from_the_hands(judged):
    report, planned = judged(placer("A"), placer("B", takes=INSERTS))
    assert who_places(report, "J1") == ["B/B head"]
    assert who_places(report, "R1") == ["A/A head"]
    assert not parts_by_outcome(report).by_hand
    assert "J1" in parts_by_outcome(report).proved
    assert not planned.given.by_hand
    assert [f.part for s in planned.plan.set_ups for f in s.feeders if f.machine == "B"] == ["XJ9902-99"]


@pytest.mark.parametrize(
    ("what", "takes"),
    [
        ({"leads": "5.1"}, INSERTS),
        ({"leads": "4 to 6"}, INSERTS),
        ({"leads": ""}, INSERTS),
        ({"height": "20.1"}, INSERTS),
        ({"height": "18 to 21"}, INSERTS),
        ({}, ""),
        ({}, 'takes = ["surface"]\nmax_lead_length = "5 mm"\n'),
    ],
    ids=["leads too long", "perhaps too long", "not stated", "too tall", "perhaps too tall", "no such head", "surface"],
)
def test_what_is_not_proved_to_be_inserted_stays_with_hands_and_is_no_finding(judged, what, takes):
    report, planned = judged(placer("A"), placer("B", takes=takes), **what)
    assert parts_by_outcome(report).by_hand == {"J1"}
    assert [f for f in report.findings if f.subject.ref == "J1" and f.subject.kind == "part on head"] == []
    assert report.verdict != "fail"
    assert list(planned.given.by_hand.values()) == [("J1",)]


def test_a_part_for_the_surface_needs_a_head_for_the_surface(judged):
    report, _ = judged(placer("B", takes=INSERTS))
    assert "mounting-taken" in {f.rule for f in report.findings if f.subject.ref == "R1" and f.outcome == "fail"}


def test_an_inserted_part_stands_in_the_way_of_what_comes_later(judged):
    """The chip alone needs no room above the board; over 12 mm the second machine cannot carry it."""
    low = placer("B", height="1 mm", above="3 mm")
    before, _ = judged(placer("A", height="0.1 mm", takes=INSERTS.replace("[", '["surface", ')), low, height="0.09")
    assert "height-before" not in {f.rule for f in before.findings}
    high, planned = judged(placer("A", takes=INSERTS), low)
    assert "height-before" in {f.rule for f in high.findings}
    assert planned.plan.verdict != "pass"


def test_a_head_that_inserts_says_how_long_leads_may_be(tmp_path):
    file = tmp_path / "m.machine.toml"
    file.write_text(placer("B", takes='takes = ["through-hole"]\n'))
    with pytest.raises(InputError, match="state max_lead_length"):
        read_machine(file)

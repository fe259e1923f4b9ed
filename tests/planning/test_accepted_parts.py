"""What a waiver accepts of a part: that no head is proved to take it, never that there is no slot for its feeder.

Figures: invented machines and jobs, sums by hand.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from capcheck.engine import Finding, SubjectName
from capcheck.planning.accepted_parts import without_accepted
from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.values.interval import Interval


def report_with_waived(*refs):
    """Return what a plan asks of a check: for each of *refs* a waived finding on a head."""
    found = [
        Finding(
            rule="part-height",
            title="The part is too tall for the head",
            outcome="fail",
            undecided=False,
            subject=SubjectName("part on head", ref=ref, machine="A", head="H1"),
            facts=(),
            margin=None,
            template="",
            remedy="",
            waived=True,
        )
        for ref in refs
    ]
    return SimpleNamespace(board=SimpleNamespace(name="board"), answers=SimpleNamespace(rules=()), findings=found)


@pytest.fixture
def planned(shop):
    """Return a plan of two part numbers on one machine with so many slots; *can* is what its head does with each."""

    def of(slots, *can):
        line = shop.line(shop.machine("A", slots=slots))
        job = shop.job(shop.part("P", 3, refs=True), shop.part("Q", 1, refs=True))
        return plan_line(job, line, np.array([[one] for one in can], dtype=np.int8))

    return of


def test_an_accepted_part_without_a_feeder_slot_fails_the_plan_all_the_same(planned):
    found = planned(1, 1, 1)
    assert [(part, n) for part, n in found.shortage.take_off] == [("Q", 1)]
    accepted = without_accepted(found, [report_with_waived("Q.0.0", "P.0.0", "P.0.1", "P.0.2")])
    assert [said.key for said in accepted.failed] == ["planning.cannot be placed"]
    assert accepted.verdict == "fail"


def test_an_accepted_part_that_no_head_takes_fails_no_plan(planned):
    found = planned(2, 1, -1)
    assert found.verdict == "fail"
    assert without_accepted(found, [report_with_waived("Q.0.0")]).failed == ()


def test_of_parts_left_over_only_those_that_no_head_takes_are_accepted(planned):
    found = planned(0, 1, -1)
    accepted = without_accepted(found, [report_with_waived("Q.0.0", "P.0.0", "P.0.1", "P.0.2")])
    assert [said.values["parts"] for said in accepted.failed] == [[("P", 3)]]


def test_that_hands_could_place_it_does_not_hide_an_accepted_part_without_a_slot(shop):
    """Q has an accepted finding on the heads, and no slot: what is short is told, also of parts in trays."""
    for parts in (
        [shop.part("P", 3, refs=True), shop.part("Q", 1, refs=True)],
        [shop.part("Q", 1, supply="tray", refs=True)],
    ):
        line = shop.line(shop.machine("A", slots=1, trays=0), hand_placement=True)
        job = shop.job(*parts)
        found = plan_line(job, line, shop.takes_all(job, line))
        assert [part for part, _ in found.shortage.take_off] == ["Q"]
        accepted = without_accepted(found, [report_with_waived("Q.0.0")])
        told = [said.values["parts"] for said in accepted.warned if said.key == "planning.cannot be placed"]
        assert [list(parts) for parts in told] == [[("Q", 1)]]
        assert accepted.verdict == "warn"


def slots_waived(board, *, waived):
    """Return a report on a board whose finding on the line's slots is waived, or without one."""
    found = [SimpleNamespace(rule="feeder-slots", waived=True, outcome="warn", subject=SubjectName("line"))]
    return SimpleNamespace(
        board=SimpleNamespace(name=board), answers=SimpleNamespace(rules=()), findings=found if waived else []
    )


def test_slots_that_are_accepted_for_one_board_are_open_for_another_in_its_set_up(shop):
    """Tapes of 8 or 12 mm take one slot or two: eight parts of both boards take 8 to 12 of nine slots."""
    line = shop.line(shop.machine("A", slots=9))
    open_tapes = [shop.part(f"P{k}", 1, 0, width=Interval(8.0, 12.0), refs=True) for k in range(4)]
    job = shop.job(
        *open_tapes,
        *(shop.part(f"Q{k}", 0, 1, refs=True) for k in range(4)),
        passes=[Pass("one", marks=3), Pass("other", marks=3)],
    )
    found = plan_line(job, line, shop.takes_all(job, line), settings=PlanSettings(set_up="common"))
    assert found.verdict == "warn"
    for both, verdict in ((False, "warn"), (True, "pass")):
        reports = [slots_waived("one", waived=True), slots_waived("other", waived=both)]
        assert without_accepted(found, reports).verdict == verdict


# Of two part numbers on one slot the second has none, nor has a tray where no places are offered.
@pytest.mark.rows(
    ("supply", "accepted", "live", "verdict"),
    [
        ("tape", (), (), "fail"),
        ("tape", ("feeder-slots",), (), "pass"),
        ("tape", ("feeder-slots",), ("tray-places",), "pass"),
        ("tape", ("bank-slots",), (), "pass"),
        ("tape", ("feeder-slots",), ("bank-slots",), "fail"),
        ("tape", ("tray-places",), (), "fail"),
        ("tape", ("part-height",), (), "fail"),
        ("tray", ("tray-places",), (), "pass"),
        ("tray", ("feeder-slots",), ("tray-places",), "warn"),
    ],
)
def test_a_shortage_that_a_waiver_accepts_stands_against_no_plan(shop, supply, accepted, live, verdict):
    line = shop.line(shop.machine("A", slots=1, trays=0))
    job = shop.job(shop.part("P", 3, refs=True), shop.part("Q", 1, supply=supply, refs=True))
    found = plan_line(job, line, shop.takes_all(job, line))
    assert [part for part, _ in found.shortage.take_off] == ["Q"]
    asked = [(rule, True) for rule in accepted] + [(rule, False) for rule in live]
    report = SimpleNamespace(
        board=SimpleNamespace(name="board"),
        answers=SimpleNamespace(rules=()),
        findings=[
            SimpleNamespace(rule=rule, waived=waived, outcome="warn", subject=SubjectName("line"))
            for rule, waived in asked
        ],
    )
    without = without_accepted(found, [report])
    assert without.verdict == verdict
    assert ("planning.shortage accepted" in {said.key for said in without.notes}) == (verdict == "pass")


def test_that_slots_are_accepted_accepts_no_kinds_of_nozzles_that_are_too_many(shop):
    line = shop.line(shop.machine("A", head=[{"name": "H1", "nozzles": 1, "nozzle_kinds": 1}]))
    job = shop.job(shop.part("P", 3, nozzle="wide", refs=True), shop.part("Q", 1, nozzle="narrow", refs=True))
    found = plan_line(job, line, shop.takes_all(job, line))
    assert found.shortage.order
    assert without_accepted(found, [slots_waived("board", waived=True)]).verdict == "fail"

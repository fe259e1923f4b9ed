"""What a waiver accepts of a part: that no head is proved to take it, never that there is no slot for its feeder.

Figures: invented machines and jobs, sums by hand.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from capcheck.engine import Finding, SubjectName
from capcheck.planning.accepted_parts import without_accepted
from capcheck.planning.planner import plan_line


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

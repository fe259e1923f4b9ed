"""Findings that differ by a machine alone are one line.

Figures: invented.
"""

import math

from msgspec.structs import replace

from capcheck.engine.findings import FactValue, Finding, SubjectName
from capcheck.report.groups import decided_groups, gaps
from capcheck.values.units import LENGTH


def finding(template, machine, ref=None, *, rule="r"):
    return Finding(
        rule=rule,
        title="t",
        outcome="fail",
        undecided=False,
        subject=SubjectName("k", ref, machine),
        facts=(),
        margin=None,
        template=template,
        shown=(FactValue("machine.name", text=machine), FactValue("part.ref", text=ref)),
        remedy="do",
        group="P-1",
    )


def test_findings_that_differ_by_the_machine_alone_are_one_line_with_all_names():
    one, two, three = (finding("60 mm; the limit of {machine.name} is 50 mm", name) for name in ("A", "B 2", "C"))
    groups = decided_groups([one, two, three])
    assert [g.text for g in groups] == ["60 mm; the limit of A, B 2 and C is 50 mm"]
    assert groups[0].findings == (one, two, three)


def test_machines_with_other_limits_keep_their_own_line():
    groups = decided_groups(
        [finding("the limit of {machine.name} is 50 mm", "A"), finding("the limit of {machine.name} is 51 mm", "B")]
    )
    assert [g.text for g in groups] == ["the limit of A is 50 mm", "the limit of B is 51 mm"]


def test_a_name_within_another_word_is_left_alone():
    groups = decided_groups([finding("Mass of 3 g on {machine.name}", name) for name in "MN"])
    assert [g.text for g in groups] == ["Mass of 3 g on M and N"]


def test_parts_on_several_machines_are_named_once():
    same = [finding("{part.ref}: within 3 mm on {machine.name}", m, r) for m in ("A", "B") for r in ("R1", "R2")]
    groups = decided_groups(same)
    assert [(g.text, g.subjects) for g in groups] == [("within 3 mm on A and B", ("R1", "R2"))]


def lacking(ref, *facts, rule="r"):
    values = tuple(FactValue(name, low=-math.inf, high=math.inf, dimension=LENGTH) for name in facts)
    return replace(finding("open", "A", ref, rule=rule), undecided=True, outcome="warn", facts=values, missing=facts)


def test_one_missing_datum_on_many_parts_is_one_line():
    found = gaps([lacking(f"R{n}", "part.height") for n in range(300)])
    assert [(len(g.subjects), g.rules) for g in found] == [(300, ("r",))]


def test_parts_of_one_type_that_lack_different_things_are_told_apart():
    every = [lacking(ref, "part.height") for ref in ("C1", "C2")]
    found = gaps([*every, lacking("C2", "machine.edge_clearance", rule="edge")])
    assert {(g.subjects, g.rules) for g in found} == {(("C1",), ("r",)), (("C2",), ("r", "edge"))}


def test_marks_have_no_type_and_are_not_counted_as_such():
    marks = [replace(lacking(ref, "mark.diameter"), group=ref) for ref in ("FID1", "FID1/2")]
    assert [g.label for g in gaps(marks)] == [""]
    assert [g.label for g in gaps([*marks, lacking("C1", "mark.diameter")])] == [""]


def test_what_counts_pairs_that_may_overlap_comes_last():
    """It stands above nothing that somebody acts on, whatever the order of the rules."""
    pairs = replace(finding("21 pairs", "A", rule="a"), facts=(FactValue("board.open_gaps", 21.0, 21.0),))
    assert [g.rule for g in decided_groups([pairs, finding("too tall", "A", rule="b")])] == ["b", "a"]

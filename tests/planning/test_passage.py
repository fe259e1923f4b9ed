"""What a plan says of the board's passage names every machine."""

from capcheck.engine.findings import Finding, SubjectName
from capcheck.planning.passage import _besides


def finding(machine):
    return Finding(
        rule="r",
        title="t",
        outcome="fail",
        undecided=False,
        subject=SubjectName("board on machine", None, machine),
        facts=(),
        margin=None,
        template="too long for {machine.name}",
        remedy="do",
    )


def test_a_machine_whose_name_is_part_of_anothers_is_named_as_well():
    assert _besides([finding("P10"), finding("P1"), finding("P2")]) == " (also on P1, P2)"
    assert _besides([finding("P1")]) == ""

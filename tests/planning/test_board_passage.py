"""What a plan says of the board's passage names every machine."""

import pytest

from capcheck.engine.findings import Finding, SubjectName
from capcheck.lexicon import sentence
from capcheck.planning.board_passage import _besides


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

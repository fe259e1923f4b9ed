"""What a plan says of the board's passage names every machine."""

from types import SimpleNamespace

import pytest

from capcheck.engine.findings import Finding, SubjectName
from capcheck.lexicon import sentence
from capcheck.planning.board_passage import _besides


def finding(machine):
    return Finding(
        rule="r",
        title="t",
        outcome="fail",
        undecided=False,
        subject=SubjectName("board on machine", None, machine),
        facts=(),
        margin=None,
        message=f"too long for {machine}",
        remedy="do",
        file=None,
        row=None,
        missing=(),
        group="",
    )


@pytest.mark.parametrize(
    ("named", "machines", "said"),
    [
        (True, ["P10", "P1", "P2"], " (also on P1, P2)"),
        (True, ["P1"], ""),
        (False, ["P1"], " (on P1)"),
        (False, ["P1", "P2"], " (on P1, P2)"),
    ],
)
def test_every_machine_is_named_that_the_rules_message_does_not_name(named, machines, said):
    rule = SimpleNamespace(message_facts=("machine.name",) if named else ("board.length",))
    assert sentence(_besides(rule, [finding(machine) for machine in machines])) == said

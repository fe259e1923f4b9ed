"""A finding is data: its sentence is made of the rule's message when it is asked for.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

import pytest

from capcheck.engine.findings import FactValue, Finding, SubjectName, template_pieces
from capcheck.values.units import LENGTH


def finding(template: str, *shown: FactValue, undecided: bool = False) -> Finding:
    return Finding(
        rule="part-height",
        title="The part is low enough",
        outcome="warn" if undecided else "fail",
        undecided=undecided,
        subject=SubjectName("part on machine", "L3", "M"),
        facts=(FactValue("part.height", low=1.0, high=2.0, dimension=LENGTH), FactValue("part.ref", text="L3")),
        margin=None,
        template=template,
        shown=shown,
        remedy="Choose a lower part.",
    )


REF, MACHINE = FactValue("part.ref", text="L3"), FactValue("machine.name", text="M")
LIMIT = FactValue("limits.most", low=3.0, high=3.0, dimension=LENGTH)


def test_a_message_shows_facts_and_limits() -> None:
    assert finding("{part.ref}: above {limits.most}", REF, LIMIT).message == "L3: above 3 mm"


def test_the_reference_that_a_message_begins_with_can_be_left_out() -> None:
    assert finding("{part.ref}: above {limits.most}", REF, LIMIT).text == "above 3 mm"
    assert finding("above {limits.most}: {part.ref}", REF, LIMIT).text == "above 3 mm: L3"


def test_one_sentence_speaks_of_several_machines() -> None:
    several = finding("{part.ref}: too high for {machine.name}", REF, MACHINE)
    assert several.told(reference=False, machine="A and B") == "too high for A and B"
    assert several.names_machine
    assert not finding("too high").names_machine


def test_what_is_not_decided_tells_what_is_known_the_open_facts_first() -> None:
    text = finding("{part.ref}: never shown", REF, undecided=True).message
    assert text == "The part is low enough: undecided, part.height is 1 to 2 mm; part.ref is L3"


def test_a_lone_brace_is_refused() -> None:
    with pytest.raises(ValueError, match="expected"):
        template_pieces("a { lone one")

"""Examples of rules: run with the rule, complete, and near enough to its limits to notice a change.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from capcheck import FACTS
from capcheck.cli import main
from capcheck.engine.collect import load_rules
from capcheck.engine.examples import faults_of, run_examples
from capcheck.values.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

RULE = """
[[rule]]
id = "low-parts-only"
title = "The part fits under the cover"
subject = "part"
require = "part.height {sign} limits.most"
outcome = "warn"
message = "{{part.ref}}"
why = "a"
remedy = "b"
basis = "c"
limits = {{ most = "{most}" }}
"""
EXAMPLE = '[[rule.example]]\nfacts = {{ "part.height" = {height} }}\noutcome = "{outcome}"\n'


def faults(tmp_path: Path, *examples: tuple[str, str], sign: str = "<=", most: str = "12 mm") -> list[str]:
    path = tmp_path / "r.toml"
    text = RULE.format(sign=sign, most=most)
    path.write_text(text + "".join(EXAMPLE.format(height=h, outcome=o) for h, o in examples))
    rules = load_rules([path], FACTS)
    return faults_of(rules, run_examples(rules, FACTS), FACTS)


UNKNOWN = ('["0 mm", "20 mm"]', "undecided")


def test_examples_on_the_limit_and_a_step_past_it_leave_no_fault(tmp_path: Path) -> None:
    assert faults(tmp_path, ('"12 mm"', "pass"), ('"13 mm"', "warn"), UNKNOWN) == []


@pytest.mark.parametrize("most", ["12mm", "12.0 mm", "0.50 in", "12"])
def test_a_step_is_one_in_the_last_place_that_is_written(tmp_path: Path, most: str) -> None:
    on, past = {
        "12mm": ('"12 mm"', '"13 mm"'),
        "12.0 mm": ('"12 mm"', '"12.1 mm"'),
        "0.50 in": ('"0.5 in"', '"0.51 in"'),
        "12": ('"12 mm"', '"13 mm"'),
    }[most]
    if most == "12":
        with pytest.raises(InputError):  # a bare number is no length
            faults(tmp_path, (on, "pass"), most=most)
        return
    assert faults(tmp_path, (on, "pass"), (past, "warn"), UNKNOWN, most=most) == []


def test_a_wrong_example_shows_facts_limits_expected_and_actual(tmp_path: Path) -> None:
    fault = faults(tmp_path, ('"12 mm"', "warn"), ('"13 mm"', "warn"), ('"12 mm"', "pass"), UNKNOWN)[0]
    assert fault.splitlines() == [
        f"low-parts-only example 1 ({tmp_path / 'r.toml'}:2)",
        "  facts     part.height = 12 mm",
        "  limits    most = 12 mm",
        "  requires  part.height <= limits.most",
        "  expected  warn",
        "  actual    pass",
    ]


def test_a_limit_that_can_move_a_step_unnoticed_is_a_fault(tmp_path: Path) -> None:
    found = faults(tmp_path, ('"12 mm"', "pass"), ('"20 mm"', "warn"), UNKNOWN)
    assert len(found) == 1
    assert found[0].startswith(f"low-parts-only ({tmp_path / 'r.toml'}:2): no example notices when most is 13 mm")


@pytest.mark.parametrize(("sign", "inside", "outside"), [("<=", "11.5 mm", "12.5 mm"), ("<", "11.5 mm", "12.5 mm")])
def test_a_limit_of_which_nobody_says_whether_it_belongs_is_a_fault(
    tmp_path: Path, sign: str, inside: str, outside: str
) -> None:
    found = faults(tmp_path, (f'"{inside}"', "pass"), (f'"{outside}"', "warn"), UNKNOWN, sign=sign)
    assert len(found) == 1
    assert f'"part.height {sign} limits.most" holds {"without" if "=" in sign else "with"} its limit' in found[0]


def test_each_kind_of_example_must_be_there(tmp_path: Path) -> None:
    found = faults(tmp_path, ('"12 mm"', "pass"), ('"13 mm"', "warn"))
    assert len(found) == 1
    assert "has no example that comes out undecided" in found[0]


def test_an_example_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    found = faults(tmp_path, ('"12 g"', "pass"), ('"12 mm"', "pass"), ('"13 mm"', "warn"), UNKNOWN)
    assert "actual    error: part.height is a length, '12 g' is a mass" in found[0]


def test_a_fact_that_the_rule_never_asks_for_is_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    text = RULE.format(sign="<=", most="12 mm")
    for height, beside, outcome in (
        ("12 mm", '"part.mass" = "3 g", "part.nominal_length" = "3 mm"', "pass"),
        ("13 mm", '"part.ref" = "R1"', "warn"),  # the message shows it
    ):
        text += f'[[rule.example]]\nfacts = {{ "part.height" = "{height}", {beside} }}\noutcome = "{outcome}"\n'
    path.write_text(text + '[[rule.example]]\noutcome = "undecided"\n')
    rules = load_rules([path], FACTS)
    (fault,) = faults_of(rules, run_examples(rules, FACTS), FACTS)
    assert fault == (
        f"low-parts-only example 1 ({path}:2): states part.mass, part.nominal_length, which the rule never asks for: "
        "it decides nothing; remove it, or name it in when or require (it asks for part.height)"
    )


def test_members_may_state_what_is_counted_and_their_names_but_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text(
        RULE.format(sign="<=", most="12 mm")
        .replace('"part"', '"board"')
        .replace("part.height <=", "count(part, where part.height > '5 mm') <=")
        .replace('"12 mm"', "1")
        .replace("{part.ref}", "many")
        + '[[rule.example]]\nmembers = { part = [{ "part.ref" = "R1", "part.height" = "6 mm" }] }\noutcome = "pass"\n'
        + '[[rule.example]]\nmembers = { part = [{ "part.height" = "6 mm", "part.width" = "6 mm", times = 2 }] }\n'
        'outcome = "warn"\n'
    )
    rules = load_rules([path], FACTS)
    found = [f for f in faults_of(rules, run_examples(rules, FACTS), FACTS) if "never asks" in f]
    assert len(found) == 1
    assert f"example 2 ({path}:2): states part.width, which" in found[0]


def test_the_command_ends_with_1_on_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    faults(tmp_path, ('"12 mm"', "pass"))
    assert main(["test", str(tmp_path / "r.toml")]) == 1
    assert capsys.readouterr().out.splitlines()[-1].startswith("1 rule, 1 example: 1 as expected, ")


KINDS = """
[[rule]]
id = "{id}"
title = "Some pairs are apart"
subject = "pair"
when = "pair.kinds == '{kinds}'"
require = "pair.gap >= limits.least"
outcome = "warn"
message = "{{pair.refs}}"
why = "a"
remedy = "b"
basis = "c"
limits = {{ least = "1 mm" }}
"""
OF_KINDS = '[[rule.example]]\nfacts = {{ "pair.kinds" = "{kinds}", "pair.gap" = {gap} }}\noutcome = "{outcome}"\n'


def test_a_comparison_with_a_value_that_never_occurs_names_the_nearest(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text(KINDS.format(id="a", kinds="chip and connector"))
    with pytest.raises(InputError, match=r"never a value of pair\.kinds"):
        load_rules([path], FACTS)


def test_a_rule_none_of_whose_examples_can_occur_is_said_to_be_never_applied(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    text = KINDS.format(id="a", kinds="chip and chip")
    gaps = [('"1 mm"', "pass"), ('"0.9 mm"', "warn"), ('["0 mm", "2 mm"]', "undecided")]

    def found(kinds: str) -> list[str]:
        path.write_text(text + "".join(OF_KINDS.format(kinds=kinds, gap=g, outcome=o) for g, o in gaps))
        rules = load_rules([path], FACTS)
        return faults_of(rules, run_examples(rules, FACTS), FACTS)

    assert not found("chip and chip")
    wrong = found("chip and chips")
    assert 'did you mean "chip and chip"' in wrong[0]
    assert any("none of its examples can occur on a board" in fault for fault in wrong)

"""The rules that ship: their own examples hold, and would notice a changed limit.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

import pytest

from capcheck.engine.collect import load_rules, rule_files
from capcheck.engine.examples import missing_kinds, run_examples, unnoticed_limits
from capcheck.engine.guidelines import shipped_rules
from capcheck.facts import FACTS

RULES = load_rules(rule_files([shipped_rules()]), FACTS)
RESULTS = run_examples(RULES, FACTS)


def test_the_mission_is_covered():
    ids = {rule.id for rule in RULES}
    first_named = {
        "smallest-chip",
        "largest-body",
        "part-height",
        "lead-pitch",
        "ball-recognition",
        "x-ray-for-hidden-joints",
        "coplanarity-check",
        "board-length",
        "board-width",
        "board-thickness",
        "fiducial-count",
        "part-named",
    }
    assert first_named <= ids


@pytest.mark.rows("result", RESULTS, ids=lambda r: f"{r.rule}-{r.number}")
def test_every_example_comes_out_as_stated(result):
    assert result.actual == result.expected, result.facts


@pytest.mark.rows("rule", RULES, ids=lambda r: r.id)
def test_every_rule_shows_a_pass_a_violation_and_an_open_case(rule):
    assert missing_kinds(rule) == []


@pytest.mark.rows("rule", RULES, ids=lambda r: r.id)
def test_a_rule_says_what_is_wrong_in_words_of_its_own(rule):
    # The title says what holds: as the headline of a finding it would state the opposite of the verdict.
    assert rule.headline != rule.title
    assert rule.headline[0].isupper()
    assert not rule.headline.endswith(".")


def test_every_limit_is_noticed_by_an_example():
    assert unnoticed_limits(RULES, FACTS) == []


def test_every_fact_is_described():
    for fact in FACTS:
        assert len(fact.help) > 3, fact.name
        assert not fact.help.endswith("."), fact.name

"""Whatever can be open has a type of question, or is named as asked of nobody: found, not listed."""

import re
from pathlib import Path

import pytest

import capcheck
from capcheck.engine import load_rules, rule_files, shipped_rules
from capcheck.facts import FACTS as CATALOGUE
from capcheck.lexicon.wording import templates
from capcheck.model import Topic
from capcheck.report.questions.question_types import FIGURES, NOBODY, OTHER, question_types
from capcheck.report.sentences import is_fact_of_the_shop
from capcheck.shop import EXPIRED, UNUSED

KNOWN = question_types()
RULES = {rule.id: rule for rule in load_rules(rule_files([shipped_rules()]), CATALOGUE)}
FACTS = sorted({fact for rule in RULES.values() for fact in rule.facts if not is_fact_of_the_shop(fact)})
THEMES = sorted(p.stem for p in (Path(capcheck.__file__).parent / "lexicon" / "sentences").glob("*.toml"))
SENTENCES = {f"{theme}.{key}": text for theme in THEMES for key, text in templates(theme).items()}


def once(name, asked, nobody):
    return (name in asked) + (name in nobody) == 1


@pytest.mark.rows("rule", RULES)
def test_a_rule_that_does_not_pass_has_a_type_or_is_asked_of_nobody(rule):
    assert once(rule, KNOWN.rules, KNOWN.nobody.rules)


@pytest.mark.rows("fact", FACTS)
def test_a_fact_of_the_customers_that_is_missing_has_a_type_or_is_asked_of_nobody(fact):
    assert once(fact, KNOWN.facts, KNOWN.nobody.facts)


@pytest.mark.rows("rule", RULES)
def test_a_rule_that_stays_undecided_leads_to_a_question_or_says_why_not(rule):
    own = [fact for fact in RULES[rule].facts if not is_fact_of_the_shop(fact)]
    asked = [fact for fact in own if KNOWN.of_fact(fact) not in {NOBODY, OTHER}]
    assert asked or all(fact in KNOWN.nobody.facts for fact in own)


@pytest.mark.rows("topic", Topic)
def test_a_record_has_a_type_by_its_topic(topic):
    kind = KNOWN.of_record("", topic)
    assert kind in KNOWN.types or topic in KNOWN.nobody.topics


def test_what_a_note_takes_as_given_is_a_question_or_says_why_not():
    claims = re.compile(r"please confirm|taken as|taken for|is taken|are taken|\?$|which (one )?is correct")
    whole = {key: text for key, text in SENTENCES.items() if not key.endswith(", in short")}
    taken = {key for key, text in whole.items() if claims.search(text)}
    assert {key for key in taken if not once(key, KNOWN.said, KNOWN.nobody.sentences)} == set()


def test_the_table_names_nothing_that_is_not_there():
    assert set(KNOWN.rules) | set(KNOWN.nobody.rules) <= {*RULES, EXPIRED, UNUSED}
    assert set(KNOWN.facts) | set(KNOWN.nobody.facts) <= set(FACTS)
    assert set(KNOWN.missing) <= {*KNOWN.facts, *KNOWN.rules}
    assert set(KNOWN.missing) == set(KNOWN.figures) - {"missing.size"}
    assert {column for columns in KNOWN.figures.values() for column in columns} <= set(FIGURES)
    assert set(KNOWN.said) | set(KNOWN.nobody.sentences) <= set(SENTENCES)
    assert set(KNOWN.topics) | set(KNOWN.nobody.topics) <= set(Topic)
    named = {*KNOWN.said.values(), *KNOWN.topics.values(), *KNOWN.rules.values(), *KNOWN.facts.values(), KNOWN.bodies}
    assert named <= {*KNOWN.types, NOBODY}
    assert {other for kind in KNOWN.types.values() for other in kind.covers} <= set(KNOWN.types)


def test_every_type_is_raised_by_something():
    named = {*KNOWN.said.values(), *KNOWN.topics.values(), *KNOWN.rules.values(), *KNOWN.facts.values(), KNOWN.bodies}
    code = (Path(capcheck.__file__).parent / "report" / "questions" / "causes.py").read_text(encoding="utf-8")
    assert {kind for kind in KNOWN.types if kind not in named and f'"{kind}"' not in code and kind != OTHER} == set()


@pytest.mark.parametrize("reasons", [KNOWN.nobody.rules, KNOWN.nobody.facts, KNOWN.nobody.topics])
def test_whoever_asks_nobody_says_why(reasons):
    assert all(reasons.values())

"""Every limit says where it is from: a numbered guideline, a profile, a named reasoning, or honestly nothing.

Figures: invented samples.
"""

import csv
import json
import re

import pytest

from capcheck.engine.collect import load_rules, rule_files
from capcheck.engine.guidelines import all_guidelines, cited_numbers, shipped_rules
from capcheck.facts import FACTS

RULES = load_rules(rule_files([shipped_rules()]), FACTS)

REASONS = re.compile(
    r"\[[0-9]+\]|\bcommon practice, no source\b|\bfrom memory\b|\b(machine profiles?|line file)\b"
    r"|^(arithmetic|geometry|logic|physics): \w"
)
STANDARD = re.compile(r"\b(IPC|SMEMA|EIA|JEDEC|JESD|J-STD|IEC|ISO)\b[-\w. ]*")
NAMELESS = re.compile(
    r"guideline|handbook|trade press|maker'?s'? note|industry rule|\bquoted\b|data ?sheet", re.IGNORECASE
)


def faults(basis):
    """Return what is wrong with a basis: nothing to stand on, a standard without number, a source without name."""
    found = [] if REASONS.search(basis) else ["rests on nothing that is named"]
    found += [
        f"{name[0].strip()} is not cited by number"
        for name in STANDARD.finditer(basis)
        if not re.match(r"\[[0-9]+\]", basis[name.end() :])
    ]
    return found + [
        f"{nameless[0]} has no name"
        for clause in basis.split(";")
        if (nameless := NAMELESS.search(clause)) and not cited_numbers(clause)
    ]


@pytest.mark.rows("rule", RULES, ids=lambda r: r.id)
def test_a_rule_says_where_its_limit_is_from(rule):
    assert faults(rule.basis) == []


LOOKED_FOR_IN_VAIN = {
    "board-corners": "guidelines speak of what rounded corners cost, and give no radius that a conveyor needs",
    "stop-on-board": "how deep a sensor looks is each machine's own; no open document gives a depth",
}
"""Rules that stand on memory or common practice alone, and what was found; a new one needs a source, or a line."""


def nobody_could_look_up(basis):
    """Whether no clause of a basis cites something, or names a profile or a reasoning."""
    return not cited_numbers(basis) and not re.search(
        r"\b(machine profiles?|line file)\b|(^|; )(arithmetic|geometry|logic|physics)\b", basis
    )


def test_few_rules_stand_on_common_practice_alone_and_it_is_said_that_a_source_was_looked_for():
    assert {rule.id for rule in RULES if nobody_could_look_up(rule.basis)} == set(LOOKED_FOR_IN_VAIN)
    assert nobody_could_look_up("common practice, no source: at most 2")
    assert not nobody_could_look_up("3 mm [4]; common practice, no source")


@pytest.mark.rows(
    "basis",
    [
        "an assembler's guideline: 1.5 mm",
        "IPC-7351 asks for them below 5 mm; common practice, no source",
        "usual",
        "trade press; machine profile",
        "component makers' notes, from memory; a maker's note",
        "industry rule, from memory",
    ],
)
def test_a_source_without_name_or_number_is_noticed(basis):
    assert faults(basis)


def test_the_guidelines_are_numbered_through_and_each_says_where_it_is_found():
    with (shipped_rules() / "guidelines.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["number"]) for row in rows] == list(range(1, len(rows) + 1))
    assert all(cell and cell == cell.strip() for row in rows for cell in row.values())
    assert len({row["title"] for row in rows}) == len(rows)
    assert all(
        re.search(r"\w\.\w+/|\w\.org|[A-Z]\d*-?\w*\d{3}|\d\.\d|textbook|thread \d", row["where"]) for row in rows
    )


def test_each_guideline_is_cited_by_a_rule():
    assert {number for rule in RULES for number in cited_numbers(rule.basis)} == set(all_guidelines())


@pytest.mark.rows("rule", [rule for rule in RULES if rule.guidelines], ids=lambda r: r.id)
def test_explain_prints_the_cited_guidelines_in_full(rule):
    from capcheck.report import explain_rule, rule_json

    printed = " ".join(explain_rule(rule).split())
    for guideline in rule.guidelines:
        assert f"[{guideline.number}] {guideline.title}. {guideline.publisher}" in printed
        assert " ".join(guideline.where.split()) in printed
    told = json.loads(json.dumps(rule_json(rule)))["guidelines"]
    assert [g["title"] for g in told] == [g.title for g in rule.guidelines]


def test_only_a_plain_number_in_square_brackets_is_a_citation():
    assert cited_numbers("a [2], b [10] and again [2]") == (2, 10)
    assert cited_numbers("between [0, 5] mm, [mm], [ 3 ], [" + "9" * 5000 + "]") == ()

"""Whatever findings there are: none is lost, none passes, and each that waits is asked for by one that is live.

Figures: findings are invented.
"""

from __future__ import annotations

from hypothesis import given, strategies as st
from msgspec.structs import replace

from capcheck.engine.collect import load_rules, rule_files
from capcheck.engine.findings import FactValue, Finding, SubjectName
from capcheck.engine.guidelines import shipped_rules
from capcheck.engine.waiting import adopted, folded
from capcheck.facts import FACTS

RULES = load_rules(rule_files([shipped_rules()]), FACTS)
_NAMES = ["body-known", "mounting-known", "thickness-known", "part-height", "part-or-feature", "board-thickness"]
_FACTS = ["part.mounting", "part.height", "part.length", "part.is_part", "board.thickness", "machine.top_clearance"]


@st.composite
def findings(draw: st.DrawFn) -> Finding:
    rule = draw(st.sampled_from(_NAMES))
    undecided = draw(st.booleans()) or draw(st.booleans())
    missing = tuple(draw(st.lists(st.sampled_from(_FACTS), min_size=1, max_size=3, unique=True))) if undecided else ()
    kind = "board" if rule == "thickness-known" else draw(st.sampled_from(["part", "part on head", "board on machine"]))
    ref = draw(st.sampled_from(["U1", "U2"])) if kind.startswith("part") else None
    return Finding(
        rule=rule,
        title="t",
        outcome="warn" if undecided else draw(st.sampled_from(["warn", "fail"])),
        undecided=undecided,
        subject=SubjectName(kind, ref, draw(st.sampled_from(["A", "B"])) if " on " in kind else None),
        facts=tuple(FactValue(name) for name in missing),
        margin=None,
        template="m",
        remedy="r",
        missing=missing,
        part_type=draw(st.sampled_from(["", "P-1"])),
        waived=draw(st.booleans()) and draw(st.booleans()),
        baseline=draw(st.sampled_from(["", "new", "unchanged"])),
    )


@given(st.lists(findings(), max_size=12))
def test_nothing_is_lost_and_each_wait_ends_at_a_question_that_names_what_lacks(before: list[Finding]) -> None:
    after = folded(before, RULES, FACTS)
    assert len(after) == len(before)
    for old, new in zip(before, after, strict=True):
        assert replace(new, waits_for=None, awaited_by=(), missing=old.missing, facts=old.facts) == old
        assert set(old.missing) <= set(new.missing)
        assert {v.name for v in new.facts} >= set(new.missing)
        if new.waits_for is None:
            continue
        assert new.undecided
        assert not new.waived
        targets = [f for f in after if (f.rule, f.subject) == (new.waits_for.rule, new.waits_for.subject)]
        assert any(
            t.undecided and not t.waived and t.waits_for is None and set(new.missing) <= set(t.missing) for t in targets
        )


@given(st.lists(findings(), max_size=12))
def test_only_questions_are_taken_for_known_or_accepted_with_others(before: list[Finding]) -> None:
    settling = {rule.id for rule in RULES if rule.for_others}
    for old, new in zip(before, adopted(before, RULES, FACTS), strict=True):
        assert new == old or (old.rule in settling and old.undecided)


def test_a_feature_of_one_type_is_asked_about_once_and_names_all() -> None:
    one = Finding(
        rule="part-or-feature",
        title="It is a part",
        outcome="warn",
        undecided=True,
        subject=SubjectName("part", "S1"),
        facts=(FactValue("part.is_part"),),
        margin=None,
        template="m",
        remedy="r",
        missing=("part.is_part",),
        part_type="pad",
    )
    many = [replace(one, subject=SubjectName("part", f"S{number}")) for number in range(1, 129)]
    asked, *rest = folded([*many, replace(one, subject=SubjectName("part", "Z1"), part_type="other")], RULES, FACTS)
    assert "undecided until then: S2–S128" in asked.message
    assert [f.subject.ref for f in rest if f.waits_for is None] == ["Z1"]
    assert rest[0].message.endswith("; waits for S1")
    assert not any(f.waits_for for f in folded(many, [], FACTS))

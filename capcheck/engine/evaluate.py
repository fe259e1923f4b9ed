"""Rules to answers: each rule on each of its subjects, in whole columns."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import partial

from msgspec import Struct, field

from capcheck.engine.findings import Finding, Tightest
from capcheck.engine.heads import Capability, answer_on_heads
from capcheck.engine.rules import Rule
from capcheck.engine.shop_code import attempted
from capcheck.engine.subjects import PART_ON_HEAD
from capcheck.engine.tightest import Closest
from capcheck.engine.truth import Counts, record, truth_of
from capcheck.engine.view import View
from capcheck.facts import Session, is_after_heads, not_compared
from capcheck.values import Phase, at_phase


class Answers(Struct):
    """All answers of a run."""

    rules: Sequence[Rule]
    findings: list[Finding] = field(default_factory=list)
    counts: dict[str, Counts] = field(default_factory=lambda: defaultdict(Counts))
    tightest: list[Tightest] = field(default_factory=list)
    capability: Capability | None = None
    skipped: dict[str, list[str]] = field(default_factory=dict)
    """Rules that were not answered, by the input that is missing."""
    broken_rules: list[tuple[str, str]] = field(default_factory=list)
    """Rules that raised, with the error: the run goes on, the exit code is 2."""

    @property
    def whole_rules(self) -> list[Rule]:
        """The rules that were answered: no input was missing, and none raised."""
        aside = {rule for rule, _ in self.broken_rules} | {rule for rules in self.skipped.values() for rule in rules}
        return [rule for rule in self.rules if rule.id not in aside]


def answer(rules: Sequence[Rule], session: Session, missing: Sequence[str] = ()) -> Answers:
    """Return the answers of *rules* on the session's facts.

    *missing* names the whole inputs that are not there (``outline``, ``bom``, ``line``): rules that need them are
    skipped and listed. A rule that raises is listed in *broken_rules* and the run goes on.
    """
    answers = Answers(rules)
    on_heads, after_heads = [], []
    for number, rule in enumerate(rules):
        at_phase(Phase.RULES, number, len(rules))
        answers.counts[rule.id] = Counts()
        lacking = [m for m in missing if m in rule.needs or (m == "line" and _needs_line(rule))]
        if lacking:
            answers.skipped.setdefault(lacking[0], []).append(rule.id)
        elif rule.subject.name == PART_ON_HEAD:
            on_heads.append(rule)
        elif any(is_after_heads(session.catalogue, name) for name in rule.facts):
            after_heads.append(rule)
        else:
            _, error = attempted(partial(_answer_one, answers, rule, session))
            answers.broken_rules += [(rule.id, error)] if error else []
    if on_heads:
        found = answer_on_heads(on_heads, session, answers.counts)
        answers.capability = found.capability
        answers.findings += found.findings
        answers.tightest += found.tightest
        answers.broken_rules += found.broken_rules
        session.able = found.capability.state
    for rule in after_heads:
        _, error = attempted(partial(_answer_one, answers, rule, session))
        answers.broken_rules += [(rule.id, error)] if error else []
    return answers


def _needs_line(rule: Rule) -> bool:
    return rule.subject.each is not None or rule.subject.name == "line"


def _views(rule: Rule, session: Session) -> Iterator[View]:
    subject = rule.subject
    if subject.each is None:
        yield View(session, subject)
    else:
        for each in range(View.count(session, subject.each)):
            yield View(session, subject, each)


def _answer_one(answers: Answers, rule: Rule, session: Session) -> None:
    rows = View.count(session, rule.subject.rows)
    closest = Closest(rule)
    for view in _views(rule, session):
        truth = truth_of(rule, view, rows)
        answers.findings += record(rule, view, truth, answers.counts[rule.id])
        closest.see(view, truth.applicable)
    answers.tightest += closest.result()
    counts = answers.counts[rule.id]
    if _is_searched(rule, session) and not counts.passed + counts.broken + counts.undecided:
        counts.passed, counts.none_found = 1, True


def _is_searched(rule: Rule, session: Session) -> bool:
    """Whether the rule's subjects were looked for on the whole board: where there is none, the answer is that it holds.

    Pairs were, if every part can be compared with its neighbours.
    """
    return rule.subject.name == "data" or (rule.subject.name == "pair" and not session.shared(not_compared).any())

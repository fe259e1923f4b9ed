"""Rules to answers: each rule on each of its subjects, in whole columns.

A line takes a part if one head does. Rules on *part on head* are therefore answered for every head first; a part
that one head is proved to take has no finding, and for any other part the findings are those of the head that comes
closest. All other rules are answered one by one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from capcheck.engine.describe import findings_of
from capcheck.engine.finding import Finding, Tightest
from capcheck.engine.nodes import Environment
from capcheck.engine.rule import Rule
from capcheck.engine.subjects import PART_ON_HEAD, SUBJECTS
from capcheck.engine.tightest import Closest
from capcheck.engine.view import View
from capcheck.facts.catalogue import Session
from capcheck.facts.columns import Truths
from capcheck.model import Codes, Flags, Ints

YES: Final = 1
UNDECIDED: Final = 0
NO: Final = -1


@dataclass(slots=True)
class Counts:
    """How many subjects a rule passed, violated (*broken*), left undecided, or did not apply to."""

    passed: int = 0
    broken: int = 0
    undecided: int = 0
    not_applicable: int = 0


@dataclass(frozen=True, slots=True)
class Capability:
    """Who takes what: *state* is heads × parts, 1 proved, 0 undecided, −1 no; *closest* is a head for each part.

    The state counts rules of level fail only; a warning never keeps a part off a head.
    """

    state: Codes
    closest: Ints

    @property
    def outcome(self) -> Codes:
        """The best state over the heads, for each part; −1 where there is no head."""
        if not len(self.state):
            return np.full(self.state.shape[1], NO, dtype=np.int8)
        best: Codes = self.state.max(axis=0)
        return best


@dataclass(slots=True)
class Answers:
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


def truth_of(rule: Rule, env: Environment, count: int) -> tuple[Truths, Flags]:
    """Return where the rule holds (for *count* rows), and where it is known not to apply.

    A rule holds where it does not apply: the truth is Kleene's *not when or require*.
    """
    require = rule.require.evaluate(env)
    yes, no = np.broadcast_to(require.yes, count), np.broadcast_to(require.no, count)
    if rule.when is None:
        return Truths(yes, no), np.zeros(count, dtype=bool)
    when = rule.when.evaluate(env)
    applies, off = np.broadcast_to(when.yes, count), np.broadcast_to(when.no, count)
    return Truths(yes | off, no & applies), off


def answer(rules: Sequence[Rule], session: Session, missing: Sequence[str] = ()) -> Answers:
    """Return the answers of *rules* on the session's facts.

    *missing* names the whole inputs that are not there (``outline``, ``bom``, ``line``): rules that need them are
    skipped and listed. A rule that raises is listed in *broken_rules* and the run goes on.
    """
    answers = Answers(rules)
    on_heads = []
    for rule in rules:
        answers.counts[rule.id] = Counts()
        lacking = [m for m in missing if m in rule.needs or (m == "line" and _needs_line(rule))]
        if lacking:
            answers.skipped.setdefault(lacking[0], []).append(rule.id)
        elif rule.subject.name == PART_ON_HEAD:
            on_heads.append(rule)
        else:
            _guarded(answers, rule, session)
    if on_heads:
        _answer_on_heads(answers, on_heads, session)
    return answers


def _needs_line(rule: Rule) -> bool:
    return rule.subject.each is not None or rule.subject.name == "line"


def _guarded(answers: Answers, rule: Rule, session: Session) -> None:
    try:
        _answer_one(answers, rule, session)
    except Exception as error:  # noqa: BLE001  a shop's rule or fact may raise anything; the other rules still count
        answers.broken_rules.append((rule.id, f"{type(error).__name__}: {error}"))


def _views(rule: Rule, session: Session) -> Iterator[View]:
    subject = rule.subject
    if subject.each is None:
        yield View(session, subject)
    else:
        for each in range(View.count(session, subject.each)):
            yield View(session, subject, each)


def _answer_one(answers: Answers, rule: Rule, session: Session) -> None:
    counts = answers.counts[rule.id]
    rows = View.count(session, rule.subject.rows)
    closest = Closest(rule)
    for view in _views(rule, session):
        truth, off = truth_of(rule, view, rows)
        open_ = ~(truth.yes | truth.no)
        counts.passed += int((truth.yes & ~off).sum())
        counts.not_applicable += int(off.sum())
        counts.broken += int(truth.no.sum())
        counts.undecided += int(open_.sum())
        for chosen, undecided in ((truth.no, False), (open_, True)):
            if chosen.any():
                answers.findings += findings_of(rule, view.at(np.flatnonzero(chosen)), undecided=undecided)
        closest.see(view, truth.yes & ~off)
    answers.tightest += closest.result()


def _answer_on_heads(answers: Answers, rules: Sequence[Rule], session: Session) -> None:
    subject = SUBJECTS[PART_ON_HEAD]
    heads, parts = View.count(session, "head"), View.count(session, "part")
    state: Codes = np.full((heads, parts), YES, dtype=np.int8)
    # How far a head is from taking a part: rules broken count most, then undecided, then broken warnings.
    distance = np.zeros((heads, parts), dtype=np.int32)
    closest = {rule.id: Closest(rule, parts, alternatives=True) for rule in rules if rule.comparisons}
    working = list(rules)
    views = [View(session, subject, head) for head in range(heads)]
    for rule in rules:
        try:
            for head, view in enumerate(views):
                truth, off = truth_of(rule, view, parts)
                weight = 1 if rule.outcome == "warn" else 10_000
                distance[head] += np.where(truth.no, weight, np.where(truth.yes, 0, 100 if weight > 1 else 1))
                if rule.outcome == "fail":
                    np.minimum(state[head], truth.yes.astype(np.int8) - truth.no, out=state[head])
                if rule.id in closest:
                    closest[rule.id].see(view, truth.yes & ~off)
        except Exception as error:  # noqa: BLE001  as in _guarded
            answers.broken_rules.append((rule.id, f"{type(error).__name__}: {error}"))
            working.remove(rule)
    nearest = distance.argmin(axis=0) if heads else np.zeros(parts, dtype=np.int64)
    answers.capability = Capability(state, nearest)
    for view in views:
        _findings_on_head(answers, working, view, np.flatnonzero(nearest == view.each))
    for rule in working:
        if rule.id in closest:
            answers.tightest += closest[rule.id].result()


def _findings_on_head(answers: Answers, rules: Sequence[Rule], view: View, rows: Ints) -> None:
    """Add the findings of the parts whose closest head the view looks at, and count all that is answered there."""
    if not len(rows):
        return
    here = view.at(rows)
    for rule in rules:
        counts = answers.counts[rule.id]
        truth, off = truth_of(rule, here, len(rows))
        open_ = ~(truth.yes | truth.no)
        counts.passed += int((truth.yes & ~off).sum())
        counts.not_applicable += int(off.sum())
        counts.broken += int(truth.no.sum())
        counts.undecided += int(open_.sum())
        for chosen, undecided in ((truth.no, False), (open_, True)):
            if chosen.any():
                answers.findings += findings_of(rule, view.at(rows[chosen]), undecided=undecided)

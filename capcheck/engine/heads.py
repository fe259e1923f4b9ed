"""Who takes what: rules on *part on head*, answered for a whole line.

A line takes a part if one head does. Every rule is answered for every head first; a part that some head is proved
to take without a warning has no finding. Any other part is looked at again, and its findings are those of the head
that comes closest. A part with leads through holes that no head is proved to insert goes to hands, without a finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np
from msgspec import Struct, field

from capcheck.engine.findings import Finding, Tightest
from capcheck.engine.nodes import Comparison
from capcheck.engine.rules import Rule
from capcheck.engine.shop_code import attempted
from capcheck.engine.subjects import PART_ON_HEAD, SUBJECTS
from capcheck.engine.tightest import BestMargins, limits_of
from capcheck.engine.truth import Counts, Truth, record, truth_of
from capcheck.engine.view import View
from capcheck.facts import Session, with_leads_through_holes
from capcheck.model import Codes, Flags, Floats, Ints

YES: Final = 1
NO: Final = -1

_BROKEN, _UNDECIDED, _WARNED, _BEHIND = 10_000, 100, 1, 1e-5
"""How far a head is from taking a part: broken rules count most, then undecided ones, then warnings; of heads that are
equal in these, by how many others it is outdone at the limits of them."""

_AT_ONCE: Final = 20_000
"""Parts of which the head that comes closest is looked for together: the columns of all heads are held for them."""


class Capability(Struct, frozen=True):
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


class HeadAnswers(Struct):
    """What comes out of the rules on *part on head*."""

    capability: Capability
    findings: list[Finding] = field(default_factory=list)
    tightest: list[Tightest] = field(default_factory=list)
    broken_rules: list[tuple[str, str]] = field(default_factory=list)


def answer_on_heads(rules: Sequence[Rule], session: Session, counts: Mapping[str, Counts]) -> HeadAnswers:
    """Return the answers of *rules*, all of which are on *part on head*; their *counts* are added to."""
    heads, parts = View.count(session, "head"), View.count(session, "part")
    views = [View(session, SUBJECTS[PART_ON_HEAD], head) for head in range(heads)]
    state: Codes = np.full((heads, parts), YES, dtype=np.int8)
    clean = np.ones((heads, parts), dtype=bool)
    answers = HeadAnswers(Capability(state, np.zeros(parts, dtype=np.int64)))

    def answer_one(rule: Rule) -> None:
        margins = BestMargins(rule, parts)
        for view, row, spotless in zip(views, state, clean, strict=True):
            truth = truth_of(rule, view, parts)
            _mark(rule, truth, row, spotless)
            margins.see(view, truth)
        answers.tightest += margins.result(views)

    errors = {rule.id: attempted(partial(answer_one, rule))[1] for rule in rules}
    answers.broken_rules = [(rule, error) for rule, error in errors.items() if error]
    working = [rule for rule in rules if not errors[rule.id]]
    clean &= state == YES
    by_hand = session.shared(with_leads_through_holes) & (answers.capability.outcome < YES)
    fine: Flags = np.logical_or.reduce(clean, axis=0) & ~by_hand
    answers.capability.closest[fine] = clean[:, fine].argmax(axis=0)
    _count_passes(working, views, answers.capability.closest, fine, counts)
    for rule in working:
        counts[rule.id].not_applicable += int(np.count_nonzero(by_hand))
    _look_again(answers, working, views, np.flatnonzero(~fine & ~by_hand), counts)
    return answers


def _mark(rule: Rule, truth: Truth, state: Codes, clean: Flags) -> None:
    if rule.outcome == "fail":
        # Flags are bytes of 0 and 1: their difference is the state, without a copy.
        np.minimum(state, truth.yes.view(np.int8) - truth.no.view(np.int8), out=state)
    else:
        np.logical_and(clean, truth.yes, out=clean)


def _count_passes(
    rules: Sequence[Rule], views: Sequence[View], closest: Ints, fine: Flags, counts: Mapping[str, Counts]
) -> None:
    """Count the rules of the parts that some head takes without a warning: all pass there, or do not apply."""
    for head, view in enumerate(views):
        here = fine & (closest == head)
        number = int(np.count_nonzero(here))
        if not number:
            continue
        for rule in rules:
            off = 0
            if rule.when is not None:
                off = int(np.count_nonzero(here & rule.when.evaluate(view).no))
            counts[rule.id].passed += number - off
            counts[rule.id].not_applicable += off


def _look_again(
    answers: HeadAnswers, rules: Sequence[Rule], views: Sequence[View], rows: Ints, counts: Mapping[str, Counts]
) -> None:
    """Find the head that comes closest for each of the parts in *rows*, and add the findings there."""
    if not len(rows) or not views:
        return
    starts = range(0, len(rows), _AT_ONCE)
    nearest = np.concatenate([_nearest(rules, views, rows[start : start + _AT_ONCE]) for start in starts])
    answers.capability.closest[rows] = nearest
    for head, view in enumerate(views):
        own = rows[nearest == head]
        if len(own):
            here = view.at(own)
            for rule in rules:
                answers.findings += record(rule, here, truth_of(rule, here, len(own)), counts[rule.id])


def _nearest(rules: Sequence[Rule], views: Sequence[View], rows: Ints) -> Ints:
    """Return the head that comes closest for each of the parts in *rows*."""
    there = [view.at(rows) for view in views]
    distance = np.zeros((len(views), len(rows)))
    for rule in rules:
        truths = [truth_of(rule, here, len(rows)) for here in there]
        broken, undecided = (_BROKEN, _UNDECIDED) if rule.outcome == "fail" else (_WARNED, _WARNED)
        for away, truth in zip(distance, truths, strict=True):
            np.add(away, np.where(truth.no, broken, np.where(truth.yes, 0, undecided)), out=away)
        distance += _behind(rule, there, np.array([truth.yes for truth in truths]))
    nearest: Ints = distance.argmin(axis=0)
    return nearest


def _behind(rule: Rule, views: Sequence[View], holds: Flags) -> Floats:
    """Return for each head and part a share of a warning by how many others come closer to the limits of *rule*.

    Of heads that leave as many rules open, the one counts that takes 20 mm before the one that takes 10 mm. A head at
    which the rule holds is behind none.
    """
    behind = np.zeros(holds.shape)
    for comparison in limits_of(rule):
        room = np.array([np.broadcast_to(_room(comparison, view), holds.shape[1:]) for view in views])
        for other in room:
            behind += other > room
    return np.where(holds, 0.0, _BEHIND * behind)


def _room(comparison: Comparison, view: View) -> Floats:
    """Return the least margin, or the greatest where the least has no end; of an unknown limit minus infinity."""
    margin = comparison.margin(view)
    room = np.where(np.isfinite(margin.low), margin.low, margin.high)
    return np.where(np.isfinite(room), room, -np.inf)

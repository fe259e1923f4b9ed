"""What alone keeps a part off a head: where one rule fails on a head that takes the part but for it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from capcheck.engine.describe import findings_of
from capcheck.engine.evaluate import Answers
from capcheck.engine.findings import Finding
from capcheck.engine.subjects import PART_ON_HEAD, SUBJECTS
from capcheck.engine.truth import truth_of
from capcheck.engine.view import View
from capcheck.facts import Session, with_leads_through_holes


def kept_off_by_one(answers: Answers, session: Session) -> Iterator[Finding]:
    """Yield a finding for each head and each part that no head takes, where a single rule fails there.

    The findings of a check tell of such a part on the head alone that comes closest; these tell of every head that one
    change would let take it, as far as what is not known there allows.
    """
    if answers.capability is None:
        return
    rows = np.flatnonzero((answers.capability.outcome < 0) & ~session.shared(with_leads_through_holes))
    rules = [r for r in answers.whole_rules if r.subject.name == PART_ON_HEAD and r.outcome == "fail"]
    if not len(rows) or not rules:
        return
    for head in range(len(answers.capability.state)):
        view = View(session, SUBJECTS[PART_ON_HEAD], head)
        here = view.at(rows)
        fails = np.array([truth_of(rule, here, len(rows)).no for rule in rules])
        alone = fails.sum(axis=0) == 1
        for rule, of_rule in zip(rules, fails, strict=True):
            if (chosen := rows[of_rule & alone]).size:
                yield from findings_of(rule, view.at(chosen), undecided=False)

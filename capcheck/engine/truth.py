"""Where a rule holds: truths of one rule on one view, counted, and turned into findings where it does not."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from capcheck.engine.describe import findings_of
from capcheck.engine.findings import Finding
from capcheck.engine.nodes import Environment
from capcheck.engine.rules import Rule
from capcheck.engine.view import View
from capcheck.model import Flags, Ints


class Counts(Struct):
    """How many subjects a rule passed, violated (*broken*), left undecided, or did not apply to.

    *none_found* says that the one pass is that of a search over the whole board which found nothing to ask about.
    """

    passed: int = 0
    broken: int = 0
    undecided: int = 0
    not_applicable: int = 0
    none_found: bool = False


class Truth(Struct, frozen=True):
    """Where a rule is proved (*yes*) and disproved (*no*); *off* is where it is known not to apply, None for nowhere.

    A rule holds where it does not apply: the truth is Kleene's *not when or require*.
    """

    yes: Flags
    no: Flags
    off: Flags | None

    @property
    def applicable(self) -> Flags:
        """Rows in which the rule applies and is proved."""
        return self.yes if self.off is None else self.yes & ~self.off


def truth_of(rule: Rule, env: Environment, count: int) -> Truth:
    """Return where the rule holds, for *count* rows; of a pair, where it does whichever of the two is the first."""
    truth = _truth(rule, env, count)
    if not rule.is_asked_both_ways:
        return truth
    other = _truth(rule, env.turned(), count)
    off = None if truth.off is None or other.off is None else truth.off & other.off
    return Truth(truth.yes & other.yes, truth.no | other.no, off)


def _truth(rule: Rule, env: Environment, count: int) -> Truth:
    require = rule.require.evaluate(env)
    yes, no = _spread(require.yes, count), _spread(require.no, count)
    if rule.when is None:
        return Truth(yes, no, None)
    when = rule.when.evaluate(env)
    applies, off = _spread(when.yes, count), _spread(when.no, count)
    return Truth(yes | off, no & applies, off)


def _spread(flags: Flags, count: int) -> Flags:
    return flags if len(flags) == count else np.broadcast_to(flags, (count,))


def record(rule: Rule, view: View, truth: Truth, counts: Counts) -> list[Finding]:
    """Add the rows of *view* to *counts*, and return a finding for each row that is not proved."""
    open_ = ~(truth.yes | truth.no)
    counts.passed += int(np.count_nonzero(truth.applicable))
    counts.not_applicable += 0 if truth.off is None else int(np.count_nonzero(truth.off))
    counts.broken += int(np.count_nonzero(truth.no))
    counts.undecided += int(np.count_nonzero(open_))
    found: list[Finding] = []
    for chosen, undecided in ((truth.no, False), (open_, True)):
        for seen, rows in _ways_seen(rule, view, np.flatnonzero(chosen), len(chosen), undecided=undecided):
            found += findings_of(rule, seen.at(rows if view.rows is None else view.rows[rows]), undecided=undecided)
    return found


def _ways_seen(rule: Rule, view: View, rows: Ints, count: int, *, undecided: bool) -> Iterator[tuple[View, Ints]]:
    """Yield the rows with the view in which the rule does not hold: of a pair one of the two ways round."""
    if not len(rows):
        return
    if not rule.is_asked_both_ways:
        yield view, rows
        return
    truth = _truth(rule, view, count)
    here = (~truth.yes if undecided else truth.no)[rows]
    for seen, own in ((view, rows[here]), (view.turned(), rows[~here])):
        if len(own):
            yield seen, own

"""The tightest margins: the least of each limit among the subjects that pass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from capcheck.engine.findings import Margin, Tightest
from capcheck.engine.nodes import Comparison, facts_of
from capcheck.engine.rules import Rule
from capcheck.engine.truth import Truth
from capcheck.engine.view import View
from capcheck.model import Flags, Floats


def limits_of(rule: Rule) -> tuple[Comparison, ...]:
    """Return the comparisons that have a limit to come close to: an equation has none."""
    return tuple(c for c in rule.comparisons if c.operation != "==")


def _tightest(rule: Rule, comparison: Comparison, margin: float, view: View) -> Tightest:
    facts = tuple(view.value(name, 0) for name in facts_of(comparison))
    size = float(comparison.size(view)[0])
    distance = Margin(margin, margin, comparison.left.dimension, comparison.text, size)
    return Tightest(rule.id, comparison.text, distance, view.name(0), facts)


class Closest:
    """Keeps, for each limit of a rule, the passing row with the least margin over all views."""

    def __init__(self, rule: Rule) -> None:
        self.rule = rule
        self.best: dict[Comparison, tuple[float, View, int]] = {}

    def see(self, view: View, passing: Flags) -> None:
        """Take note of one view, in which the rows of *passing* hold the rule; of a pair either way round."""
        if not passing.any():
            return
        for seen in (view, view.turned()) if self.rule.is_asked_both_ways else (view,):
            for comparison in limits_of(self.rule):
                margins = np.where(passing, comparison.least_margin(seen), np.inf)
                row = int(margins.argmin())
                if comparison not in self.best or margins[row] < self.best[comparison][0]:
                    self.best[comparison] = (float(margins[row]), seen, row)

    def result(self) -> list[Tightest]:
        """Return the closest subject of each limit that has one with a finite margin."""
        return [
            _tightest(self.rule, comparison, margin, view if view.subject.rows is None else view.at(np.array([row])))
            for comparison, (margin, view, row) in self.best.items()
            if np.isfinite(margin)
        ]


class BestMargins:
    """Keeps, for each limit of a rule on *part on head*, every part's greatest margin over the heads.

    A part counts on the head that suits it best: that a chip placer nearly takes a tall part is no news where
    another machine takes it easily.
    """

    def __init__(self, rule: Rule, parts: int) -> None:
        self.rule = rule
        self.best: dict[Comparison, Floats] = {c: np.full(parts, -np.inf) for c in limits_of(rule)}

    def see(self, view: View, truth: Truth) -> None:
        """Take note of one head."""
        for comparison, best in self.best.items():
            margin = comparison.least_margin(view)
            if truth.off is not None:
                margin = np.where(truth.off, -np.inf, margin)
            np.maximum(best, margin, out=best)

    def result(self, views: Sequence[View]) -> list[Tightest]:
        """Return the part with the least margin of each limit among those that some head is proved to hold."""
        found = []
        for comparison, best in self.best.items():
            held = np.where((best >= 0) & np.isfinite(best), best, np.inf)
            row = int(held.argmin()) if len(held) else 0
            if not len(held) or not np.isfinite(held[row]):
                continue
            ones = [view.at(np.array([row])) for view in views]
            at = max(ones, key=lambda one: float(comparison.least_margin(one)[0]))
            found.append(_tightest(self.rule, comparison, float(held[row]), at))
        return found

"""How close the closest comes: the least margin of each limit among the subjects that pass."""

from __future__ import annotations

import numpy as np

from capcheck.engine.finding import Margin, Tightest
from capcheck.engine.nodes import facts_of
from capcheck.engine.rule import Rule
from capcheck.engine.view import View
from capcheck.model import Flags, Floats, Ints


class Closest:
    """Keeps, for each comparison of a rule, the passing row with the least margin.

    With *alternatives*, each row counts with the greatest of its margins (a part on the head that suits it best).
    """

    def __init__(self, rule: Rule, rows: int = 0, *, alternatives: bool = False) -> None:
        self.rule = rule
        self.best: list[tuple[float, View, int] | None] = [None] * len(rule.comparisons)
        self.alternatives = alternatives
        self.margins: list[Floats] = [np.full(rows, -np.inf) for _ in rule.comparisons] if alternatives else []
        self.views: list[View] = []
        self.view_of: list[Ints] = [np.zeros(rows, dtype=np.int64) for _ in rule.comparisons] if alternatives else []

    def see(self, view: View, passing: Flags) -> None:
        """Take note of one view in which the rows of *passing* hold the rule."""
        if not passing.any():
            return
        self.views.append(view)
        for number, comparison in enumerate(self.rule.comparisons):
            low = comparison.margin(view).low
            margins = np.where(passing, low if len(low) == len(passing) else low[0], np.inf)
            if self.alternatives:
                better = passing & (margins > self.margins[number])
                self.margins[number][better] = margins[better]
                self.view_of[number][better] = len(self.views) - 1
                continue
            row = int(margins.argmin())
            previous = self.best[number]
            if previous is None or margins[row] < previous[0]:
                self.best[number] = (float(margins[row]), view, row)

    def result(self) -> list[Tightest]:
        """Return the closest subject of each comparison that has one with a finite margin."""
        if self.alternatives and self.views:
            for number, margins in enumerate(self.margins):
                seen = np.where(np.isneginf(margins), np.inf, margins)
                row = int(seen.argmin())
                self.best[number] = (float(seen[row]), self.views[self.view_of[number][row]], row)
        found = []
        for comparison, best in zip(self.rule.comparisons, self.best, strict=True):
            if best is None or not np.isfinite(best[0]):
                continue
            margin, view, row = best
            at = view if view.rows is not None or view.subject.rows is None else view.at(np.array([row]))
            facts = tuple(at.value(name, 0) for name in facts_of(comparison))
            found.append(
                Tightest(
                    self.rule.id, comparison.text, Margin(margin, margin, comparison.left.dimension, comparison.text),
                    at.name(0), facts,
                )
            )  # fmt: skip
        return found

"""Who can place what: for each type of part and head whether the head can place it, and which rule stops it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from capcheck.engine.evaluate import Answers
from capcheck.engine.findings import Margin
from capcheck.engine.rules import Rule
from capcheck.engine.subjects import PART_ON_HEAD, SUBJECTS
from capcheck.engine.truth import truth_of
from capcheck.engine.view import View
from capcheck.facts import Session, may_be_inserted
from capcheck.model import NOT_ON_THE_SURFACE, Board, Flags, Floats, Ints, Said


class Take(Struct, frozen=True):
    """One head for one type: *state* is 1 it takes all parts of the type, 0 not decided, −1 it does not.

    *rule* is the first that stops it or leaves it open; *margin* is by how much it stops it, where the rule has one,
    and *why* what stands in place of a margin. *headline* is what the rule says of a part that it stops, of one that it
    leaves open its title.
    """

    state: int
    rule: str = ""
    margin: Margin | None = None
    why: Said | None = None
    headline: str = ""


class TypeTakers(Struct, frozen=True):
    """One type of part: *rows* of the placement data and an answer for each head, in the line's order.

    *on_heads* is False for parts that no placement head is asked about, such as those with leads through holes, unless
    a head that inserts them is proved to take all of the type.
    """

    index: int
    rows: tuple[int, ...]
    takes: tuple[Take, ...]
    on_heads: bool

    @property
    def state(self) -> int:
        """The best answer of the heads; 1 for parts that need none."""
        return max((t.state for t in self.takes), default=1) if self.on_heads else 1


class _Stops(Struct):
    """For each part on one head: the rule that stops it, its margin, and the rule that leaves it open."""

    no: Ints
    margin: Floats
    by: list[Margin | None]
    open: Ints


def takers(board: Board, answers: Answers, session: Session) -> list[TypeTakers]:
    """Return every type that is placed, those that no head takes first, then those not decided, then by count."""
    placements = board.placements
    rows = placements.is_part.nonzero()[0]
    types = placements.part_type[rows]
    heads = _stops_of_heads(answers, session, len(rows))
    found = []
    for index in sorted(set(types.tolist())):
        columns = np.flatnonzero(types == index) if len(types) else types
        mounting = board.bodies[index].mounting if index >= 0 else None
        takes = tuple(_take(answers, head, columns, stops, rules) for head, (stops, rules) in enumerate(heads))
        on_heads = mounting not in NOT_ON_THE_SURFACE
        if index >= 0 and may_be_inserted(session.line, board.bodies[index]):
            on_heads = any(take.state > 0 for take in takes)
        found.append(TypeTakers(index, tuple(rows[columns].tolist()), takes if on_heads else (), on_heads))
    return sorted(found, key=lambda t: (not t.on_heads, t.state, -len(t.rows), t.rows))


def _stops_of_heads(answers: Answers, session: Session, parts: int) -> list[tuple[_Stops, Sequence[Rule]]]:
    if answers.capability is None:
        return []
    aside = {rule for rules in answers.skipped.values() for rule in rules}
    aside |= {rule for rule, _ in answers.broken_rules}
    rules = [r for r in answers.rules if r.subject.name == PART_ON_HEAD and r.outcome == "fail" and r.id not in aside]
    views = (View(session, SUBJECTS[PART_ON_HEAD], head) for head in range(len(answers.capability.state)))
    return [(_stops(rules, view, parts), rules) for view in views]


def _stops(rules: Sequence[Rule], view: View, parts: int) -> _Stops:
    stops = _Stops(np.full(parts, -1), np.full(parts, np.nan), [None] * parts, np.full(parts, -1))
    for number, rule in enumerate(rules):
        truth = truth_of(rule, view, parts)
        new = truth.no & (stops.no < 0)
        if new.any():
            stops.no[new] = number
            _note_margins(stops, rule, view, new)
        stops.open[~(truth.yes | truth.no) & (stops.open < 0)] = number
    return stops


def _note_margins(stops: _Stops, rule: Rule, view: View, new: Flags) -> None:
    """Keep by how much each of the parts *new* misses the rule: its first comparison that is disproved."""
    for comparison in rule.comparisons:
        broken = np.broadcast_to(comparison.evaluate(view).no, len(new)) & new & np.isnan(stops.margin)
        margins = np.broadcast_to(comparison.margin(view).high, len(new))
        stops.margin[broken] = margins[broken]
        for row in np.flatnonzero(broken).tolist():
            if math.isfinite(margins[row]):
                margin = float(margins[row])
                stops.by[row] = Margin(margin, margin, comparison.left.dimension, comparison.text)


def _take(answers: Answers, head: int, columns: Ints, stops: _Stops, rules: Sequence[Rule]) -> Take:
    """Return the worst answer among the parts of a type: they differ where a rule looks at the place of each."""
    capability = answers.capability
    states = capability.state[head, columns] if capability is not None else np.zeros(0)
    state = int(states.min(initial=1))
    if state > 0:
        return Take(1)
    at = int(columns[int(states.argmin())])
    number = int(stops.no[at] if state < 0 else stops.open[at])
    if number < 0:
        return Take(state)
    rule = rules[number]
    if state < 0:
        return Take(state, rule.id, stops.by[at], headline=rule.headline)
    return Take(state, rule.id, headline=rule.title)

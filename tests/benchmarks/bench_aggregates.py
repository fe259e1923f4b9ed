"""200 rules with aggregates on 100,000 parts, beside the same counts, sums and extremes written by hand in NumPy.

Run it with ``python tests/benchmarks/bench_aggregates.py``; it prints the ratio of the two.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from types import SimpleNamespace

import numpy as np

from capcheck.engine.evaluate import answer
from capcheck.engine.rule_entries import RuleEntry
from capcheck.engine.rules import build_rule
from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.values.units import LENGTH, NUMBER

RULES, PARTS, SIZES = 200, 100_000, 10
KINDS = (
    "count(part, where part.size_{n} > '{limit} mm') <= 100000",
    "sum(part.size_{n}, where part.size_{m} > '{limit} mm') <= '2000000 mm'",
    "greatest(part.size_{n}, where part.surface) <= '20 mm'",
    "all(part.size_{n} <= '20 mm', where part.size_{m} > '{limit} mm')",
)


def given(column: Numbers | Texts | Truths) -> Callable[[], Numbers | Texts | Truths]:
    return lambda: column


def catalogue_of(sizes: list[Numbers], surface: Truths, side: Numbers) -> Catalogue:
    facts = Catalogue()
    facts.text("part.ref", "reference")(given(Texts(np.arange(PARTS), [f"P{n}" for n in range(PARTS)])))
    facts.text("part.type", "type")(given(Texts(np.zeros(PARTS, dtype=np.int64), ["t"])))
    facts.text("side.name", "side")(given(Texts.of(["top", "bottom"])))
    facts.number("part.side_index", NUMBER, "side")(given(side))
    facts.flag("part.surface", "surface")(given(surface))
    for number, size in enumerate(sizes):
        facts.number(f"part.size_{number}", LENGTH, "size")(given(size))
    return facts


def by_hand(plan: list[tuple[int, int, int, float, bool]], sizes: list[Numbers], surface: Truths, side: Numbers) -> int:
    """Return how many of the rules hold, by the same operations on the same arrays."""
    held = 0
    on = [side.low == k for k in (0, 1)]
    for kind, n, m, limit, of_side in plan:
        own, other = sizes[n], sizes[m]
        for mask in on if of_side else [np.ones(PARTS, dtype=bool)]:
            if kind == 0:
                yes, no = own.low > limit, own.high <= limit
                low, high = np.count_nonzero(yes & mask), np.count_nonzero(~no & mask)
                held += low <= high <= 100_000
            elif kind == 1:
                yes, maybe = (other.low > limit) & mask, ~(other.high <= limit) & mask
                perhaps = maybe & ~yes
                high = own.high[yes].sum() + np.maximum(own.high[perhaps], 0).sum()
                low = own.low[yes].sum() + np.minimum(own.low[perhaps], 0).sum()
                held += bool(low <= high <= 2_000_000)
            elif kind == 2:
                yes, maybe = surface.yes & mask, ~surface.no & mask
                high, low = own.high[maybe].max(), own.low[yes].max()
                held += bool(low <= high <= 20)
            else:
                yes = (own.high <= 20) | (other.high <= limit) | ~mask
                no = (own.low > 20) & (other.low > limit) & mask
                held += bool(yes.all() and not no.any())
    return held


def main() -> None:
    generator = np.random.default_rng(7)
    lows = [generator.uniform(0.2, 8.0, PARTS) for _ in range(SIZES)]
    sizes = [Numbers(low, low + generator.uniform(0.0, 0.5, PARTS)) for low in lows]
    surface = Truths.known(generator.random(PARTS) < 0.9)
    side = Numbers.exactly((generator.random(PARTS) < 0.3).astype(float))
    facts = catalogue_of(sizes, surface, side)
    plan, rules = [], []
    for number in range(RULES):
        kind, n, m, of_side = number % 4, number % SIZES, (number * 7 + 1) % SIZES, number % 8 < 4
        limit = round(1 + number / 50, 2)
        plan.append((kind, n, m, limit, of_side))
        entry = RuleEntry(
            id=f"rule-{number}",
            title="t",
            subject="side" if of_side else "board",
            require=KINDS[kind].format(n=n, m=m, limit=limit),
            message="m",
            why="w",
            remedy="r",
            basis="b",
        )
        rules.append(build_rule(entry, facts, file="bench", row=1))
    ours, theirs = [], []
    for _ in range(3):
        session = Session(facts, SimpleNamespace(), SimpleNamespace())
        start = time.perf_counter()
        answers = answer(rules, session)
        ours.append(time.perf_counter() - start)
        start = time.perf_counter()
        held = by_hand(plan, sizes, surface, side)
        theirs.append(time.perf_counter() - start)
    assert answers.broken_rules == [], answers.broken_rules[:2]
    assert sum(counts.passed for counts in answers.counts.values()) == held
    print(f"200 rules {min(ours):.3f} s, by hand {min(theirs):.3f} s: {min(ours) / min(theirs):.2f} × (goal 5)")


if __name__ == "__main__":
    main()

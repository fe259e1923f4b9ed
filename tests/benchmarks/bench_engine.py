"""50 rules × 100,000 parts × 10 heads, beside the same comparisons written by hand in NumPy on the same arrays.

Run it with ``python tests/benchmarks/bench_engine.py``; it prints the ratio of the two and the memory at its peak.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from types import SimpleNamespace

import numpy as np

from capcheck.engine.evaluate import answer
from capcheck.engine.rule_entries import RuleEntry
from capcheck.engine.rules import build_rule
from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts
from capcheck.values.units import LENGTH, NUMBER

RULES, PARTS, HEADS = 50, 100_000, 10


def sizes(generator: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    low = generator.uniform(0.2, 8.0, PARTS)
    return low, low + generator.uniform(0.0, 0.5, PARTS)


def given(column: Numbers) -> Callable[[], Numbers]:
    return lambda: column


def catalogue_of(parts: list[Numbers], limits: list[np.ndarray]) -> Catalogue:
    facts = Catalogue()
    refs = [f"P{n}" for n in range(PARTS)]
    facts.text("part.ref", "reference")(lambda: Texts(np.arange(PARTS), refs))
    facts.text("part.type", "type")(lambda: Texts(np.zeros(PARTS, dtype=np.int64), ["t"]))
    facts.text("head.name", "head")(lambda: Texts.of([f"h{n}" for n in range(HEADS)]))
    facts.text("machine.name", "machine")(lambda: Texts.of(["m"]))
    facts.number("head.machine_index", NUMBER, "machine")(lambda: Numbers.exactly(np.zeros(HEADS)))
    for number in range(RULES):
        facts.number(f"part.size_{number}", LENGTH, "size")(given(parts[number]))
        facts.number(f"head.limit_{number}", LENGTH, "limit")(given(Numbers.exactly(limits[number])))
    return facts


def by_hand(parts: list[Numbers], limits: list[np.ndarray]) -> np.ndarray:
    """Return heads × parts: 1 where all rules are proved, −1 where one is disproved."""
    state = np.ones((HEADS, PARTS), dtype=np.int8)
    for head in range(HEADS):
        for part, limit in zip(parts, limits, strict=True):
            yes = part.high <= limit[head]
            no = part.low > limit[head]
            np.minimum(state[head], yes.astype(np.int8) - no, out=state[head])
    return state


def main() -> None:
    generator = np.random.default_rng(7)
    parts = [Numbers(*sizes(generator)) for _ in range(RULES)]
    # Head 0 takes everything, so that what is timed is the answering and not 100,000 findings.
    limits = [np.concatenate([[9.0], generator.uniform(4.0, 9.0, HEADS - 1)]) for _ in range(RULES)]
    facts = catalogue_of(parts, limits)
    rules = [
        build_rule(
            RuleEntry(
                id=f"rule-{n}",
                title="t",
                subject="part on head",
                require=f"part.size_{n} <= head.limit_{n}",
                message="m",
                why="w",
                remedy="r",
                basis="b",
            ),
            facts,
            file="bench",
            row=1,
        )
        for n in range(RULES)
    ]
    ours, theirs = [], []
    for _ in range(3):
        session = Session(facts, SimpleNamespace(), SimpleNamespace())
        start = time.perf_counter()
        answers = answer(rules, session)
        ours.append(time.perf_counter() - start)
        start = time.perf_counter()
        expected = by_hand(parts, limits)
        theirs.append(time.perf_counter() - start)
    assert answers.broken_rules == [], answers.broken_rules[:2]
    assert answers.capability is not None
    assert (answers.capability.state == expected).all()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"engine {min(ours):.3f} s, by hand {min(theirs):.3f} s: {min(ours) / min(theirs):.2f} × (goal 4)")
    print(f"peak memory {peak:.0f} MB (goal 500)")


if __name__ == "__main__":
    main()

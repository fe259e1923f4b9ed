"""Loading 200 rules, beyond the imports that loading needs.

Run it with ``python tests/benchmarks/bench_rules.py``; it prints a time, and its ratio to the goal.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from capcheck import FACTS, load_rules

RULE = """
[[rule]]
id = "low-{number}"
title = "The part fits under the cover"
subject = "part"
require = "part.height <= limits.most"
message = "{{part.ref}}: {{part.height}} tall, the cover leaves {{limits.most}}"
why = "The cover presses on tall parts."
remedy = "Choose a lower part."
basis = "drawing of the cover"
limits = {{ most = "12 mm" }}
example = [
  {{ facts = {{ "part.height" = "12 mm" }}, outcome = "pass" }},
  {{ facts = {{ "part.height" = "13 mm" }}, outcome = "fail" }},
  {{ facts = {{ "part.height" = ["11 mm", "13 mm"] }}, outcome = "undecided" }},
]
"""
COUNT = 200
GOAL_S = 0.050


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        one, many = Path(name) / "one.toml", Path(name) / "many.toml"
        one.write_text(RULE.format(number=0))
        many.write_text("".join(RULE.format(number=number) for number in range(COUNT)))
        load_rules([one], FACTS)  # the imports
        times = []
        for _ in range(5):
            start = time.perf_counter()
            rules = load_rules([many], FACTS)
            times.append(time.perf_counter() - start)
    print(f"{len(rules)} rules {min(times) * 1000:.0f} ms: {min(times) / GOAL_S:.2f} × of the goal of 50 ms")


if __name__ == "__main__":
    main()

"""How fast part names become bodies: 100,000 placements of 2,000 distinct names, cold and warm.

Run it as a program; it prints shares of a goal and never fails. What counts is the time of the processor, told by known
work in the same run: so a loaded or a slow computer is no slower program.
"""

from __future__ import annotations

import csv
import gc
import itertools
import time
from pathlib import Path

import numpy as np

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of

_FOOTPRINTS = (
    "RES-0402-1005M",
    "C0603",
    "LIB:CAP-0805-2012M pads 1.2x1.5mm",
    "RESC1608X55N",
    "SOIC127P600X175-8N",
    "LQFP64 pitch0.5mm body10x10mm",
    "QFN50P500X500X100-33T340N",
    "BGA256C100P16X16_1700X1700X150N",
    "SOT-23-5",
    "DIO_SMA",
    "TANT_EIA-7343-31",
    "XTAL-3225",
    "CONN-77-QX",
    "MELF 0204",
    "CAPAE630X770N",
    "DFN8 pitch0.65mm body3x3mm",
)

_EXAMPLES = Path(__file__).parents[1] / "packages" / "names" / "part_numbers" / "examples.csv"
"""Published part numbers of all schemes, each with its source."""


def _numbers() -> dict[str, list[str]]:
    """Return the published numbers by the reference letter of their parts."""
    found: dict[str, list[str]] = {}
    with _EXAMPLES.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row["reference"], []).append(row["number"])
    return found


def names(count: int, *, numbered: bool = False) -> list[PartName]:
    """Return so many distinct part names, as mixed as those of a large board; *numbered* with published numbers."""
    made = itertools.islice(itertools.cycle(_FOOTPRINTS), count)
    letters = "RCCRUUUUUDCYJRCU"
    numbers = {letter: itertools.cycle(of_it) for letter, of_it in _numbers().items()}
    return [
        PartName(
            part_number=next(numbers[letters[i % 16]]) if numbered else f"QX-{i}",
            footprint=f"{text}_v{i // 16}" if i % 3 == 0 else text,
            value=f"{i}n",
            description=f"part {i}, 50 V, rev {i}",
            ref_prefix=letters[i % 16],
        )
        for i, text in enumerate(made)
    ]


def _known_work_s() -> float:
    """Return the seconds of work that takes 0.01 s on a processor of 2020: texts, a table, a sort, as in conftest."""
    start = time.process_time()
    counts: dict[str, int] = {}
    for number in range(30_000):
        word = f"{number % 977:03d}"
        counts[word] = counts.get(word, 0) + len(word)
    sorted(counts.items())
    return time.process_time() - start


def _told(label: str, took_s: float, unit_s: float, goal_s: float) -> None:
    alike_s = took_s * 0.01 / unit_s
    print(f"{label}: {took_s:.3f} s, {alike_s:.3f} s on a processor of 2020, {alike_s / goal_s:.0%} of the goal")


def main() -> None:
    """Print what 2,000 distinct names take of the processor, and that against the goal of 0.4 s with cold tables."""
    goal_s = 0.4
    gc.set_threshold(1_000_000, 50, 50)  # as the command does
    _known_work_s()
    batch = names(2000)
    types = np.arange(100_000) % len(batch)
    unit_s = _known_work_s()
    start = time.process_time()
    bodies = bodies_of(batch)
    lengths = np.array([b.length.high for b in bodies])[types]  # as a rule takes them: one body a type
    took_s = time.process_time() - start
    known = sum(b.length.value.is_known for b in bodies)
    unit_s = max(unit_s, _known_work_s())
    print(f"{len(batch)} names, {len(lengths):,} placements, {known} with a body; known work of 0.01 s: {unit_s:.4f} s")
    _told("first time, with tables", took_s, unit_s, goal_s)
    numbered = names(2000, numbered=True)
    for label, again in (("again", batch), ("with part numbers", numbered), ("these again", numbered)):
        start = time.process_time()
        bodies_of(again)
        _told(label, time.process_time() - start, unit_s, goal_s)


if __name__ == "__main__":
    main()

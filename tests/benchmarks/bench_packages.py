"""How fast part names become bodies: 100,000 placements of 2,000 distinct names, cold and warm.

Run it as a program; it prints shares of a goal and never fails.
"""

from __future__ import annotations

import csv
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


def main() -> None:
    """Print names a second for 2,000 distinct names, and the share of the goal of 0.3 s that they take."""
    goal_s = 0.3
    batch = names(2000)
    types = np.arange(100_000) % len(batch)
    start = time.perf_counter()
    bodies_of(batch[:1])
    print(f"tables and imports: {time.perf_counter() - start:.3f} s")
    for label in ("first time", "again"):
        start = time.perf_counter()
        bodies = bodies_of(batch)
        lengths = np.array([b.length.high for b in bodies])[types]  # as a rule takes them: one body a type
        took = time.perf_counter() - start
        known = sum(b.length.value.is_known for b in bodies)
        print(
            f"{label}: {len(batch)} names in {took:.3f} s, {len(batch) / took:,.0f} names/s, "
            f"{took / goal_s:.0%} of the goal for {len(lengths):,} placements; {known} with a body"
        )
    batch = names(2000, numbered=True)
    for label in ("with part numbers", "again"):
        start = time.perf_counter()
        bodies_of(batch)
        print(f"{label}: {time.perf_counter() - start:.3f} s")


if __name__ == "__main__":
    main()

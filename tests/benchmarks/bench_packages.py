"""How fast part names become bodies: 100,000 placements of 2,000 distinct names, cold and warm.

Run it as a program; it prints shares of a goal and never fails.
"""

from __future__ import annotations

import itertools
import time

import numpy as np

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.

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

_NUMBERS = (
    "RC0402FR-07{:03}KL",
    "GRM188R71H{:03}KA01D",
    "C2012X7R1A{:03}K125AC",
    "ERJ-2GEJ{:03}X",
    "TPS54{:03}DDAR",
    "STM32F{:03}RCT6",
    "BQ24{:03}RGTR",
    "XC7A{:03}T-1FTG256C",
    "SN74LVC1G{:03}DBVR",
    "SMAJ{:03}A",
    "T491D{:03}K010AT",
    "MMA02040C{:03}0FB300",
    "ABM8G-{:03}MHZ-4Y-T3",
    "QX-{:03}",
    "0402WGF{:03}1TCE",
    "AP{:04}K-3.3TRG1",
)
"""Forms of makers' numbers, for the parts of the footprints above."""


def names(count: int, *, numbered: bool = False) -> list[PartName]:
    """Return so many distinct part names, as mixed as those of a large board; *numbered* with makers' part numbers."""
    made = itertools.islice(itertools.cycle(_FOOTPRINTS), count)
    return [
        PartName(
            part_number=_NUMBERS[i % 16].format(i // 16) if numbered else f"QX-{i}",
            footprint=f"{text}_v{i // 16}" if i % 3 == 0 else text,
            value=f"{i}n",
            description=f"part {i}, 50 V, rev {i}",
            ref_prefix="RCCRUUUUUDCYJRCU"[i % 16],
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

"""Prints how long a board is read and reconciled, as a multiple of what csv.reader alone needs for the same files.

Run: ``python tests/benchmarks/bench_intake.py [PLACEMENTS] [BOM_LINES]``. Nothing here passes or fails. About 16 times
csv.reader is usual for 100,000 placements: every cell becomes a text, then a code or a number. It is two parts in a
hundred of a whole check of that board, so that more speed here would be paid for in code and hardly be felt.
"""

from __future__ import annotations

import csv
import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from capcheck.intake.read import read_package

ROUNDS = 5


def write_board(folder: Path, placements: int, lines: int) -> tuple[Path, Path]:
    """Write an invented board, parts on a 2 mm grid on both sides, with its BOM."""
    rng = random.Random(7)
    per_line = placements // lines
    columns = int(placements**0.5)
    placed, bom = folder / "placements.csv", folder / "bom.csv"
    types = [("RCL"[i % 3], f"{i}k", f"LAND-{i % 40}", f"PN-{i:05d}") for i in range(lines)]
    numbers = {"R": 0, "C": 0, "L": 0}
    with placed.open("w", newline="") as one, bom.open("w", newline="") as two:
        rows, parts = csv.writer(one), csv.writer(two)
        rows.writerow(["Reference", "Value", "Footprint", "X (mm)", "Y (mm)", "Rotation", "Side"])
        parts.writerow(["Item", "Quantity", "References", "Value", "Package", "Part number"])
        for i, (letter, value, land, number) in enumerate(types):
            refs = []
            for k in range(per_line):
                numbers[letter] += 1
                refs.append(f"{letter}{numbers[letter]}")
                at = i * per_line + k
                x, y = 2.0 * (at % columns) + rng.uniform(-0.2, 0.2), 2.0 * (at // columns) + rng.uniform(-0.2, 0.2)
                side = "bottom" if rng.random() < 0.3 else "top"
                rows.writerow([refs[-1], value, land, f"{x:.4f}", f"{y:.4f}", rng.choice([0, 90, 180, 270]), side])
            parts.writerow([i + 1, per_line, ", ".join(refs), value, land, number])
    return placed, bom


def read_plainly(*files: Path) -> None:
    """Read the files with csv.reader and keep nothing."""
    for file in files:
        with file.open(newline="") as stream:
            for _ in csv.reader(stream):
                pass


def best_of(job: Callable[[], object]) -> float:
    """Return the least seconds of several rounds."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print both times and their ratio."""
    placements = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    lines = int(sys.argv[2]) if len(sys.argv) > 2 else 2_000
    with tempfile.TemporaryDirectory() as name:
        placed, bom = write_board(Path(name), placements, lines)
        plain = best_of(lambda: read_plainly(placed, bom))
        read = best_of(lambda: read_package(None, placements=[placed], bom=bom))
    sys.stdout.write(
        f"{placements} placements, {lines} BOM lines: csv.reader {plain * 1e3:.0f} ms, "
        f"read and reconciled {read * 1e3:.0f} ms, ratio {read / plain:.2f}\n"
    )


if __name__ == "__main__":
    main()

"""Prints how long a large placement file takes to become columns of numbers, against the csv module alone.

Run: ``python tests/benchmarks/bench_tables.py [ROWS]``. Nothing here passes or fails.
"""

from __future__ import annotations

import csv
import sys
import tempfile
import time
from pathlib import Path

from capcheck.intake.tables import read_tables
from capcheck.intake.tables.cells import read_numbers
from capcheck.intake.tables.columns import Role, recognise

ROUNDS = 5


def write_placements(path: Path, rows: int) -> None:
    """Write an invented placement file."""
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["RefDes", "Value", "Package", "Middle X [mm]", "Middle Y [mm]", "Rotation", "Side"])
        writer.writerows(
            [f"C{n}", "100n", "chip 0402", f"{n % 3001 / 10:.4f}", f"{n % 2003 / 10:.4f}", n % 4 * 90, "top"]
            for n in range(rows)
        )


def seconds_alone(path: Path) -> float:
    """Return the time that the csv module needs."""
    begun = time.perf_counter()
    with path.open(newline="") as file:
        rows = list(csv.reader(file))
    return time.perf_counter() - begun if rows else 0.0


def seconds_ours(path: Path) -> float:
    """Return the time to a table, its roles and its numbers."""
    begun = time.perf_counter()
    (table,) = read_tables(path)
    found = recognise(table, "placements").index
    for role in (Role.X, Role.Y, Role.ROTATION):
        read_numbers(table.columns[found[role]], decimal=table.decimal)
    return time.perf_counter() - begun


def main() -> None:
    """Print the ratio."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "placements.csv"
        write_placements(path, rows)
        alone = min(seconds_alone(path) for _ in range(ROUNDS))
        ours = min(seconds_ours(path) for _ in range(ROUNDS))
    print(f"{rows} placements: csv {alone * 1000:.0f} ms, tables {ours * 1000:.0f} ms, {ours / alone:.2f} ×")


if __name__ == "__main__":
    main()

"""How long a large placement file takes to read, against the csv module alone; printed, never a verdict."""

from __future__ import annotations

import csv
import time

from capcheck.intake.cells import read_numbers
from capcheck.intake.columns import Role, recognise
from capcheck.intake.table import read_tables

ROWS = 100_000


def test_reading_a_hundred_thousand_placements(tmp_path, capsys):
    path = tmp_path / "placements.csv"
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["RefDes", "Value", "Package", "Mid X [mm]", "Mid Y [mm]", "Rotation", "Side"])
        writer.writerows(
            [f"C{n}", "100n", "chip 0402", f"{n % 3001 / 10:.4f}", f"{n % 2003 / 10:.4f}", n % 4 * 90, "top"]
            for n in range(ROWS)
        )
    alone, ours = [], []
    for _ in range(3):
        begun = time.perf_counter()
        with path.open(newline="") as file:
            rows = list(csv.reader(file))
        alone.append(time.perf_counter() - begun)
        del rows
        begun = time.perf_counter()
        (table,) = read_tables(path)
        found = recognise(table, "placements").index
        for role in (Role.X, Role.Y, Role.ROTATION):
            numbers, _ = read_numbers(table.columns[found[role]], decimal=table.decimal)
        ours.append(time.perf_counter() - begun)
        assert len(table) == len(numbers) == ROWS
    with capsys.disabled():
        print(f"\nreading {ROWS} placements: {min(ours) / min(alone):.2f} × csv.reader ({min(ours) * 1000:.0f} ms)")

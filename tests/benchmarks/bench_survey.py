"""Many boards in one run, as ratios in that run: processes, the sum of single checks, memory, kept results.

Run it with ``python tests/benchmarks/bench_survey.py [BOARDS]``; it prints ratios and their goals. The boards are the
demo's, shifted and renamed. Processor time is compared as well as time, since others may use the machine.
"""

from __future__ import annotations

import csv
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from capcheck.checking import check_prepared, prepare
from capcheck.machines import read_line
from capcheck.report import questions_asked
from capcheck.shop import Settings
from capcheck.survey import Surveyor, survey

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
DEMO = FIXTURES / "irrigation-controller"


def boards(folder: Path, count: int) -> list[Path]:
    """Write the demo so many times, each shifted by another amount and with other references."""
    made = []
    for number in range(count):
        board = folder / f"board-{number:04d}"
        shutil.copytree(DEMO, board)
        for file in board.glob("*.csv"):
            file.write_text(_moved(file, number), encoding="utf-8")
        toml = board / "board.toml"
        if toml.exists():
            text = toml.read_text(encoding="utf-8")
            toml.write_text(text.replace('name = "', f'name = "{number} ', 1), encoding="utf-8")
        made.append(board)
    return made


def _moved(file: Path, number: int) -> str:
    """Return a placement file with each x moved by some hundredths of a millimetre; another file as it is."""
    text = file.read_text(encoding="utf-8")
    rows = list(csv.reader(text.splitlines()))
    at = next(
        ((n, c) for n, row in enumerate(rows[:5]) for c, cell in enumerate(row) if "x" in cell.lower().split()), None
    )
    if at is None:
        return text
    head, column = at
    for row in rows[head + 1 :]:
        if column < len(row):
            try:
                row[column] = f"{float(row[column]) + number / 100:.3f}"
            except ValueError:
                continue
    return "\n".join(",".join(f'"{c}"' if "," in c else c for c in row) for row in rows) + "\n"


def taken(action: Callable[[], object]) -> tuple[float, float]:
    """Return the time and the processor time, with that of processes that ended, of an action."""

    def used() -> float:
        return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))

    start, before = time.perf_counter(), used()
    action()
    return time.perf_counter() - start, used() - before


def resident_mb() -> float:
    """Return the memory of this process."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def main() -> None:
    """Print the ratios."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    line = read_line(FIXTURES / "lines" / "mixed.line.toml")
    given = prepare(Settings(), line)
    with tempfile.TemporaryDirectory() as name:
        made = boards(Path(name) / "boards", count)
        check_prepared(given, made[0])  # what is loaded and compiled once

        def surveyed(jobs: int, keep: Path | None = None) -> Callable[[], object]:
            surveyor = Surveyor.prepared(Settings(), [line], questions_asked, 0, keep=keep)
            return lambda: survey([Path(name) / "boards"], surveyor, jobs=jobs)

        single, single_cpu = taken(lambda: [check_prepared(given, path) for path in made])
        memory = resident_mb()
        one, one_cpu = taken(surveyed(1))
        two, two_cpu = taken(surveyed(2))
        grown = resident_mb() - memory
        kept = Path(name) / "kept"
        fresh, _ = taken(surveyed(1, kept))
        again, _ = taken(surveyed(1, kept))
        print(f"{count} boards on two processes {one / two:.2f} × as fast as on one (goal 1.8)")
        print(f"  processor time {two_cpu / one_cpu:.2f} × (goal 1.1: nothing is done twice)")
        print(
            f"survey in one process {one / single:.2f} × the sum of single checks (goal 1.3);"
            f" {one_cpu / single_cpu:.2f} × by processor time"
        )
        print(f"memory of this process grew by {grown:.1f} MB, {grown * 1000 / count:.0f} kB a board")
        print(f"unchanged boards with kept results {100 * again / fresh:.1f} % of the time of fresh ones (goal 5 %)")


if __name__ == "__main__":
    main()

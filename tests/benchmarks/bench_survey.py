"""Many boards in one run, as ratios in that run: processes, the sum of single checks, memory, kept results.

Run it with ``python tests/benchmarks/bench_survey.py [BOARDS [FOLDER]]``; it prints ratios and their goals. The boards
are the demo's, or those in FOLDER in turn, shifted and renamed. Where others use the machine, two processes do not have
two processors: so what two that share nothing gain is measured too, and which share of all work is left to the one that
hands it out, which alone bounds what more of them can gain.
"""

from __future__ import annotations

import contextlib
import csv
import multiprocessing
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from capcheck.checking import check_prepared, prepare
from capcheck.machines import read_line
from capcheck.report import questions_asked
from capcheck.shop import Settings
from capcheck.survey import Surveyor, survey
from capcheck.values import InputError

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
DEMO = FIXTURES / "irrigation-controller"


def boards(folder: Path, count: int, models: Sequence[Path] = (DEMO,)) -> list[Path]:
    """Write the models so many times in turn, each shifted by another amount and with another name."""
    made = []
    for number in range(count):
        board = folder / f"board-{number:04d}"
        shutil.copytree(models[number % len(models)], board, copy_function=shutil.copyfile)
        board.chmod(0o755)
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
    text = file.read_text(encoding="utf-8", errors="replace")
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


class Taken(NamedTuple):
    """Seconds that passed, of processor time with that of processes that ended, and of this process alone."""

    passed: float
    used: float
    own: float


def taken(action: Callable[[], object]) -> Taken:
    """Return how long an action took."""

    def used(who: int) -> float:
        return sum(resource.getrusage(who)[:2])

    start, own, others = time.perf_counter(), used(resource.RUSAGE_SELF), used(resource.RUSAGE_CHILDREN)
    action()
    own, others = used(resource.RUSAGE_SELF) - own, used(resource.RUSAGE_CHILDREN) - others
    return Taken(time.perf_counter() - start, own + others, own)


def at_once(actions: Sequence[Callable[[], object]]) -> None:
    """Do each action in a process of its own."""
    processes = [multiprocessing.get_context("fork").Process(target=action) for action in actions]
    for process in processes:
        process.start()
    for process in processes:
        process.join()


def resident_mb() -> float:
    """Return the memory of this process."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def main() -> None:
    """Print the ratios."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    models = sorted(path for path in Path(sys.argv[2]).iterdir() if path.is_dir()) if sys.argv[2:] else [DEMO]
    line = read_line(FIXTURES / "lines" / "mixed.line.toml")
    given = prepare(Settings(), line)
    with tempfile.TemporaryDirectory() as name:
        made = boards(Path(name) / "boards", count, models)
        check_prepared(given, made[0])  # what is loaded and compiled once

        def checked(paths: Sequence[Path]) -> None:
            for path in paths:
                with contextlib.suppress(InputError):  # a folder of a drawing alone
                    check_prepared(given, path)

        def surveyed(jobs: int, keep: Path | None = None) -> Callable[[], object]:
            surveyor = Surveyor.prepared(Settings(), [line], questions_asked, 0, keep=keep)
            return lambda: survey([Path(name) / "boards"], surveyor, jobs=jobs)

        single = taken(lambda: checked(made))
        halves = taken(lambda: at_once([partial(checked, half) for half in (made[::2], made[1::2])]))
        memory = resident_mb()
        one = taken(surveyed(1))
        two = taken(surveyed(2))
        grown = resident_mb() - memory
        kept = Path(name) / "kept"
        fresh, again = taken(surveyed(1, kept)), taken(surveyed(1, kept))
        print(f"{count} boards on two processes {one.passed / two.passed:.2f} × as fast as on one (goal 1.8)")
        print(f"  two that share nothing: {single.passed / halves.passed:.2f} × as fast as one, on this machine now")
        print(f"  processor time {two.used / one.used:.2f} × (goal 1.1: nothing is done twice)")
        share = two.own / two.used
        print(f"  {100 * share:.1f} % of it hands out the work: two can be {2 / (1 + share):.2f} × as fast")
        print(
            f"survey in one process {one.passed / single.passed:.2f} × the sum of single checks (goal 1.3);"
            f" {one.used / single.used:.2f} × by processor time"
        )
        print(f"memory of this process grew by {grown:.1f} MB, {grown * 1000 / count:.0f} kB a board")
        print(f"unchanged boards kept: {100 * again.passed / fresh.passed:.1f} % of the time of fresh ones (goal 5 %)")


if __name__ == "__main__":
    main()

"""What a check of each of some boards takes, and how many times the median the one with the most parts takes.

Run it with ``python tests/benchmarks/bench_boards.py FOLDER [ROUNDS]``, where FOLDER has a folder a board. It is
processor time of this process, the least of the rounds; what the reading process spends on workbooks and drawings,
another processor may do, and it is not counted.
"""

from __future__ import annotations

import contextlib
import statistics
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from capcheck.checking import check_prepared, prepare, read_prepared
from capcheck.machines import read_line
from capcheck.shop import Settings
from capcheck.values import InputError

LINE = Path(__file__).resolve().parents[2] / "fixtures" / "lines" / "mixed.line.toml"


def processor_time(action: Callable[[], object]) -> float:
    """Return the processor time of an action in this process."""
    start = time.process_time()
    action()
    return time.process_time() - start


def main() -> None:
    """Print the seconds of each board and the ratio of the largest to the median."""
    rounds = int(sys.argv[2]) if sys.argv[2:] else 3
    given = prepare(Settings(), read_line(LINE))
    placed: dict[Path, int] = {}
    for path in sorted(path for path in Path(sys.argv[1]).iterdir() if path.is_dir()):
        with contextlib.suppress(InputError):  # a folder of a drawing alone
            placed[path] = int(check_prepared(given, path).board.placements.is_part.sum())
    # One board after the other in each round: what is kept of texts seen before is of another board then.
    whole: dict[Path, list[float]] = {path: [] for path in placed}
    reading: dict[Path, list[float]] = {path: [] for path in placed}
    for _ in range(rounds):
        for path in placed:
            whole[path].append(processor_time(partial(check_prepared, given, path)))
            reading[path].append(processor_time(partial(read_prepared, given, path)))
    for path in sorted(placed, key=placed.__getitem__):
        shown = f"{1000 * min(whole[path]):7.0f} ms, of which reading {1000 * min(reading[path]):7.0f}"
        print(f"{path.name:12} {placed[path]:6,} parts {shown}")
    largest = max(placed, key=placed.__getitem__)
    ratio = min(whole[largest]) / statistics.median(map(min, whole.values()))
    print(f"the largest of {len(placed)} boards, {largest.name}: {ratio:.1f} × the median (goal 3)")


if __name__ == "__main__":
    main()

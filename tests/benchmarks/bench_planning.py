"""How long planning takes and how near the bound it ends, each statement as shares of its limit.

Run it on an idle machine with ``python tests/benchmarks/bench_planning.py [STATEMENT ...]``; without names all are
measured, each in a process of its own, whose greatest memory is told with it. A share of 1.00 is the limit itself; of
the deadline under load the limit is 1.1 times the seconds allowed.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence

import numpy as np

from capcheck.machines.line import Line
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.line_comparison import CandidateLine, compare_lines
from capcheck.planning.line_from_stock import compose_line
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.stock import Stock
from capcheck.values.interval import Interval

TIMES = {
    "pick": "0.08 s",
    "vision": "0.15 s",
    "speed": "2 m/s",
    "acceleration": "20 m/s**2",
    "travel_to_board": "300 mm",
    "travel_between_parts": "50 mm",
    "travel_between_feeders": "20 mm",
    "nozzle_change": "2 s",
    "tray": "3 s",
    "board_transfer": "4 s",
    "fiducial": "0.5 s",
}
TABLE = {"8 mm": 1, "12 mm": 2, "16 mm": 2, "24 mm": 3}


def a_machine(rng: np.random.Generator, name: str, slots: int) -> MachineProfile:
    gantries, nozzles = int(rng.integers(1, 3)), int(rng.integers(3, 12))
    return MachineProfile.model_validate(
        {
            "name": name,
            "floor_width": f"{rng.integers(800, 2000)} mm",
            "floor_depth": f"{rng.integers(1400, 2200)} mm",
            "timing": {**TIMES, "place": f"{rng.uniform(0.06, 0.2):.3f} s"},
            "feeders": {"slots": slots, "slots_used": TABLE, "tray_places": 10, "tray_slots": 6},
            "head": [{"name": f"H{g + 1}", "gantry": g + 1, "nozzles": nozzles} for g in range(gantries)],
        }
    )


def a_job(rng: np.random.Generator, types: int, passes: int = 1, share: float = 1.0) -> Job:
    """Return boards of so many types together, each on about this share of the boards."""
    parts = []
    for k in range(types):
        counts = np.minimum(np.maximum(1, rng.pareto(1.2, passes) * 3), 120).astype(int)
        counts[rng.random(passes) >= share] = 0
        if not counts.any():
            counts[k % passes] = 1
        width = Interval.exactly(float(rng.choice([8, 8, 8, 8, 12, 16, 24])))
        supply = "tray" if k % 29 == 28 else "tape"
        parts.append(PartDemand(f"P{k:03}", tuple(map(int, counts)), (), supply, width, Interval.exactly(4.0)))
    boards = tuple(Pass(f"board {p}", per_year=1000 * (p + 1), marks=3) for p in range(passes))
    return Job("order", boards, tuple(parts))


def capabilities(rng: np.random.Generator, types: int, heads: int) -> np.ndarray:
    can = np.where(rng.random((types, heads)) < 0.25, -1, 1).astype(np.int8)
    can[(can < 0).all(axis=1), -1] = 1
    return can


Shares = Sequence[tuple[str, float]]
"""What was measured, as a share of its limit."""

MEMORY_MB = 500
PATIENCE = 1.0
"""Times the seconds allowed that each search gets."""


def plan(
    types: int,
    machines: int,
    seconds: float,
    gap: float,
    *,
    boards: int = 1,
    share: float = 1.0,
    seed: int = 1,
    slots: int = 150,
) -> Shares:
    """Plan types on machines, of several boards with one set-up: time and gap."""
    rng = np.random.default_rng(seed)
    job = a_job(rng, types, boards, share)
    line = Line("line", tuple(a_machine(rng, f"M{k}", slots) for k in range(machines)), None)
    can = capabilities(rng, types, sum(len(m.head) for m in line.machines))
    # What is asked is the gap to the bound in so much time: the search goes on until it has used that up.
    settings = PlanSettings(gap=gap, time_limit=PATIENCE * seconds, set_up="common")
    begun, used = time.perf_counter(), time.process_time()
    found = plan_line(job, line, can, settings=settings)
    took, worked = time.perf_counter() - begun, time.process_time() - used
    gaps = [s.gap for s in found.set_ups] if found.feasible and len(found.set_ups) == 1 else [float("inf")]
    return [("gap", max(gaps) / gap), ("time", took / seconds), ("processor time", worked / seconds)]


def _burn() -> None:
    while True:
        pass


def under_load() -> Shares:
    """Plan beside twice as many busy processes as there are cores: the deadline holds to a tenth."""
    busy = [multiprocessing.Process(target=_burn, daemon=True) for _ in range(2 * (os.cpu_count() or 1))]
    for one in busy:
        one.start()
    try:
        (_, (_, time_share), _) = plan(400, 6, 10.0, 1e-9)
    finally:
        for one in busy:
            one.terminate()
    return [("time", time_share / 1.1)]


def compose(criterion: str = "cycle") -> Shares:
    """Compose four of thirty machines for five boards: when the best line was found, and the gap to its bound."""
    seconds, rng = 10.0, np.random.default_rng(3)
    job = a_job(rng, 60, 5)
    profiles = tuple(a_machine(rng, f"S{k}", int(rng.integers(40, 120))) for k in range(30))
    stock = Stock(profiles, tuple(capabilities(rng, 60, len(p.head)) for p in profiles))
    begun, last = time.perf_counter(), [0.0]

    def told(_machines: tuple[str, ...], _cycle: float) -> None:
        last.append(time.perf_counter() - begun)

    found = compose_line(
        job, stock, criterion=criterion, settings=PlanSettings(gap=0.01, time_limit=6 * PATIENCE * seconds), found=told
    )
    cycle = found.row.cycle if found.row is not None else None
    gap = float("inf") if cycle is None else 0.0 if found.complete else (cycle - (found.bound or 0.0)) / cycle
    return [("last better line", last[-1] / seconds), ("gap to the bound", gap)]


def compare(types: int, machines: int, lines: int, aim: float) -> Shares:
    """Compare lines that are alike."""
    rng = np.random.default_rng(5)
    job = a_job(rng, types)
    line = Line("line", tuple(a_machine(rng, f"M{k}", 150) for k in range(machines)), None)
    can = capabilities(rng, types, sum(len(m.head) for m in line.machines))
    begun = time.perf_counter()
    compare_lines(job, [CandidateLine(line, can)] * lines, settings=PlanSettings(time_limit=aim))
    return [("time", (time.perf_counter() - begun) / aim)]


STATEMENTS: dict[str, Callable[[], Shares]] = {
    "400x6": lambda: plan(400, 6, 10.0, 0.002),
    "400x6-under-load": under_load,
    **{
        f"400x6x5-common-seed-{seed}": lambda seed=seed: plan(400, 6, 30.0, 0.02, boards=5, share=0.5, seed=seed)
        for seed in range(1, 7)
    },
    "1000x10": lambda: plan(1000, 10, 60.0, 0.003, slots=200),
    "600x6x20-common": lambda: plan(600, 6, 60.0, 0.15, boards=20, share=0.2, slots=200),
    "compose-4-of-30": compose,
    "compare-10-of-400x6": lambda: compare(400, 6, 10, 2.0),
    "compare-30-of-100x4": lambda: compare(100, 4, 30, 2.0),
}


def measure(name: str) -> None:
    """Print the shares of one statement, with the greatest memory of this process."""
    shares = list(STATEMENTS[name]())
    unit = 1e3 if sys.platform == "linux" else 1e6
    shares.append((f"memory of {MEMORY_MB} MB", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit / MEMORY_MB))
    print(f"{name}: " + "; ".join(f"{what} {share:.2f}" for what, share in shares), flush=True)


def main() -> None:
    """Measure the statements named, or all of them one after another."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("statements", nargs="*", metavar="STATEMENT", help=", ".join(STATEMENTS))
    parser.add_argument(
        "--patience",
        type=float,
        default=1.0,
        help="times the seconds allowed, to judge by processor time on a busy machine",
    )
    arguments = parser.parse_args()
    if unknown := set(arguments.statements) - set(STATEMENTS):
        parser.error(f"there is no statement {', '.join(sorted(unknown))}")
    global PATIENCE  # noqa: PLW0603  # set once, before anything is measured
    PATIENCE = arguments.patience
    if len(arguments.statements) == 1:
        measure(arguments.statements[0])
        return
    for name in arguments.statements or STATEMENTS:
        command = [sys.executable, __file__, name, "--patience", str(PATIENCE)]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()

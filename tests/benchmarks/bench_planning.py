"""How long planning takes, as printed ratios to its aims: ``python tests/benchmarks/bench_planning.py``."""

from __future__ import annotations

import time

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


def a_job(rng: np.random.Generator, types: int, passes: int = 1) -> Job:
    parts = []
    for k in range(types):
        counts = tuple(int(n) for n in np.minimum(np.maximum(1, rng.pareto(1.2, passes) * 3), 120))
        width = Interval.exactly(float(rng.choice([8, 8, 8, 8, 12, 16, 24])))
        parts.append(
            PartDemand(f"P{k:03}", counts, (), "tray" if k % 29 == 28 else "tape", width, Interval.exactly(4.0))
        )
    return Job(
        "order", tuple(Pass(f"board {p}", per_year=1000 * (p + 1), marks=3) for p in range(passes)), tuple(parts)
    )


def capabilities(rng: np.random.Generator, types: int, heads: int) -> np.ndarray:
    can = np.where(rng.random((types, heads)) < 0.25, -1, 1).astype(np.int8)
    can[(can < 0).all(axis=1), -1] = 1
    return can


def plan(types: int, machines: int, slots: int, aim: float, *, split: bool, seed: int) -> None:
    rng = np.random.default_rng(seed)
    job = a_job(rng, types)
    line = Line("line", tuple(a_machine(rng, f"M{k}", slots) for k in range(machines)), None)
    can = capabilities(rng, types, sum(len(m.head) for m in line.machines))
    begun = time.perf_counter()
    found = plan_line(job, line, can, settings=PlanSettings(split=split, gap=0.005, time_limit=aim))
    took = time.perf_counter() - begun
    gaps = ", ".join(f"{100 * s.gap:.2f} %" for s in found.set_ups)
    word = "split" if split else "whole"
    print(
        f"{types:4} × {machines} {word}, seed {seed}: {took:6.2f} s = {took / aim:5.2f} of {aim:g} s; gap {gaps}; "
        f"{'all placed' if found.feasible else 'not placed'}"
    )


def compose(aim: float, criterion: str) -> None:
    rng = np.random.default_rng(3)
    job = a_job(rng, 60, passes=5)
    profiles = tuple(a_machine(rng, f"S{k}", int(rng.integers(40, 120))) for k in range(12))
    stock = Stock(profiles, tuple(capabilities(rng, 60, len(p.head)) for p in profiles))
    begun = time.perf_counter()
    found = compose_line(job, stock, criterion=criterion, settings=PlanSettings(gap=0.01, time_limit=aim))
    took = time.perf_counter() - begun
    print(
        f"compose by {criterion}: {took:6.2f} s = {took / aim:5.2f} of {aim:g} s; "
        f"{found.planned} of {found.candidates} candidates planned"
    )


def compare(types: int, machines: int, lines: int, aim: float) -> None:
    rng = np.random.default_rng(5)
    job = a_job(rng, types)
    line = Line("line", tuple(a_machine(rng, f"M{k}", 150) for k in range(machines)), None)
    can = capabilities(rng, types, sum(len(m.head) for m in line.machines))
    begun = time.perf_counter()
    compare_lines(job, [CandidateLine(line, can)] * lines, settings=PlanSettings(time_limit=aim))
    took = time.perf_counter() - begun
    print(f"compare {lines} lines, {types} × {machines}: {took:6.2f} s = {took / aim:5.2f} of {aim:g} s")


if __name__ == "__main__":
    for asked in ((100, 4, 10, 1.0), (400, 6, 4, 1.0), (400, 6, 10, 2.0), (100, 4, 30, 2.0)):
        compare(*asked)
    for seed in (1, 2, 3):
        for split in (True, False):
            plan(60, 3, 60, 1.0, split=split, seed=seed)
            plan(400, 6, 150, 10.0, split=split, seed=seed)
    compose(60.0, "cycle")
    compose(60.0, "output per area")

"""Plans of random lines agree with a second solver that is told profiles, boards and heights alone.

Figures: invented at random in round numbers; OR-tools CP-SAT is the outside check.
"""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import mean_cycle, plan_line
from capcheck.values.interval import UNKNOWN_SIZE, Interval

_SPEC = importlib.util.spec_from_file_location("model_of_lines", Path(__file__).with_name("model_of_lines.py"))
model_of_lines = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(model_of_lines)

HEIGHTS = (
    *(Interval.exactly(h) for h in (1.0, 2.0, 5.0, 8.0)),
    *(Interval(*h) for h in ((2.0, 4.0), (5.0, 7.0), (8.0, 11.0))),
    UNKNOWN_SIZE,
)


def random_machine(rng, shop, name):
    """Return a machine of one or two gantries, some with several heads, two lanes, or little room over the board."""
    times = {
        **{key: f"{rng.integers(4, 25) / 100} s" for key in ("pick", "place", "vision")},
        **{key: f"{rng.integers(1, 5)} s" for key in ("nozzle_change", "tray", "board_transfer")},
        "speed": "1 m/s",
        "acceleration": "10 m/s**2",
        "fiducial": "0.5 s",
        "travel_to_board": "300 mm",
        "travel_between_feeders": "100 mm",
        "travel_between_parts": f"{rng.choice([100, 200])} mm",
    }
    heads = [
        {"name": f"H{g}{k}", "gantry": g, "nozzles": int(rng.integers(1, 5))}
        for g in range(1, 1 + int(rng.integers(1, 3)))
        for k in range(2 if rng.random() < 0.2 else 1)
    ]
    board = {"top_clearance": f"{rng.choice([3, 6, 9])} mm"} if rng.random() < 0.6 else {}
    if rng.random() < 0.3:
        board |= {"lanes": 2, "max_dual_lane_width": "100 mm"}
    slots, trays, covered = (int(rng.integers(*ends)) for ends in ((2, 7), (0, 3), (0, 3)))
    return shop.machine(name, slots=slots, trays=trays, tray_slots=covered, times=times, board=board, head=heads)


def random_job(rng, shop):
    """Return one or two boards on one or both sides, some in panels, of parts with heights that may be open."""
    sides = [(b, side) for b in range(int(rng.integers(1, 3))) for side in ("top", "bottom")][: int(rng.integers(2, 5))]
    circuits = rng.integers(1, 3, 2)
    boards = [
        Pass(
            f"b{b}",
            side,
            per_year=1000.0 * (b + 1),
            circuits=int(circuits[b]),
            marks=int(rng.integers(0, 4)),
            width=Interval.exactly(float(rng.choice([80, 150]))),
        )
        for b, side in sides
    ]
    counts = rng.integers(0, 7, (int(rng.integers(3, 6)), len(boards))) * (rng.random(len(boards)) < 0.8)
    counts[0][counts.sum(axis=0) == 0] = 2
    parts = [
        shop.part(
            f"P{j}",
            *map(int, row),
            supply="tray" if rng.random() < 0.15 else "tape",
            width=Interval(8.0, 12.0) if rng.random() < 0.1 else float(rng.choice([8, 12])),
            height=HEIGHTS[rng.integers(len(HEIGHTS))],
            nozzle=f"n{rng.integers(3)}",
        )
        for j, row in enumerate(counts)
        if row.any()
    ]
    return shop.job(*parts, passes=boards)


@pytest.mark.rows("seed", range(6))
def test_a_plan_of_profiles_and_heights_agrees_with_a_second_solver(shop, seed):
    """Where all is proved, the same optimum and nothing marked; else a plan wherever there may be one, and marked."""
    proved = 0
    for k in range(4):
        rng = np.random.default_rng([seed, k])
        line = shop.line(*(random_machine(rng, shop, f"M{m}") for m in range(int(rng.integers(2, 4)))))
        job = random_job(rng, shop)
        can = np.where(rng.random((len(job.parts), sum(len(m.head) for m in line.machines))) < 0.25, -1, 1)
        can[rng.random(can.shape) < 0.1 * (k % 2)] = 0
        split = bool(rng.random() < 0.7)
        settings = PlanSettings(split=split, gap=0.0, time_limit=30, set_up="common")
        found = plan_line(job, line, can.astype(np.int8), settings=settings)
        marked = any(f.undecided for s in found.set_ups for f in s.feeders)
        least = model_of_lines.least_cycle(line, job, can, split=split, proved=True)
        if least is not None:
            proved += 1
            assert found.shortage is None, (seed, k)
            assert (mean_cycle(found), marked) == (pytest.approx(least, abs=2e-5), False), (seed, k)
            continue
        may_be = model_of_lines.least_cycle(line, job, can, split=split, proved=False)
        assert (found.shortage is None) is (may_be is not None), (seed, k)
        if may_be is not None:
            assert marked or found.warned, (seed, k)
            assert mean_cycle(found) >= may_be - 2e-5, (seed, k)
    assert proved

"""Feeder banks: plans agree with a second solver that puts every feeder on its slots, and slot lists can be mounted.

Figures: invented at random in round numbers; OR-tools CP-SAT is the outside check.
"""

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from depth import sample_of

from capcheck.planning.job import Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.stations_of_line import Strictness, line_heads, stations_of

_SPEC = importlib.util.spec_from_file_location("model_of_banks", Path(__file__).with_name("model_of_banks.py"))
model_of_banks = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(model_of_banks)

WIDTHS = (8, 12, 24)


def random_bank(rng, name, heads, first):
    slots = int(rng.integers(3, 10))
    bank = {"name": name, "slots": slots, "first_slot": first + int(rng.integers(0, 3))}
    if rng.random() < 0.6:
        bank["heads"] = [heads[int(rng.integers(len(heads)))]["name"]]
    elif rng.random() < 0.5:
        bank["gantries"] = [heads[int(rng.integers(len(heads)))]["gantry"]]
    if rng.random() < 0.3:
        bank["max_tape_width"] = f"{rng.choice(WIDTHS[:2])} mm"
    if rng.random() < 0.4:
        bank["tray_places"] = int(rng.integers(1, 3))
        covered = int(rng.integers(1, slots + 1))
        low = bank["first_slot"] + (slots - covered if rng.random() < 0.5 else 0)
        bank["tray_covers"] = [low, low + covered - 1]
    return bank


def random_machine(shop, rng, name):
    gantries = int(rng.integers(1, 3))
    heads = [
        {"name": f"H{g}.{k}", "gantry": g + 1, "nozzles": int(rng.choice([1, 2, 4]))}
        for g in range(gantries)
        for k in range(int(rng.integers(1, 3)))
    ]
    banks, first = [], 1
    for k in range(int(rng.integers(1, 4))):
        banks.append(random_bank(rng, f"bank {k}", heads, first))
        first = banks[-1]["first_slot"] + banks[-1]["slots"]
    if rng.random() < 0.5 or any(h["name"] not in str(banks) for h in heads):
        banks[0].pop("heads", None)
        banks[0].pop("gantries", None)
    table = {f"{w} mm": k + 1 for k, w in enumerate(WIDTHS)}
    trays = None if any("tray_places" in bank for bank in banks) else 0  # else a profile is silent about trays
    return shop.machine(name, slots=None, table=table, trays=trays, head=heads, bank=banks)


def random_question(shop, rng):
    line = shop.line(*(random_machine(shop, rng, name) for name in "AB"[: int(rng.integers(1, 3))]))
    passes = [Pass(f"board {p}", marks=int(rng.integers(0, 3))) for p in range(int(rng.integers(1, 3)))]
    parts = []
    for k in range(int(rng.integers(2, 7))):
        counts = rng.integers(0, 7, len(passes))
        counts[int(rng.integers(len(passes)))] += k < len(passes) or not counts.any()
        supply = "tray" if rng.random() < 0.2 else "tape"
        parts.append(shop.part(f"P{k}", *counts.tolist(), width=float(rng.choice(WIDTHS)), supply=supply))
    for p, one in enumerate(passes):
        if not any(part.counts[p] for part in parts):
            parts.append(shop.part(f"only {one.board}", *(int(p == q) for q in range(len(passes)))))
    job = shop.job(*parts, passes=passes)
    can = shop.takes_all(job, line)
    can[rng.random(can.shape) < 0.15] = -1
    return line, job, can


def can_be_mounted(plan, line):
    """Hold a slot list to the profile: within banks, none on another or under a mounted tray unit, within reach."""
    for set_up in plan.set_ups:
        for machine in line.machines:
            taken = []
            for bank in machine.bank:
                here = [f for f in set_up.feeders if (f.machine, f.bank) == (machine.name, bank.name)]
                assert len({f.part for f in here}) == len(here)
                if any(f.supply == "tray" for f in here):
                    taken += range(bank.tray_covers[0], bank.tray_covers[1] + 1) if bank.tray_covers else ()
                assert sum(f.supply == "tray" for f in here) <= (bank.tray_places or 0)
                for f in here:
                    gantries = {h.name: h.gantry for h in machine.head}
                    assert bank.heads is None or set(f.heads) <= set(bank.heads)
                    assert bank.gantries is None or {gantries[h] for h in f.heads} <= set(bank.gantries)
                    if f.supply == "tape":
                        assert bank.max_tape_width is None or f.tape_width.high <= bank.max_tape_width
                        slots = range(int(f.slot), int(f.slot + f.slots.high))
                        assert bank.first_slot <= slots[0]
                        assert slots[-1] < bank.first_slot + bank.slots
                        taken += slots
            assert len(set(taken)) == len(taken)


@pytest.mark.parametrize("seed", sample_of(range(6), 2))
def test_plans_with_banks_agree_with_a_second_solver(shop, seed):
    feasible = 0
    for k in range(10):
        rng = np.random.default_rng([seed, k])
        line, job, can = random_question(shop, rng)
        split = bool(rng.random() < 0.7)
        settings = PlanSettings(gap=0.0, set_up="common", split=split, time_limit=30.0)
        plan = plan_line(job, line, can, settings=settings)
        stations, _ = stations_of(job, line, can, strictness=Strictness.PROVED)
        times = line_heads(line.machines).times
        expected = model_of_banks.least_cycle(line, job, can, times, stations.fixed, split=split)
        if expected is None:
            assert plan.shortage is not None, (seed, k)
            assert plan.shortage.impossible
            continue
        feasible += 1
        assert plan.shortage is None, (seed, k)
        (set_up,) = plan.set_ups
        assert set_up.seconds * len(job.passes) == pytest.approx(expected, abs=1e-4), (seed, k)
        can_be_mounted(plan, line)
    assert feasible

"""Invented machines, lines and jobs for the planning tests.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from capcheck.machines.line import Line, LineFile
from capcheck.machines.profile import MachineProfile
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.values.interval import Interval

TIMES = {
    "pick": "0.08 s",
    "place": "0.1 s",
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
TABLE = {"8 mm": 1, "12 mm": 2, "16 mm": 2, "24 mm": 3, "32 mm": 4, "44 mm": 5}


def machine(name, *, slots=40, table=TABLE, trays=None, tray_slots=None, gantries=1, nozzles=6, times=TIMES, **more):
    heads = [{"name": f"H{g + 1}", "gantry": g + 1, "nozzles": nozzles} for g in range(gantries)]
    feeders = {"slots": slots, "slots_used": table, "tray_places": trays, "tray_slots": tray_slots, "stick_slots": 4}
    return MachineProfile.model_validate({"name": name, "feeders": feeders, "timing": times, "head": heads, **more})


def line(*machines, **more):
    file = LineFile.model_validate({"name": "line 1", "machines": [m.name for m in machines], **more})
    return Line("line 1", machines, file)


def part(name, *counts, supply="tape", width=8.0, refs=False, **more):
    names = tuple(tuple(f"{name}.{p}.{k}" for k in range(n)) for p, n in enumerate(counts)) if refs else ()
    width = width if isinstance(width, Interval) else Interval.exactly(width)
    return PartDemand(name, counts, names, supply, width, Interval.exactly(4.0), **more)


def job(*parts, passes=None):
    return Job("order", tuple(passes or [Pass("board", marks=3)]), tuple(parts))


def takes_all(a_job, a_line):
    return np.ones((len(a_job.parts), sum(len(m.head) for m in a_line.machines)), dtype=np.int8)


@pytest.fixture
def shop():
    """Makers of machines, lines, parts, jobs and capabilities."""
    return SimpleNamespace(
        machine=machine, line=line, part=part, job=job, takes_all=takes_all, times=TIMES, table=TABLE
    )

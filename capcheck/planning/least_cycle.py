"""A cycle that no plan beats, without any search: what a check can say of speed at once.

Where every machine worked without a pause, each part went to the fastest head that may place it, every trip were full
and no nozzle were changed, a pass would still take this long. A plan is slower; it is never faster.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from capcheck.checking import Report
from capcheck.machines import Line
from capcheck.model import Floats
from capcheck.planning.job import Capabilities, Job, Pass
from capcheck.planning.job_of_boards import plan_input
from capcheck.planning.times import fixed_times, head_times, lanes_hide_transfer
from capcheck.values import InputError


class LeastCycle(Struct, frozen=True):
    """The least seconds of one pass of what the conveyor carries, which gives so many *boards*.

    *set_by* is the station besides the placement machines that takes as long, empty where the machines set it: then it
    holds with no part left to be placed by hand that a head may place.
    """

    side: str
    seconds: float
    boards: int
    set_by: str = ""


def least_cycles(report: Report) -> tuple[LeastCycle, ...]:
    """Return the least cycle of each side with parts for the heads; nothing where profiles state no times of placing.

    Printers, ovens and the like count with the time that they state.
    """
    if report.line is None:
        return ()
    try:
        given = plan_input((report,))
    except InputError:
        return ()  # nothing is there for a placement head
    found = least_seconds(given.job, report.line, given.can)
    other, name = max(((s.cycle, s.name) for s in report.line.stations if s.cycle is not None), default=(0.0, ""))
    return tuple(
        LeastCycle(p.side, max(placing, other), p.boards, name if other > placing else "")
        for p, placing in zip(given.job.passes, found, strict=True)
        if placing > 0
    )


def least_seconds(job: Job, line: Line, can: Capabilities) -> tuple[float, ...]:
    """Return the least seconds that machines take for each pass; 0.0 where the profiles' times say nothing of it.

    *can* is that of :func:`plan_line`: a head of which it is undecided may place the part. For every set of machines
    that some parts cannot leave, their work is shared evenly by the gantries of the set.
    """
    heads = [(m, head_times(machine, head)) for m, machine in enumerate(line.machines) for head in machine.head]
    owner = np.array([m for m, _ in heads])
    may = np.asarray(can) >= 0
    each = np.array([[times.least + times.least_longer(part.length) for _, times in heads] for part in job.parts])
    each = each.reshape(may.shape)
    seconds = np.where(may, each, math.inf).min(axis=1, initial=math.inf)
    placeable = np.isfinite(seconds)
    machines = np.array([may[:, owner == m].any(axis=1) for m in range(len(line.machines))]).T
    gantries = np.array([len({times.gantry for m, times in heads if m == k}) for k in range(len(line.machines))])
    work = np.where(placeable, seconds, 0.0)[:, None] * job.counts()
    sets = {(True,) * len(gantries), *map(tuple, machines[placeable].tolist())}
    found = []
    for number, one in enumerate(job.passes):
        if not work[:, number].any():
            found.append(0.0)
            continue
        alone, shown = _besides(line, one)
        least = float(alone.max())
        for chosen in map(np.array, sets):
            inside = placeable & ~(machines & ~chosen).any(axis=1)
            share = gantries[chosen]
            least = max(least, float((work[inside, number].sum() + (shown[chosen] * share).sum()) / share.sum()))
        found.append(least)
    return tuple(found)


def _besides(line: Line, one: Pass) -> tuple[Floats, Floats]:
    """Return by machine the least cycle without a part, and the seconds of it in which no part can be placed."""
    alone, taken = [], []
    for machine in line.machines:
        fixed = fixed_times(machine, one)
        transfer, marks = fixed.fast_transfer, fixed.fast_on_machine
        hides = lanes_hide_transfer(machine, one) is not False
        taken.append(marks if hides else transfer + marks)
        alone.append(max(marks, (transfer + marks) / 2) if hides else transfer + marks)
    return np.array(alone), np.array(taken)

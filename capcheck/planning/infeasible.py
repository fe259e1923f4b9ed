"""Why a line cannot place a job: the smallest reason, in parts, slots and tray places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from capcheck.planning.formulation import Formulation
from capcheck.planning.stations import Stations

_NOTHING: Final = 1e-6
_HALF: Final = 0.5


@dataclass(frozen=True, slots=True)
class Reason:
    """Why there is no plan, as indices of types and machines.

    *nowhere* are types that no machine takes. For the others, *slots_short* and *trays_short* are the fewest places,
    by machine, that would make room for all of them (empty if places are not the reason). *take_off* are the types
    whose taking off (by hand, odd-form machine) leaves a job that fits, with the fewest placements and then the
    fewest part numbers; *proved* tells whether fewer is proved impossible. *order* is True where neither places nor
    capability are short, but the order along the line or the nozzle kinds stand against it.
    """

    nowhere: tuple[int, ...]
    slots_short: dict[int, float]
    trays_short: dict[int, float]
    take_off: tuple[int, ...]
    take_off_placements: int
    proved: bool
    order: bool


def _shortage(stations: Stations, time_limit: float) -> tuple[dict[int, float], dict[int, float], bool]:
    form = Formulation(stations, may_add=True)
    solved = form.program.solve(time_limit=time_limit)
    if solved.values is None:
        return {}, {}, True
    values = solved.values
    slots = {m: round(float(values[col]), 6) for m, col in form.slack.more_slots.items() if values[col] > _NOTHING}
    trays = {m: round(float(values[col]), 6) for m, col in form.slack.more_trays.items() if values[col] > _NOTHING}
    return slots, trays, False


def _fewest_to_take_off(stations: Stations, time_limit: float) -> tuple[list[int], bool]:
    form = Formulation(stations, may_leave_out=True)
    solved = form.program.solve(time_limit=time_limit)
    if solved.values is None:
        return list(range(len(stations.counts))), False
    out = [j for j, col in form.slack.left_out.items() if solved.values[col] > _HALF]
    return out, solved.status == "optimal"


def smallest_reason(stations: Stations, *, time_limit: float = 10.0) -> Reason:
    """Return the smallest reason why the stations cannot place all types; *time_limit* in seconds for each search."""
    nowhere = stations.nowhere()
    rows = [j for j in range(len(stations.counts)) if j not in set(nowhere)]
    if not rows:
        return Reason(tuple(nowhere), {}, {}, tuple(nowhere), int(stations.counts.sum()), proved=True, order=False)
    placeable = stations.keep(rows)
    slots, trays, order = _shortage(placeable, time_limit)
    more, proved = _fewest_to_take_off(placeable, time_limit) if slots or trays or order else ([], True)
    take_off = sorted([*nowhere, *(rows[j] for j in more)])
    placements = int(np.asarray(stations.counts)[take_off].sum())
    return Reason(tuple(nowhere), slots, trays, tuple(take_off), placements, proved, order)

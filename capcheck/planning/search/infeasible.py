"""Why a line cannot place a job: the smallest reason, in parts, slots and tray places."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.model import Ints
from capcheck.planning.search.deadline import Deadline
from capcheck.planning.search.formulation import Formulation
from capcheck.planning.search.milp import Status
from capcheck.planning.search.stations import Stations
from capcheck.planning.search.without_solver import first_fit

_NOTHING: Final = 1e-6
_HALF: Final = 0.5
"""Share of the time for the places that are short; the rest is for the parts to take off."""
_SECONDS: Final = 10.0


class Reason(Struct, frozen=True):
    """Why there is no plan, as indices of types and pools of slots.

    *nowhere* are types that no machine takes. For the others, *slots_short* and *trays_short* are the fewest places,
    by pool, that would make room for all of them (empty if places are not the reason). *take_off* are the types
    whose taking off (by hand, odd-form machine) leaves a job that fits, with the fewest placements and then the
    fewest part numbers; *proved* tells whether fewer is proved impossible. *order* is True where neither places nor
    capability are short, but the order along the line or the nozzle kinds stand against it.
    """

    nowhere: tuple[int, ...]
    slots_short: dict[int, float]
    trays_short: dict[int, float]
    take_off: tuple[int, ...]
    proved: bool
    order: bool
    rest: Ints | None = None
    """Placements of all types (none of those taken off) that fit, as the search found them; None if it found none."""


class _Places(Struct, frozen=True):
    """Places that are short by pool; *fewest* where proved; *no_use* where no number of them would do."""

    slots: dict[int, float]
    trays: dict[int, float]
    fewest: bool
    no_use: bool


def _shortage(stations: Stations, time_limit: float) -> _Places:
    form = Formulation(stations, may_add=True, coarse=True)
    solved = form.program.solve(time_limit=time_limit)
    if solved.values is None:
        return _Places({}, {}, fewest=False, no_use=solved.status is Status.INFEASIBLE)
    values = solved.values
    slots = {m: round(float(values[col]), 6) for m, col in form.slack.more_slots.items() if values[col] > _NOTHING}
    trays = {m: round(float(values[col]), 6) for m, col in form.slack.more_trays.items() if values[col] > _NOTHING}
    return _Places(slots, trays, fewest=solved.status is Status.OPTIMAL, no_use=False)


def _fewest_to_take_off(stations: Stations, end: Deadline) -> tuple[list[int], bool, Ints | None]:
    """Return the types to take off, whether fewer is proved impossible, and placements of the rest."""
    simple = first_fit(stations, partly=True)
    plans = [] if simple is None else [simple]
    proved = False
    if not end.passed:
        form = Formulation(stations, may_leave_out=True, coarse=True)
        everything = np.zeros(len(form.program.cost))
        everything[list(form.slack.left_out.values())] = 1.0
        solved = form.program.solve(time_limit=end.seconds(), start=everything)
        proved = solved.status is Status.OPTIMAL
        if solved.values is not None:
            plans = [form.placed(solved.values)] if proved else [*plans, form.placed(solved.values)]
    if not plans:
        return list(range(len(stations.counts))), False, None
    best = max(plans, key=lambda placed: int(placed.sum()))
    return np.flatnonzero(best.sum(axis=(1, 2)) == 0).tolist(), proved, best


def smallest_reason(stations: Stations, *, deadline: Deadline | None = None) -> Reason:
    """Return the smallest reason why the stations cannot place all types; the *deadline* ends both searches."""
    end = deadline or Deadline.after(_SECONDS)
    nowhere = stations.nowhere()
    rows = [j for j in range(len(stations.counts)) if j not in set(nowhere)]
    if not rows:
        return Reason(tuple(nowhere), {}, {}, take_off=tuple(nowhere), proved=True, order=False)
    placeable = stations.keep(rows)
    short = _Places({}, {}, fewest=False, no_use=False) if end.passed else _shortage(placeable, end.seconds(_HALF))
    fits = short.fewest and not short.slots and not short.trays
    more, proved, placed = ([], True, None) if fits else _fewest_to_take_off(placeable, end)
    rest = None
    if placed is not None:
        rest = np.zeros((len(stations.counts), *placed.shape[1:]), dtype=np.int64)
        rest[rows] = placed
    return Reason(
        nowhere=tuple(nowhere),
        slots_short=short.slots,
        trays_short=short.trays,
        take_off=tuple(sorted([*nowhere, *(rows[j] for j in more)])),
        proved=proved,
        order=short.no_use,
        rest=rest,
    )

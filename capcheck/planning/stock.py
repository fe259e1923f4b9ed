"""A stock of machine profiles, and the lines that can be composed of them around stations that stand already."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Take
from capcheck.machines import Line, LineFile, MachineProfile
from capcheck.planning.job import Capabilities, Job, Reasons
from capcheck.planning.plan_data import Nowhere


class Stock(Struct, frozen=True):
    """Machine profiles that lines are composed of.

    *can* holds the capabilities of each profile's heads (parts × its heads), *reasons* what is said of them by part and
    head of the profile; *reports* are the boards', against a line of all profiles.
    """

    profiles: tuple[MachineProfile, ...]
    can: tuple[Capabilities, ...]
    max_machines: int = 4
    max_length_mm: float | None = None
    reasons: tuple[Reasons, ...] = ()
    reports: Sequence[Report] = ()
    around: LineFile | None = None
    """A line whose stations, benches and floor the composed ones have; its machines do not count."""

    @property
    def pace(self) -> float:
        """Seconds of the slowest station that places nothing: no line around it is quicker."""
        stations = () if self.around is None else self.around.station
        return max((s.cycle or 0.0 for s in stations), default=0.0)

    @property
    def has_hand_station(self) -> bool:
        """Whether what no machine takes may be placed by hand."""
        return self.around is not None and bool(self.around.bench or self.around.hand_placement)

    @property
    def floor_mm(self) -> float:
        """The length that the whole line may have; infinite without a limit."""
        around = self.around
        limits = [self.max_length_mm, None if around is None else around.free_length]
        return min((limit for limit in limits if limit is not None), default=math.inf)

    @property
    def longest_mm(self) -> float | None:
        """What the machines may take of the floor beside stations and benches; None without a limit."""
        if math.isinf(self.floor_mm):
            return None
        around = self.around
        stations, benches = ((), ()) if around is None else (around.station, around.bench)
        beside = [s.length for s in stations] + [b.length for b in benches]
        return self.floor_mm - sum(length or 0.0 for length in beside)

    def compositions(self) -> Iterator[tuple[int, ...]]:
        """Yield all lines that the number of machines and the length allow, as indices of profiles."""
        for size in range(1, self.max_machines + 1):
            for chosen in itertools.combinations_with_replacement(range(len(self.profiles)), size):
                if self._is_short_enough(chosen):
                    yield chosen

    def _is_short_enough(self, chosen: tuple[int, ...]) -> bool:
        longest = self.longest_mm
        if longest is None:
            return True
        lengths = [self.profiles[k].floor_width for k in chosen]
        # A length that is not stated is not proved to fit.
        return all(x is not None for x in lengths) and sum(x or 0.0 for x in lengths) <= longest

    def reasons_of(self, chosen: tuple[int, ...]) -> Reasons:
        """Return the reasons of a composed line, by part and head of the line."""
        found: dict[tuple[int, int], tuple[Take, ...]] = {}
        begun = 0
        for k in chosen:
            if self.reasons:
                found |= {(part, begun + head): takes for (part, head), takes in self.reasons[k].items()}
            begun += len(self.profiles[k].head)
        return found

    def line(self, chosen: tuple[int, ...]) -> tuple[Line, Capabilities]:
        """Return a composed line with its capabilities; a profile used twice is numbered."""
        machines = []
        for place, k in enumerate(chosen):
            profile = self.profiles[k]
            number = chosen[: place + 1].count(k)
            name = f"{profile.name} #{number}" if chosen.count(k) > 1 else profile.name
            machines.append(profile.model_copy(update={"name": name}))
        name, names = " + ".join(m.name for m in machines), tuple(m.name for m in machines)
        file = None if self.around is None else self.around.model_copy(update={"name": name, "machines": names})
        line = Line(name, tuple(machines), file)
        return line, np.concatenate([self.can[k] for k in chosen], axis=1)


def without_machine(job: Job, stock: Stock) -> tuple[Nowhere, ...]:
    """Return the parts that no machine of the stock takes, each with what keeps it off."""
    found = []
    for j, part in enumerate(job.parts):
        if any((can[j] >= 0).any() for can in stock.can):
            continue
        reasons = [
            (f"{profile.name}/{profile.head[head].name}", takes)
            for profile, said in zip(stock.profiles, stock.reasons, strict=False)
            for (row, head), takes in said.items()
            if row == j
        ]
        found.append(Nowhere(part.name, int(job.counts()[j].sum()), tuple(reasons), refused=True))
    return tuple(found)


def without_parts(job: Job, stock: Stock, names: set[str]) -> tuple[Job, Stock]:
    """Return job and stock without parts that go by hand; as they are where a pass would be left without any."""
    rows = [j for j, part in enumerate(job.parts) if part.name not in names]
    if not all(any(job.parts[j].counts[p] for j in rows) for p in range(len(job.passes))):
        return job, stock
    rest = replace(job, parts=tuple(job.parts[j] for j in rows))
    return rest, replace(stock, can=tuple(can[rows] for can in stock.can), reasons=())

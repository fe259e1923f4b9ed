"""What a plan is asked for, and the assignment that answers it."""

from __future__ import annotations

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.machines import Line
from capcheck.model import Floats
from capcheck.planning.job import Capabilities, Job, PartDemand, Reasons
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.search import Balance, Feeders, Progress, Stations
from capcheck.planning.stations_of_line import LineHeads, Strictness


class Task(Struct, frozen=True):
    """A job on a line, with what the heads can place and why they cannot."""

    job: Job
    line: Line
    can: Capabilities
    reasons: Reasons = field(default_factory=dict)
    settings: PlanSettings = field(default_factory=PlanSettings)
    progress: Progress | None = None

    def of_passes(self, group: tuple[int, ...], rows: list[int]) -> Task:
        """Return the task of some passes and parts alone; passes that place none of the parts are left out."""
        keep = [p for p in group if any(self.job.parts[j].counts[p] for j in rows)]
        passes = tuple(self.job.passes[p] for p in keep)
        job = replace(self.job, passes=passes, parts=tuple(_of_passes(self.job.parts[j], keep) for j in rows))
        place = {row: k for k, row in enumerate(rows)}
        local = {(place[row], head): takes for (row, head), takes in self.reasons.items() if row in place}
        return replace(self, job=job, can=self.can[rows], reasons=local)


def _of_passes(part: PartDemand, keep: list[int]) -> PartDemand:
    refs = tuple(part.refs[p] for p in keep) if part.refs else ()
    return replace(part, counts=tuple(part.counts[p] for p in keep), refs=refs)


class Assignment(Struct, frozen=True):
    """Who places what, how strictly undecided facts were taken for it, and the numbers it was found for.

    *first_cycle* is the slowest machine's time by pass before feeders were saved, *second_cycle* before what they place
    was balanced again; None where nothing was found.
    """

    balance: Balance
    strictness: Strictness
    stations: Stations
    heads: LineHeads
    first_cycle: Floats | None = None
    second_cycle: Floats | None = None
    feeders_needed: Feeders | None = None

"""What a plan is asked for, and an assignment as its answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.machines import Line
from capcheck.planning.job import Job, PartDemand
from capcheck.planning.results import PlanSettings
from capcheck.planning.search import Balance, Progress, Stations
from capcheck.planning.undecided_cases import Capabilities, LineHeads, Reading

Reasons = Mapping[tuple[int, int], Sequence[str]]
"""By (part, head): why a head does not take a part, or what leaves it undecided."""


class Question(Struct, frozen=True):
    """A job on a line, with the heads' capabilities (1 yes, 0 undecided, −1 no) and the reasons for them."""

    job: Job
    line: Line
    can: Capabilities
    reasons: Reasons = field(default_factory=dict)
    settings: PlanSettings = field(default_factory=PlanSettings)
    progress: Progress | None = None

    def of_passes(self, group: tuple[int, ...], rows: list[int]) -> Question:
        """Return the question of some passes and parts alone; passes that place none of the parts are left out."""
        keep = [p for p in group if any(self.job.parts[j].counts[p] for j in rows)]
        parts = tuple(_of_passes(self.job, j, keep) for j in rows)
        job = Job(self.job.name, tuple(self.job.passes[p] for p in keep), parts, self.job.file)
        local = {
            (k, h): self.reasons[row, h]
            for k, row in enumerate(rows)
            for h in range(self.can.shape[1])
            if (row, h) in self.reasons
        }
        return replace(self, job=job, can=self.can[rows], reasons=local)


def _of_passes(job: Job, j: int, keep: list[int]) -> PartDemand:
    part = job.parts[j]
    refs = tuple(part.refs[p] for p in keep) if part.refs else ()
    return replace(part, counts=tuple(part.counts[p] for p in keep), refs=refs)


class Answer(Struct, frozen=True):
    """An assignment, the reading under which it was found, and the numbers it was found for."""

    balance: Balance
    reading: Reading
    stations: Stations
    heads: LineHeads

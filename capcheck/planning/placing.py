"""How accurately each part is placed: Cpk per part and head, as a sum that can be redone by hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from capcheck.machines import Head, Line
from capcheck.planning.job import Job
from capcheck.planning.times import CPK_CAPABLE, Capability, Joint, capability
from capcheck.planning.undecided_cases import Capabilities

if TYPE_CHECKING:
    from capcheck.planning.results import SetUp


class Placing(Struct, frozen=True):
    """One part on one head: the joint, the Cpk with what it was worked out from, and whether the plan uses the head.

    *reaches* is whether Cpk 1.33 is reached: None where it is open, also where a usual value stands in for an unknown.
    """

    part: str
    machine: str
    head: str
    used: bool
    joint: Joint
    capability: Capability

    @property
    def reaches(self) -> bool | None:
        """Whether the usual capability is reached: True or False where proved, else None."""
        return None if self.joint.assumed else self.capability.reaches(CPK_CAPABLE)

    @property
    def missing(self) -> str:
        """What keeps the Cpk open, in words; empty where nothing does."""
        return self.joint.missing or self.capability.open_because


def capability_of(joint: Joint, head: Head) -> Capability:
    """Return the Cpk of a joint on a head. Without a stated rotation accuracy it stays open."""
    return capability(
        joint.allowed, head.accuracy, head.accuracy_sigma, reach=joint.reach, rotation_accuracy=head.rotation_accuracy
    )


def placings(job: Job, line: Line, can: Capabilities, set_ups: Sequence[SetUp]) -> tuple[Placing, ...]:
    """Return every part on every head that is not proved unable to take it: heads in use first, tightest first."""
    used = {(f.machine, head, f.part) for s in set_ups for f in s.feeders for head in f.heads}
    heads = [(m.name, head) for m in line.machines for head in m.head]
    found = [
        Placing(
            part.name,
            machine,
            head.name,
            (machine, head.name, part.name) in used,
            part.joint,
            capability_of(part.joint, head),
        )
        for j, part in enumerate(job.parts)
        for h, (machine, head) in enumerate(heads)
        if part.joint is not None and can[j, h] >= 0
    ]
    return tuple(sorted(found, key=lambda p: (not p.used, bool(p.missing), p.capability.cpk.low)))

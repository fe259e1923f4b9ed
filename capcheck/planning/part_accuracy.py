"""How accurately each part is placed: Cpk per part and head, as a sum that can be redone by hand."""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct

from capcheck.machines import Line
from capcheck.planning.accuracy import CPK_CAPABLE, Capability, Joint, Missing, capability_of
from capcheck.planning.job import Capabilities, Job


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
        return None if self.joint.assumed is not None else self.capability.reaches(CPK_CAPABLE)

    @property
    def missing(self) -> tuple[Missing, ...]:
        """What keeps the Cpk open; empty where nothing does."""
        return self.capability.missing if self.joint.missing is None else (self.joint.missing,)


def placings(job: Job, line: Line, can: Capabilities, used: Collection[tuple[str, str, str]]) -> tuple[Placing, ...]:
    """Return every part on every head that is not proved unable to place it: heads in use first, tightest first.

    *used* are machine, head and part of the plan's feeders.
    """
    heads = [(m.name, head) for m in line.machines for head in m.head]
    found = [
        Placing(
            part=part.name,
            machine=machine,
            head=head.name,
            used=(machine, head.name, part.name) in used,
            joint=part.joint,
            capability=capability_of(part.joint, head),
        )
        for j, part in enumerate(job.parts)
        for h, (machine, head) in enumerate(heads)
        if part.joint is not None and can[j, h] >= 0
    ]
    return tuple(sorted(found, key=lambda p: (not p.used, bool(p.missing), p.capability.cpk.low)))

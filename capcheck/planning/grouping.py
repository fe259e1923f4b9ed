"""Passes in as few set-ups as a simple way finds, where not all of them fit into one.

Each pass, those with most part numbers first, joins the set-up with which it shares most, if the feeders of both still
find places there and nothing has to be taken as more open than before; else it begins a set-up of its own. As a set-up
only grows, no two of those that come out could be joined by the same way.
"""

from __future__ import annotations

from capcheck.planning.assignment import Task
from capcheck.planning.search import Deadline, first_fit
from capcheck.planning.stations_of_line import Strictness, stations_of


def grouped(task: Task, deadline: Deadline) -> list[tuple[int, ...]]:
    """Return the passes of each set-up, in the job's order; past the *deadline* passes are left alone."""
    used = [{j for j, part in enumerate(task.job.parts) if part.counts[p]} for p in range(len(task.job.passes))]
    groups: list[tuple[list[int], set[int], int]] = []
    for p in sorted(range(len(used)), key=lambda k: (-len(used[k]), k)):
        open_alone = _openness(task, [p], used[p])
        for number in sorted(range(len(groups)), key=lambda g: (-len(groups[g][1] & used[p]), g)):
            passes, parts, before = groups[number]
            if deadline.passed:
                continue
            together = _openness(task, [*passes, p], parts | used[p])
            if together <= max(open_alone, before) and together < len(Strictness):
                groups[number] = [*passes, p], parts | used[p], together
                break
        else:
            groups.append(([p], used[p], open_alone))
    return sorted(tuple(sorted(passes)) for passes, _, _ in groups)


def _openness(task: Task, passes: list[int], parts: set[int]) -> int:
    """Return how open facts have to be taken for all parts to find a place: an index of strictness, or one behind all.

    Parts that no head takes whatever is open are left to other sentences.
    """
    asked = task.of_passes(tuple(sorted(passes)), sorted(parts))
    found = [
        stations_of(asked.job, asked.line, asked.can, strictness=strictness, split=task.settings.split)[0]
        for strictness in Strictness
    ]
    never = set(found[-1].nowhere())
    kept = [j for j in range(len(asked.job.parts)) if j not in never]
    for number, stations in enumerate(found):
        if set(stations.nowhere()) <= never and (not kept or first_fit(stations.keep(kept)) is not None):
            return number
    return len(found)

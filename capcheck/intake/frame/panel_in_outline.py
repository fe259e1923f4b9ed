"""An outline that is a panel while the placements are one circuit: its holes and marks repeat."""

from __future__ import annotations

from collections import Counter
from typing import Final

import numpy as np

from capcheck.model import Decision, Floats, Outline, Topic, say

_FEWEST: Final = 4
_MOST: Final = 400
_SAME_MM: Final = 0.05
_COVERED: Final = 0.8


def circuits_in_outline(outline: Outline, x: Floats, y: Floats) -> Decision | None:
    """Return the question whether the outline is a panel of the placements' circuit, or None.

    The circles of the drawing must repeat by a step along x or y that is wider than the parts spread, often enough
    for two or more circuits. Coordinates in mm, in the outline's frame.
    """
    known = np.isfinite(x) & np.isfinite(y)
    circles = np.array([*outline.holes, *outline.marks], dtype=np.float64).reshape(-1, 3)
    if not _FEWEST <= len(circles) <= _MOST or known.sum() < 2:
        return None
    left, low, right, high = outline.polygon.bounds
    counts, pitches = [], []
    for axis, values, size in ((0, x[known], right - left), (1, y[known], high - low)):
        count, pitch = _repeats(circles, axis, float(np.ptp(values)), size)
        counts.append(count)
        pitches.append(pitch)
    columns, rows = counts
    if columns * rows == 1:
        return None
    keys = [f"columns = {columns}", f'pitch_x = "{pitches[0]:.3f} mm"'] if columns > 1 else []
    keys += [f"rows = {rows}", f'pitch_y = "{pitches[1]:.3f} mm"'] if rows > 1 else []
    return Decision(
        Topic.PANEL,
        say("frame.no panel"),
        say("frame.repeated holes", columns=columns, rows=rows),
        say("frame.a panel"),
        f"panel = {{ {', '.join(keys)} }}",
        open=True,
    )


def _repeats(circles: Floats, axis: int, span: float, size: float) -> tuple[int, float]:
    """Return how many circuits lie along *axis* and their pitch; 1 and 0 where nothing repeats."""
    along, across, width = circles[:, axis], circles[:, 1 - axis], circles[:, 2]
    step = along[None, :] - along[:, None]
    level = np.abs(across[None, :] - across[:, None]) < _SAME_MM
    alike = level & (np.abs(width[None, :] - width[:, None]) < _SAME_MM)
    steps = step[alike & (step > max(span, 1.0)) & (step < size)]
    if not len(steps):
        return 1, 0.0
    votes = Counter(np.round(steps, 1).tolist())
    for pitch in sorted(votes):
        count = round((size - span) / pitch) + 1 if pitch > 0 else 1
        expected = len(circles) * (count - 1) / count
        if count > 1 and votes[pitch] >= _COVERED * expected and votes[pitch] >= _FEWEST / 2:
            return count, float(np.median(steps[np.abs(steps - pitch) < 0.1]))
    return 1, 0.0

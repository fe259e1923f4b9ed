"""The bodies near a point, without a look at all others: fiducials times parts are a hundred million on a panel."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.model import Ints

if TYPE_CHECKING:
    from shapely import STRtree


class Nearby:
    """Finds rows of *bodies* by where their greatest bodies may reach; those that nothing bounds are always found."""

    def __init__(self, bodies: Bodies) -> None:
        bounded = bodies.bounded
        self._rows = np.flatnonzero(bounded)
        self._wide = np.flatnonzero(bodies.located & ~bounded)
        self._reach = float(np.hypot(*bodies.outer[bounded].T).max(initial=0.0))
        self._centres = bodies.x_mm[bounded], bodies.y_mm[bounded]

    @cached_property
    def _tree(self) -> STRtree:
        import shapely  # here: most boards of a hook list no mark, and nothing is looked for

        return shapely.STRtree(np.asarray(shapely.points(*self._centres), dtype=object))

    def within(self, x_mm: float, y_mm: float, distance_mm: float) -> Ints:
        """Return the rows whose bodies may lie within a distance of a point, in order."""
        import shapely

        far = distance_mm + self._reach
        if not math.isfinite(far):
            return np.sort(np.concatenate([self._rows, self._wide]))
        found = self._tree.query(shapely.box(x_mm - far, y_mm - far, x_mm + far, y_mm + far))
        return np.sort(np.concatenate([self._rows[found], self._wide]))

    def nearest(self, x_mm: float, y_mm: float) -> Ints:
        """Return rows among which the body nearest to a point is, whatever the sizes within their bounds."""
        import shapely

        if not len(self._rows):
            return self._wide
        # No body is farther than its centre: one whose centre lies farther than the nearest plus its reach is not it.
        _, distance = self._tree.query_nearest(
            np.array([shapely.Point(x_mm, y_mm)]), return_distance=True, all_matches=False
        )
        return self.within(x_mm, y_mm, float(distance[0]) * (1 + 1e-9))

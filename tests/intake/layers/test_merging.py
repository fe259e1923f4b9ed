"""Areas that touch are one, as a union of all by the geometry library is; what lies in another changes nothing.

Figures: invented.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.intake.layers.merging import merged

steps = st.integers(0, 12).map(lambda n: n / 2)
sizes = st.integers(1, 8).map(lambda n: n / 4)


@st.composite
def drawn_areas(draw):
    x, y, a, b = draw(steps), draw(steps), draw(sizes), draw(sizes)
    if draw(st.booleans()):
        return shapely.Point(x, y).buffer(a / 2, quad_segs=4)
    area = shapely.box(x, y, x + a, y + b)
    return area.difference(area.buffer(-0.1)) if draw(st.booleans()) else area


@given(st.lists(drawn_areas(), max_size=14))
def test_what_is_merged_is_the_union(areas):
    found = merged(areas)
    whole = shapely.union_all(areas)
    assert sum(one.area for one in found) == pytest.approx(whole.area)
    assert shapely.union_all(found).symmetric_difference(whole).area == pytest.approx(0, abs=1e-9)
    one, other = shapely.STRtree(found).query(found, predicate="overlaps") if found else np.zeros((2, 0))
    assert not len(one), (one, other)


def test_many_strokes_and_holes_over_one_land_are_that_land():
    land = shapely.box(0, 0, 4, 3)
    within = [shapely.Point(x, y).buffer(0.2) for x in (1, 2, 3) for y in (1, 2)]
    again = [land, shapely.box(1, 1, 2, 2), land]
    (found,) = merged([*within, land, *again])
    assert found.equals(land)

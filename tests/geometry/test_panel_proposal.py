"""Panels that are proposed for boards too small for the line.

Figures: geometry of invented bodies, worked by hand; a figure of the trade has its source beside it.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.geometry.panel_proposal import Layout, propose_panels
from capcheck.geometry.travel import TransportLimits
from capcheck.values.interval import Interval


def machine(along, across, *, least=50.0):
    return [TransportLimits(Interval(least, along), Interval(least, across), "one lane")]


def test_the_largest_panel_fills_the_machine_and_no_more():
    best = propose_panels(40, 30, [machine(250, 200)], Layout(2.0, 2.0, rails=10.0)).largest
    assert (best.columns, best.rows, best.turned) == (6, 6, False)
    assert (best.x_mm, best.y_mm) == (250, 200)  # 6 × 40 + 5 × 2 and 6 × 30 + 5 × 2 + 10


def test_a_panel_passes_every_machine_of_the_line_one_way_round():
    """Each machine alone takes 6 circuits of 40 × 100 mm in a row, but the one along and the other across."""
    long_one, wide_one = machine(250, 110), machine(110, 250)
    assert propose_panels(40, 100, [long_one], Layout()).largest.circuits == 6
    assert propose_panels(40, 100, [wide_one], Layout()).largest.circuits == 6
    assert propose_panels(40, 100, [long_one, wide_one], Layout()).largest.circuits == 2


def test_a_board_too_small_for_a_machine_is_cured_by_the_smallest_panel_that_all_take():
    found = propose_panels(70, 55, [machine(510, 460), machine(850, 560, least=80)], Layout(2.0, 2.0, rails=10.0))
    assert (found.smallest.columns, found.smallest.rows) == (1, 2)
    assert (found.smallest.x_mm, found.smallest.y_mm) == (80.0, 112.0)  # 70 + 10 across, 2 × 55 + 2 along
    assert found.smallest.turned


@pytest.mark.parametrize(("limit", "columns"), [(124, 3), (123.9, 2)])
def test_a_panel_exactly_at_the_limit_fits(limit, columns):
    best = propose_panels(40, 60, [machine(limit, 60)], Layout(2.0, 2.0)).largest
    assert (best.columns, best.rows, best.turned) == (columns, 1, False)


def test_the_wider_of_two_lane_modes_counts_too():
    modes = [TransportLimits(Interval(0, 200), Interval(0, 50), "both lanes"), *machine(200, 150, least=0.0)]
    assert propose_panels(100, 50, [modes], Layout()).largest.circuits == 6


def test_no_panel_is_proposed_where_a_circuit_is_too_large_or_the_whole_too_small():
    assert propose_panels(300, 300, [machine(250, 250)], Layout()) is None
    assert propose_panels(30, 30, [machine(55, 55)], Layout()) is None
    assert propose_panels(0, 30, [machine(250, 250)], Layout()) is None
    assert propose_panels(100, 30, [machine(250, 250), machine(90, 90)], Layout()) is None


SIZES = st.tuples(st.integers(20, 60), st.integers(20, 60))
MACHINES = st.lists(st.tuples(st.integers(60, 300), st.integers(60, 300), st.integers(0, 60)), min_size=1, max_size=3)


@given(SIZES, MACHINES, st.integers(0, 5), st.integers(0, 10))
def test_no_other_panel_holds_more_or_fewer(size, sizes, gap, rail):
    """Against a plain search over all panels, in exact integers."""
    counts = []
    for one, other in (size, size[::-1]):
        for columns in range(1, 17):
            for rows in range(1, 17):
                along = columns * one + (columns - 1) * gap
                across = rows * other + (rows - 1) * gap + 2 * rail
                if all(low <= along <= a and low <= across <= b for a, b, low in sizes):
                    counts.append(columns * rows)
    machines = [machine(a, b, least=low) for a, b, low in sizes]
    found = propose_panels(*size, machines, Layout(gap, gap, rails=2 * rail))
    assert (found is None) == (not counts)
    if found is not None:
        assert (found.largest.circuits, found.smallest.circuits) == (max(counts), min(counts))

"""Takt, balance and output of a line.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest

from capcheck.planning.times.line_figures import (
    BoardFigures,
    StationTime,
    balance_efficiency,
    floor_of,
    pass_figures,
    per_hour,
    takt,
)
from capcheck.values.interval import Interval


def test_takt_of_an_example_by_hand():
    # 7.5 h × 0.80 / 600 boards = 36.0 s (definition of takt, figures from memory).
    assert takt(7.5, 600, 0.8) == pytest.approx(36.0)


@pytest.mark.parametrize(("hours", "boards"), [(0, 10), (8, 0), (8, -1)])
def test_a_takt_without_time_or_boards_is_refused(hours, boards):
    with pytest.raises(ValueError, match="above zero"):
        takt(hours, boards)


def test_balance_of_four_stations():
    # By hand: 62 + 60 + 56 + 50 = 228 s of 4 × 62 = 248 s are 91.9 %.
    assert balance_efficiency([62, 60, 56, 50]) == pytest.approx(0.919, abs=5e-4)


def test_balance_worked_by_hand():
    assert balance_efficiency([22.0, 27.2, 25.5]) == pytest.approx(0.915, abs=5e-4)
    assert per_hour(27.2) == pytest.approx(132.35, abs=5e-3)


def times(*seconds):
    return [StationTime(f"M{k}", s, Interval.exactly(s), places=True) for k, s in enumerate(seconds)]


def test_printer_or_oven_may_be_the_bottleneck(shop):
    line = shop.line(
        shop.machine("M0"), station=[{"name": "oven", "cycle": "30 s"}, {"name": "printer", "cycle": "12 s"}]
    )
    figures = pass_figures("board", times(22.0, 27.2), line, 100, 30.0)
    assert (figures.bottleneck, figures.planned) == ("oven", 30.0)
    assert figures.keeps_takt is True
    assert pass_figures("board", times(22.0, 27.2), line, 100, 29.9).keeps_takt is False


def test_a_station_without_a_time_leaves_the_cycle_open(shop):
    line = shop.line(shop.machine("M0"), station=[{"name": "printer"}])
    figures = pass_figures("board", times(22.0), line, 100, 30.0)
    assert figures.untimed == ("printer",)
    assert figures.cycle == Interval(22.0, math.inf)
    assert figures.keeps_takt is None


@pytest.mark.parametrize(("free", "fits"), [("3400 mm", True), ("3399 mm", False), (None, None)])
def test_length_of_the_line_against_the_floor(shop, free, fits):
    sizes = {"floor_width": "1200 mm", "floor_depth": "1500 mm"}
    more = {} if free is None else {"free_length": free}
    line = shop.line(
        shop.machine("A", **sizes), shop.machine("B", **sizes), station=[{"name": "oven", "length": "1000 mm"}], **more
    )
    floor = floor_of(line)
    assert floor.length_mm == pytest.approx(3400)
    assert floor.fits is fits
    assert floor.machine_area_m2 == pytest.approx(2 * 1.2 * 1.5)


def test_a_board_with_two_sides_passes_one_line_twice():
    # Both passes one after another: 18 + 12 s; 3600 / 30 = 120 boards an hour; from panels of four 480.
    both = BoardFigures("board", (Interval.exactly(18.0), Interval(10.0, 12.0)), 1)
    assert both.seconds == Interval(28.0, 30.0)
    assert both.per_hour.low == pytest.approx(120.0)
    panel = BoardFigures("board", (Interval.exactly(30.0),), 4)
    assert panel.per_hour.high == pytest.approx(480.0)
    assert panel.per_scheduled_hour(Interval(0.5, 0.8)).low == pytest.approx(240.0)
    open_end = BoardFigures("board", (Interval(18.0, math.inf),), 1)
    assert open_end.per_hour == Interval(0.0, 200.0)

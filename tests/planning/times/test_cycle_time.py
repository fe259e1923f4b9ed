"""Cycle times of machines, from rated speed or from the steps of a placement.

Figures: invented machines and jobs, sums worked by hand; a figure of the trade has its source beside it.
"""

import math

import pytest

from capcheck.planning.job import Pass
from capcheck.planning.planner import plan_line
from capcheck.planning.times.cycle_time import (
    HeadLoad,
    dual_lane_seconds,
    machine_time,
    single_lane_seconds,
    uptime,
)
from capcheck.planning.times.heads import TimeBasis, head_times, move_seconds
from capcheck.values.interval import Interval


@pytest.mark.rows(
    ("metres", "seconds"), [(0.02, 0.0632), (0.05, 0.1), (0.10, 0.1414), (0.20, 0.2), (0.30, 0.25), (0.50, 0.35)]
)
def test_axis_moves_follow_the_trapezoidal_profile(metres, seconds):
    # Textbook motion profile, v = 2 m/s, a = 20 m/s²; recomputed by hand.
    assert move_seconds(metres * 1000, 2000, 20000) == pytest.approx(seconds, abs=5e-5)


@pytest.mark.parametrize(("placing", "single", "dual"), [(20, 25.5, 21.5), (5, 10.5, 6.5)])
def test_a_second_lane_hides_the_transfer(placing, single, dual):
    assert single_lane_seconds(4, 1.5, placing) == pytest.approx(single)
    assert dual_lane_seconds(4, 1.5, placing) == pytest.approx(dual)


def placed(shop, parts, *, gantries=1, board=None, **more):
    machine = shop.machine("A", gantries=gantries, **more)
    loads = []
    for head in machine.head:
        times = head_times(machine, head)
        loads.append(HeadLoad(times, parts, -(-parts // times.per_trip) if times.per_trip else 0))
    return machine_time(machine, board or Pass("board", marks=3), loads)


def test_a_trip_of_six_is_the_sum_worked_by_hand(shop):
    # 6 × 0.08 + 5 × 0.0632 + 0.15 + 2 × 0.25 + 6 × 0.10 + 5 × 0.10 = 2.546 s, 100 trips of it.
    time = placed(shop, 600)
    assert time.placing == pytest.approx(100 * (0.48 + 5 * 2 * math.sqrt(1e-3) + 0.15 + 0.5 + 0.6 + 0.5))
    assert time.placing == pytest.approx(254.5, rel=1e-3)
    assert time.planned == pytest.approx(time.placing + 4 + 3 * 0.5)
    assert time.bases == (TimeBasis.SUMMED,)


def test_the_terms_add_up_to_the_seconds(shop):
    time = placed(shop, 17, gantries=2)
    for gantry in time.gantries:
        assert gantry.total == pytest.approx(sum(t.count * t.seconds for _, terms in gantry.heads for t in terms))
    assert time.planned == pytest.approx(time.transfer.total + time.fiducials.total + time.placing)


def test_gang_picking_is_the_fast_end(shop):
    # One stroke for six: 0.08 + 0.15 + 0.25 + 0.60 + 0.50 + 0.25 = 1.83 s a trip.
    time = placed(shop, 600, times={**shop.times, "gang_pick": True})
    assert time.seconds.low == pytest.approx(183.0 + 5.5)
    assert time.seconds.high == pytest.approx(254.5 + 5.5, rel=1e-3)


def test_a_rated_speed_with_a_derate_gives_bounds(shop):
    times = {"derate": [0.6, 0.8], "board_transfer": "4 s", "fiducial": "0.5 s"}
    time = placed(shop, 100, times=times, rated="36000 1/hour")
    assert time.bases == (TimeBasis.DERATED,)
    assert time.seconds.low == pytest.approx(100 * 0.1 / 0.8 + 5.5)
    assert time.seconds.high == pytest.approx(100 * 0.1 / 0.6 + 5.5)
    assert time.rated == pytest.approx(10.0)


def test_a_rated_speed_alone_is_no_expectation(shop):
    time = placed(shop, 100, times={"board_transfer": "4 s", "fiducial": "0.5 s"}, rated="36000 1/hour")
    assert time.bases == (TimeBasis.RATED_ONLY,)
    assert time.seconds == Interval(15.5, math.inf)


def test_what_is_not_stated_makes_the_sum_a_least(shop):
    times = {k: v for k, v in shop.times.items() if k != "board_transfer"}
    time = placed(shop, 6, times=times)
    assert math.isinf(time.seconds.high)
    assert time.missing == ("board_transfer",)


def test_an_unknown_number_of_fiducials_is_open_only_where_something_is_placed(shop):
    idle = machine_time(shop.machine("A"), Pass("board"), [])
    assert (idle.seconds, idle.missing) == (Interval.exactly(4.0), ())
    busy = placed(shop, 6, board=Pass("board"))
    assert math.isinf(busy.seconds.high)
    assert busy.missing == ("number of fiducials read",)


def test_without_any_time_nothing_is_made_up(shop):
    machine = shop.machine("A", times={})
    assert head_times(machine, machine.head[0]).basis is TimeBasis.UNKNOWN


@pytest.mark.parametrize(("width", "low", "high"), [(200.0, 4.0, 4.0), (251.0, 8.0, 8.0), (None, 4.0, 8.0)])
def test_both_lanes_run_only_for_boards_proved_narrow_enough(shop, width, low, high):
    board = Pass("board", marks=0) if width is None else Pass("board", marks=0, width=Interval.exactly(width))
    times = {**shop.times, "board_transfer": "8 s", "fiducial": "0 s"}
    machine = shop.machine("A", times=times, board={"lanes": 2, "max_dual_lane_width": "250 mm"})
    time = machine_time(machine, board, [])
    assert (time.seconds.low, time.seconds.high) == (low, high)


LONG = {"max_length": "600 mm", "buffered_length": "250 mm", "one_stop_length": "400 mm"}


@pytest.mark.rows(
    ("length", "low", "high"),
    [
        (Interval.exactly(250.0), 4.0, 4.0),
        (Interval.exactly(250.1), 7.0, 7.0),
        (Interval.exactly(400.0), 7.0, 7.0),
        (Interval.exactly(400.1), 12.0, 12.0),
        (Interval(240.0, 260.0), 4.0, 7.0),
        (Interval(0.0, math.inf), 4.0, 12.0),
    ],
)
def test_a_long_board_passes_without_buffers_or_stops_twice(shop, length, low, high):
    # 4 s with buffers, 7 s without, and 5 s for the second stop.
    times = {**shop.times, "board_transfer_unbuffered": "7 s", "second_stop": "5 s"}
    time = machine_time(shop.machine("A", times=times, board=LONG), Pass("board", marks=0, length=length), [])
    assert (time.seconds.low, time.seconds.high, time.planned) == (low, high, high)


@pytest.mark.parametrize(
    ("length", "missing"), [(250.0, ()), (400.0, ("board_transfer_unbuffered",)), (500.0, ("second_stop",))]
)
def test_what_a_long_board_takes_is_missing_where_the_profile_is_silent(shop, length, missing):
    time = machine_time(shop.machine("A", board=LONG), Pass("board", marks=0, length=Interval.exactly(length)), [])
    assert set(missing) <= set(time.missing)
    assert math.isinf(time.seconds.high) is bool(missing)


def test_no_second_lane_hides_a_second_stop(shop):
    times = {**shop.times, "board_transfer_unbuffered": "7 s", "second_stop": "5 s"}
    lanes = {"lanes": 2, "max_dual_lane_width": "250 mm"}
    board = Pass("board", marks=0, width=Interval.exactly(200.0), length=Interval.exactly(500.0))
    time = machine_time(shop.machine("A", times=times, board={**LONG, **lanes}), board, [])
    # The larger of 5 and (7 + 5) / 2 s.
    assert time.planned == 6.0


def test_a_panel_multiplies_circuits_but_not_the_transfer(shop):
    # 4 + 3 × 0.5 + 6 × 2 × 0.5 = 11.5 s besides placing.
    board = Pass("panel", circuits=6, marks=3, circuit_marks=2)
    assert machine_time(shop.machine("A"), board, []).planned == pytest.approx(11.5)


def test_uptime_of_a_line_is_between_product_and_least(shop):
    machines = [shop.machine(n, times={"uptime": u}) for n, u in (("A", 0.9), ("B", 0.8))]
    share = uptime(shop.line(*machines))
    assert share is not None
    assert (share.low, share.high) == pytest.approx((0.72, 0.8))
    assert uptime(shop.line(*machines, shop.machine("C", times={}))) is None


def test_the_uptime_that_a_line_states_goes_before_those_of_its_machines(shop):
    for times in ({"uptime": 0.9}, {}):
        share = uptime(shop.line(shop.machine("A", times=times), uptime=0.7))
        assert (share.low, share.high) == (0.7, 0.7)


def test_unknown_kinds_of_nozzles_bound_the_changes(shop):
    # Three types on a head of one nozzle need two changes at most: 2 × 2 s. A changer of two kinds leaves one.
    job = shop.job(*(shop.part(f"P{k}", 1) for k in range(3)))
    for held, most in ((None, 4.0), (2, 2.0)):
        kinds = {} if held is None else {"nozzle_kinds": held}
        line = shop.line(shop.machine("A", head=[{"name": "H1", "nozzles": 1, **kinds}]))
        (time,) = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].times[0]
        assert time.seconds.low == pytest.approx(time.planned)
        assert time.seconds.high == pytest.approx(time.planned + most)
    line = shop.line(shop.machine("A", nozzles=3))
    (time,) = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].times[0]
    assert time.seconds.is_exact, "each type may keep a nozzle of its own"


def test_known_kinds_of_nozzles_leave_no_room(shop):
    job = shop.job(*(shop.part(f"P{k}", 1, nozzle="small") for k in range(3)))
    line = shop.line(shop.machine("A", nozzles=1))
    (time,) = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].times[0]
    assert time.seconds.is_exact


def test_a_change_that_may_be_needed_and_has_no_stated_time_leaves_the_end_open(shop):
    times = {k: v for k, v in shop.times.items() if k != "nozzle_change"}
    job = shop.job(*(shop.part(f"P{k}", 1) for k in range(3)))
    line = shop.line(shop.machine("A", nozzles=1, times=times))
    (time,) = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].times[0]
    assert math.isinf(time.seconds.high)
    assert time.missing == ("nozzle_change",)

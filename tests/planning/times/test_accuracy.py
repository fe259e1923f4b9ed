import math

import pytest
from hypothesis import given, strategies as st

from capcheck.planning.times.accuracy import (
    allowed_ball_error,
    allowed_error,
    allowed_error_within,
    capability,
    largest_sigma,
    machine_share,
    ppm_outside,
    rotation_error,
    sigma,
)
from capcheck.values.interval import UNKNOWN_SIZE, Interval

# 0.5 mm pitch gull wing lead 0.22 mm on a 0.30 mm land, worked from IPC-A-610's overhang.
LEAD, LAND = 0.22, 0.30


@pytest.mark.parametrize(("ipc_class", "error"), [(1, 0.150), (2, 0.150), (3, 0.095)])
def test_allowed_error_of_a_fine_pitch_lead(ipc_class, error):
    assert allowed_error(LEAD, LAND, ipc_class) == pytest.approx(error)


def test_a_chip_wider_than_its_land_counts_the_land():
    assert allowed_error(0.5, 0.4, 2, chip=True) == pytest.approx(0.5 * 0.4 - 0.05)
    assert allowed_error(0.5, 0.4, 2) == pytest.approx(0.5 * 0.5 - 0.05)


def test_sigma_of_an_accuracy_depends_on_how_it_is_stated():
    # ±0.05 mm at Cpk 1.33 (4 sigma) and at 3 sigma: definition of sigma.
    assert sigma(0.05, 4) == pytest.approx(0.0125)
    assert sigma(0.05, 3) == pytest.approx(0.0167, abs=5e-5)
    with pytest.raises(ValueError, match="sigma"):
        sigma(0.05, 0)


def test_largest_sigma_for_a_cpk():
    # Definition of Cpk: 0.095 / (3 × 4/3) = 0.02375.
    assert largest_sigma(0.095, 4 / 3) == pytest.approx(0.02375)


def test_rotation_at_a_far_lead():
    assert rotation_error(14.0, 0.1) == pytest.approx(0.024, abs=5e-4)


def test_what_board_and_part_leave_to_the_machine():
    assert machine_share(0.095, 0.05) == pytest.approx(0.081, abs=5e-4)
    assert machine_share(0.095, 0.05, worst_case=True) == pytest.approx(0.045)


@pytest.mark.parametrize(("cpk", "ppm"), [(1.0, 2699.8), (4 / 3, 63.3), (5 / 3, 0.57), (2.0, 0.002)])
def test_defect_rate_is_the_normal_tail(cpk, ppm):
    # Two-sided tail of the normal distribution, as tabled in texts on six sigma.
    assert ppm_outside(cpk) == pytest.approx(ppm, rel=0.02)


def test_cpk_on_the_limit_and_one_step_past_it():
    allowed = Interval.exactly(0.095)
    assert capability(allowed, 0.0712, 3).reaches() is True
    assert capability(allowed, 0.0716, 3).reaches() is False


def test_rotation_takes_its_share():
    allowed = Interval.exactly(0.095)
    turned = capability(allowed, 0.06, 3, reach=Interval.exactly(14.0), rotation_accuracy=0.1)
    assert turned.cpk.low == pytest.approx((0.095 - 14 * math.sin(math.radians(0.1))) / 0.06)
    assert turned.cpk.high < capability(allowed, 0.06, 3).cpk.low


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        ((Interval.exactly(0.1), None, 3), "accuracy"),
        ((Interval.exactly(0.1), 0.05, None), "sigma"),
        ((UNKNOWN_SIZE, 0.05, 3), "land"),
    ],
)
def test_what_is_unknown_stays_undecided(arguments, text):
    found = capability(*arguments)
    assert found.reaches() is None
    assert text in found.open_because


@given(*[st.floats(0.05, 1.0)] * 4, st.sampled_from([1, 2, 3]), st.booleans())
def test_bounds_hold_every_value_between(lead, more_lead, land, more_land, ipc_class, chip):
    leads, lands = Interval(lead, lead + more_lead), Interval(land, land + more_land)
    within = allowed_error_within(leads, lands, ipc_class, chip=chip)
    value = allowed_error(leads.middle, lands.middle, ipc_class, chip=chip)
    assert within.low - 1e-12 <= value <= within.high + 1e-12


def test_a_ball_is_drawn_in_from_half_its_land():
    # Common practice, no source.
    assert allowed_ball_error(0.4) == pytest.approx(0.2)

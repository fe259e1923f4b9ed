"""Ranges of a head that state times: what large parts take longer, at both ends, in the plan's sum and in its search.

Figures: invented in round numbers, sums by hand.
"""

import math

import numpy as np
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from msgspec.structs import replace

from capcheck.machines import MachineProfile, read_machine
from capcheck.planning import plan_line
from capcheck.planning.job import Pass
from capcheck.planning.least_cycle import least_seconds
from capcheck.planning.times import head_times
from capcheck.values.errors import InputError
from capcheck.values.interval import UNKNOWN_SIZE, Interval

SLOW = [{"up_to": "12 mm"}, {"up_to": "30 mm", "pick": "0.18 s", "place": "0.3 s"}, {"place": "0.6 s"}]
"""Over 12 mm 0.1 s longer at the feeder and 0.2 s on the board, over 30 mm 0.5 s on the board."""
RATED = [{"up_to": "12 mm"}, {"rated": "9000 1/hour"}]


def machine(shop, name="A", ranges=SLOW, **more):
    return shop.machine(name, head=[{"name": "H1", "nozzles": 6, "range": ranges, **more.pop("head", {})}], **more)


def exactly(length):
    return Interval.exactly(float(length))


@pytest.mark.rows(
    ("length", "slow", "over_board", "fast"),
    [
        (exactly(12), 0.0, 0.0, 0.0),
        (exactly(12.1), 0.3, 0.2, 0.3),
        (exactly(30), 0.3, 0.2, 0.3),
        (exactly(31), 0.5, 0.5, 0.5),
        (Interval(11.0, 13.0), 0.3, 0.2, 0.0),
        (UNKNOWN_SIZE, 0.5, 0.5, 0.0),
    ],
)
def test_a_part_takes_longer_by_the_range_that_it_may_lie_in(shop, length, slow, over_board, fast):
    one = machine(shop)
    times = head_times(one, one.head[0])
    assert times.longer(length) == pytest.approx((slow, over_board))
    assert times.least_longer(length) == pytest.approx(fast)


def test_one_larger_than_all_ranges_takes_the_longest_and_proves_nothing_at_the_fast_end(shop):
    one = machine(shop, ranges=[{"up_to": "12 mm"}, {"up_to": "30 mm", "place": "0.3 s"}])
    times = head_times(one, one.head[0])
    assert times.longer(exactly(40))[0] == pytest.approx(0.2)
    assert times.least_longer(exactly(40)) == 0.0


def only_time(shop, one, *parts):
    line, job = shop.line(one), shop.job(*parts)
    (time,) = plan_line(job, line, shop.takes_all(job, line)).set_ups[0].times[0]
    return time


def test_the_plan_adds_what_large_parts_take_longer(shop):
    small = only_time(shop, machine(shop), shop.part("P", 12, length=exactly(5)))
    large = only_time(shop, machine(shop), shop.part("P", 12, length=exactly(20)))
    # 12 × (0.1 + 0.2) s
    assert large.planned - small.planned == pytest.approx(3.6)
    (term,) = (t for _, terms in large.gantries[0].heads for t in terms if "size" in t.work)
    assert (term.count, term.seconds) == (12, pytest.approx(0.3))
    assert large.gantries[0].over_board - small.gantries[0].over_board == pytest.approx(12 * 0.2)
    assert large.seconds.is_exact
    unknown = only_time(shop, machine(shop), shop.part("P", 12))
    assert unknown.planned - small.planned == pytest.approx(6.0)
    assert unknown.seconds.low == pytest.approx(small.planned)


def test_where_one_stroke_picks_several_the_fast_end_counts_no_longer_pick(shop):
    times = {**shop.times, "gang_pick": True}
    small, large = (only_time(shop, machine(shop, times=times), shop.part("P", 12, length=exactly(n))) for n in (5, 20))
    assert large.seconds.low - small.seconds.low == pytest.approx(12 * 0.2)


def test_a_rated_speed_by_size_counts_with_the_derate(shop):
    times = {"derate": [0.5, 0.8], "board_transfer": "4 s", "fiducial": "0.5 s"}
    one = machine(shop, ranges=RATED, times=times, head={"rated": "36000 1/hour"})
    time = only_time(shop, one, shop.part("P", 100, length=exactly(20)))
    # 3600 / 9000 = 0.4 s each.
    assert time.seconds.low == pytest.approx(100 * 0.4 / 0.8 + 5.5)
    assert time.seconds.high == pytest.approx(100 * 0.4 / 0.5 + 5.5)


def test_the_search_gives_large_parts_to_the_machine_that_is_not_slow_with_them(shop):
    line = shop.line(machine(shop, "A", ranges=[{"up_to": "12 mm"}, {"place": "3 s"}]), machine(shop, "B", ranges=None))
    job = shop.job(shop.part("small", 30, length=exactly(3)), shop.part("large", 30, length=exactly(20)))
    plan = plan_line(job, line, shop.takes_all(job, line))
    assert {f.machine for f in plan.set_ups[0].feeders if f.part == "large"} == {"B"}


RATES = 'rated = "20000 1/hour"\n'
SUMS = "\n".join(
    f"{name} = {value}"
    for name, value in {
        "pick": '"0.1 s"',
        "place": '"0.1 s"',
        "vision": '"0.1 s"',
        "speed": '"1 m/s"',
        "acceleration": '"10 m/s**2"',
        "travel_to_board": '"300 mm"',
        "travel_between_parts": '"20 mm"',
        "travel_between_feeders": '"20 mm"',
    }.items()
)


@pytest.mark.parametrize(
    ("timing", "head", "one", "said"),
    [
        ("", RATES, 'place = "0.2 s"', "seconds are those of its rated speed; state rated there"),
        (SUMS, RATES, 'rated = "9000 1/hour"', "seconds are the sum of [timing]; state pick or place there"),
        ("", RATES, 'rated = "21000 1/hour"', "rated 21000 1/hour, the head 20000 1/hour"),
        ('pick = "0.1 s"', "", 'rated = "9000 1/hour"', "the head states none"),
        (SUMS, "", 'place = "0.05 s"', "place 0.05 s, [timing] 0.1 s; that of [timing] is for the fastest parts"),
        ("", "", 'pick = "0.2 s"', "pick 0.2 s, [timing] states none"),
        (SUMS, "", 'place = "2 mm"', "a time is expected"),
    ],
)
def test_speeds_that_nothing_would_read_or_that_contradict_themselves_are_refused(tmp_path, timing, head, one, said):
    file = tmp_path / "m.machine.toml"
    nozzles = "nozzles = 4\n" if timing == SUMS else ""
    file.write_text(f'name = "M"\n[timing]\n{timing}\n[[head]]\nname = "h"\n{nozzles}{head}range = [{{ {one} }}]\n')
    with pytest.raises(InputError) as caught:
        read_machine(file)
    assert said in str(caught.value)


ends = st.tuples(st.integers(1, 40), st.integers(1, 40)).map(sorted)


@settings(max_examples=sample_size(60))
@given(ends, ends, st.booleans(), st.sampled_from(["place", "pick"]))
def test_less_known_of_a_size_only_widens_the_seconds(one, other, gang, slow):
    ranges = [
        {"up_to": "12 mm", "place": "0.2 s"},
        {"up_to": "20 mm", slow: "0.4 s"},
        {"place": "0.6 s", "pick": "0.2 s"},
    ]
    profile = {"pick": "0.1 s", "place": "0.1 s", "vision": "0.1 s", "gang_pick": gang}
    head = {"name": "h", "nozzles": 2, "range": ranges}
    made = MachineProfile.model_validate({"name": "M", "timing": profile, "head": [head]})
    times = head_times(made, made.head[0])
    narrow, wide = Interval(*map(float, one)), Interval(float(min(*one, *other)), float(max(*one, *other)))
    assert times.longer(wide)[0] >= times.longer(narrow)[0] >= times.least_longer(narrow) >= times.least_longer(wide)


@pytest.mark.rows("seed", range(6))
def test_no_plan_beats_the_least_cycle_and_its_sum_is_that_of_the_search(shop, seed):
    rng = np.random.default_rng(seed)
    line = shop.line(machine(shop, "A"), machine(shop, "B", ranges=[{"up_to": "20 mm"}, {"place": "0.5 s"}]))
    parts = []
    for k in range(5):
        low, more = (int(n) for n in rng.integers(1, 25, 2))
        parts.append(shop.part(f"P{k}", int(rng.integers(1, 20)), length=Interval(float(low), float(low + more % 9))))
    job = replace(shop.job(*parts), passes=(Pass("board", marks=3, width=exactly(100)),))
    can = shop.takes_all(job, line)
    set_up = plan_line(job, line, can).set_ups[0]
    assert max(t.planned for t in set_up.times[0]) == pytest.approx(set_up.seconds)
    (least,) = least_seconds(job, line, can)
    assert least <= max(t.seconds.low for t in set_up.times[0]) + 1e-9
    assert not math.isinf(set_up.seconds)

"""Hours of set-ups against a year's demand: batches times what each takes, as textbooks sum them.

Figures: boards and machines are invented in round numbers, sums by hand; the published exercise has its source.
"""

import pytest

from capcheck.checking import prepare
from capcheck.checking.answer import Choice
from capcheck.planning import PlanSettings, plan
from capcheck.report.papers import plan_page
from capcheck.report.plan import plan_json, plan_text
from capcheck.shop import Settings
from capcheck.shop.costs import Costs
from capcheck.values.interval import Interval

# A placement takes 1 s, a board nothing on top: a board of N chips takes N seconds.
MACHINE = """\
name = "M"
rated = "3600 1/hour"
[feeders]
slots = 40
slots_used = { "8 mm" = 1 }
tray_places = 0
[timing]
derate = [1, 1]
board_transfer = "0 s"
fiducial = "0 s"
uptime = 1
[[head]]
name = "h"
max_part_height = "3 mm"
max_body_length = "50 mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""


@pytest.fixture
def planned(make_board, make_line):
    """Return the plan of a board of so many chips of as many part numbers as *kinds*, for hours and boards a year."""

    def of(chips, hours, boards, kinds=1, **costs):
        rows = [f"R{k},{3 + k},10,0,top,PN-{k % kinds},OWN LAND" for k in range(chips)]
        bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width"]
        bom += [f"R{k},1,PN-{k % kinds},1.6,0.8,1,8" for k in range(chips)]
        folder = make_board([*rows, "FID1,2,2,0,top,,"], bom=bom, toml='[mounting]\n"R*" = "surface"\n')
        choice = Choice(select=["part-height", "largest-body"])
        shop = prepare(Settings(choice=choice, costs=Costs.model_validate(costs)), None)
        settings = PlanSettings(hours_per_year=hours)
        return plan([folder], make_line(MACHINE), per_year=[boards], shop=shop, settings=settings).plan

    return of


def test_set_ups_take_the_hours_of_a_published_exercise(planned):
    # cpanel.uap.edu.pe/profesionales/33100694: set-up 210 minutes, batch 85, cycle 4.1 + 1 + 0.2 + 8 / 30 minutes. By
    # hand: 5.5667 + 210 / 85 = 8.0373 minutes a piece. Here the cycle is 50 s, all times / 6.68.
    scale = 50 / (60 * (4.1 + 1 + 0.2 + 8 / 30))
    hours = 850 * 8.0373 / 60 * scale
    costs = {"board_minutes": 210 * scale, "batch": 85}
    assert planned(50, hours * 0.999, 850).verdict == "pass"  # no set-up is stated
    for share, verdict in ((1.001, "pass"), (0.999, "fail")):
        found = planned(50, hours * share, 850, **costs)
        assert found.verdict == verdict
        assert found.demand.set_up_hours.high == pytest.approx(10 * 210 * scale / 60)
        assert found.demand.set_up_hours.is_exact
        assert [said.key for said in found.failed] == (
            [] if verdict == "pass" else ["planning.set-ups leave too few hours"]
        )


def test_a_batch_that_is_begun_is_set_up_for(planned):
    """250 boards in batches of 100 are 2.5 set-ups at least and 3 at most, of 60 s and two feeders of 30 s each."""
    costs = {"board_minutes": 1, "feeder_minutes": 0.5}
    found = planned(10, 9.0, 250, kinds=2, batch=100, **costs).demand
    (one,) = found.set_ups
    assert (one.batches, one.seconds) == (Interval(2.5, 3.0), Interval.exactly(120.0))
    assert (one.hours.low, one.hours.high) == pytest.approx((300 / 3600, 360 / 3600))
    # 2,500 s of running and 300 to 360 s of set-ups.
    for seconds, met in ((2860, True), (2859, None), (2801, None), (2799, False)):
        assert planned(10, seconds / 3600, 250, kinds=2, batch=100, **costs).demand.is_met is met, seconds


def test_a_batch_that_nobody_states_leaves_the_demand_open(planned):
    """One batch of all or one of each board: nothing to 250 set-ups of 60 s."""
    for seconds, verdict in ((2501 + 250 * 60, "pass"), (2500 + 249 * 60, "warn"), (2499, "fail")):
        found = planned(10, seconds / 3600, 250, board_minutes=1)
        assert found.verdict == verdict, seconds


def test_texts_pages_and_data_say_the_same_of_set_ups(planned):
    found = planned(10, 9.0, 250, kinds=2, batch=125, board_minutes=[1, 2])
    told = "Set-ups of board a year: 2.0 batches × 60 to 120 s / 3600 = 0.03 to 0.07 h in which the line stands"
    assert told in " ".join(plan_text(found).split())
    assert "a year in which the line stands" in plan_page(found)
    demand = plan_json(found)["demand"]
    stands = demand["set_up_hours"]
    assert (stands.low, stands.high) == pytest.approx((120 / 3600, 240 / 3600))
    assert demand["running_hours_available"].high == pytest.approx(9 - 120 / 3600)

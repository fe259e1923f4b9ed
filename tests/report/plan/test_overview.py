"""A plan of many boards is two screens of text: a row a board that agrees with the plan.

Figures: invented machines, times and jobs, sums by hand; a screen of fifty lines is common practice, no source.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.machines.line import Line, LineFile
from capcheck.machines.profile import MachineProfile
from capcheck.model import say
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.planning.plan_data import PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.report.plan import board_rows, plan_text
from capcheck.values.interval import Interval

BOARDS = 20
SCREENS = 100
TIMING = {"derate": [1, 1], "board_transfer": "4 s", "fiducial": "0 s", "uptime": 0.9}


@pytest.fixture(scope="module")
def planned():
    """Twenty boards of one chip and ten types each, each in two passes: a placement takes a second, a transfer four."""
    machine = MachineProfile.model_validate(
        {
            "name": "M",
            "timing": TIMING,
            "rated": "3600 1/hour",
            "feeders": {"slots": 40, "slots_used": {"8 mm": 1}},
            "head": [{"name": "h"}],
        }
    )
    line = Line("line 1", (machine,), LineFile(name="line 1", machines=("M",)))
    passes = tuple(
        Pass(f"board {b}", side, per_year=900.0, marks=2) for b in range(BOARDS) for side in ("top", "bottom")
    )
    eight = Interval.exactly(8.0)
    parts = tuple(
        PartDemand(f"P{b}", tuple(3 if p // 2 == b else 0 for p in range(2 * BOARDS)), supply="tape", tape_width=eight)
        for b in range(BOARDS)
    )
    job = Job("order", passes, parts)
    settings = PlanSettings(hours_per_year=3000.0, set_up="each", time_limit=5.0)
    return plan_line(job, line, np.ones((len(parts), 1), dtype=np.int8), settings=settings)


@pytest.mark.parametrize("width", [80, 120])
def test_twenty_boards_are_two_screens_with_a_row_for_each(planned, width):
    fails = [say("planning.board turned", board=f"board {b}") for b in range(12)]
    lines = plan_text(replace(planned, failed=tuple(fails)), full=False, width=width).splitlines()
    assert len(lines) <= SCREENS
    assert max(map(len, lines)) <= width
    rows = [line.split("  ") for line in lines if line.startswith("board ")]
    assert [row[0].strip() for row in rows[1:]] == [f"board {b}" for b in range(BOARDS)]
    assert sum(line.strip().startswith("fail: ") for line in lines) == 12, "what fails is never counted away"


def test_a_row_has_the_sums_of_both_sides(planned):
    row = board_rows(planned)[0]
    assert (row.placements, row.pieces, row.set_ups) == ((3, 3), 1, (1, 2))
    assert row.seconds == Interval.exactly(2 * (4.0 + 3.0))
    assert row.per_hour.low == pytest.approx(3600 / 14)
    assert row.hours.low == pytest.approx(900 * 14 / 3600)
    assert row.takt is True
    graver = replace(planned, warned=(say("planning.cycle open", board="board 0, top"),))
    assert [r.verdict for r in board_rows(graver)[:2]] == ["warn", "pass"]


def test_a_board_that_does_not_pass_the_machines_fails_in_its_row(planned):
    why = say("planning.rule on board", board="board 1", message=say("planning.cycle open"), besides=say(""))
    stopped = replace(planned, failed=(say("planning.board stopped", why=why),))
    assert [r.verdict for r in board_rows(stopped)[:3]] == ["pass", "fail", "pass"]


def test_one_board_is_told_in_full(planned):
    part = replace(planned.job.parts[0], counts=planned.job.parts[0].counts[:1])
    first = replace(planned.job, passes=planned.job.passes[:1], parts=(part,))
    alone = replace(planned, job=first, set_ups=planned.set_ups[:1], changeovers=(), order=None)
    assert plan_text(alone, full=False) == plan_text(alone, full=True)

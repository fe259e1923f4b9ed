"""Boards that do not all fit into one set-up share as few as a simple way finds, each of which fits.

Figures: invented machines and jobs, sums by hand.
"""

import numpy as np

from capcheck.lexicon import sentence
from capcheck.planning.assignment import Task
from capcheck.planning.grouping import grouped
from capcheck.planning.job import Pass
from capcheck.planning.planner import plan_line
from capcheck.planning.search import Deadline
from capcheck.values.interval import Interval


def task_of(shop, rows, slots):
    names = sorted({name for row in rows for name in row})
    parts = [shop.part(name, *(int(name in row) for row in rows)) for name in names]
    job = shop.job(*parts, passes=[Pass(f"b{k}", marks=2) for k in range(len(rows))])
    line = shop.line(shop.machine("A", slots=slots))
    return Task(job, line, shop.takes_all(job, line))


def groups_of(task):
    return grouped(task, Deadline.after(60.0))


def test_boards_that_share_most_share_a_set_up(shop):
    # Six slots: ABCD with ABCE takes five, WXYZ with WXYV five; all take ten.
    task = task_of(shop, ["ABCD", "WXYZ", "ABCE", "WXYV"], 6)
    assert groups_of(task) == [(0, 2), (1, 3)]
    found = plan_line(task.job, task.line, task.can)
    assert sorted(tuple(sorted(s.passes)) for s in found.set_ups) == [(0, 2), (1, 3)]
    assert found.verdict == "pass"
    # Two of them need names apart: lists and changeovers go by them.
    assert len({sentence(s.name) for s in found.set_ups}) == 2
    assert sentence(found.set_ups[0].name) == "common set-up of b0, top; b2, top"


def test_each_set_up_fits_and_no_two_could_be_one(shop):
    """On one machine with tapes of one slot a set-up fits where its part numbers do not outnumber the slots."""
    for seed in range(25):
        rng = np.random.default_rng(seed)
        number, slots = int(rng.integers(2, 7)), int(rng.integers(4, 9))
        rows = ["".join(rng.choice(list("ABCDEFGHIJKL"), rng.integers(1, 5), replace=False)) for _ in range(number)]
        groups = groups_of(task_of(shop, rows, slots))
        assert sorted(p for group in groups for p in group) == list(range(number)), seed
        unions = [set("".join(rows[p] for p in group)) for group in groups]
        assert all(len(union) <= slots for union in unions), seed
        assert not [1 for k, one in enumerate(unions) for other in unions[:k] if len(one | other) <= slots], seed


def test_what_has_no_place_alone_keeps_no_board_from_the_others(shop):
    assert groups_of(task_of(shop, ["ABCDEFG", "AB", "BC"], 4)) == [(0,), (1, 2)]


def test_past_the_deadline_each_pass_stands_alone(shop):
    assert grouped(task_of(shop, ["AB", "AB"], 9), Deadline.after(0.0)) == [(0,), (1,)]


def test_nothing_is_taken_as_more_open_to_save_a_set_up(shop):
    """Tapes of 8 or 12 mm take one slot or two: two boards of two fit four slots for sure, one beside the other not."""
    parts = [shop.part(f"P{k}", int(k < 2), int(k >= 2), width=Interval(8.0, 12.0)) for k in range(4)]
    job = shop.job(*parts, passes=[Pass("one", marks=2), Pass("other", marks=2)])
    line = shop.line(shop.machine("A", slots=4))
    assert groups_of(Task(job, line, shop.takes_all(job, line))) == [(0,), (1,)]

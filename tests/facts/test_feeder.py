"""Feeder slots, trays, class of product and spread of the heads as facts.

Figures: boards, parts and machines are invented; limits have their basis in rules/feeders.toml.
"""

import pytest

from capcheck.checking.answer import Choice, check
from capcheck.machines import Feeders, has_feeder
from capcheck.values import Interval

PLACER = """\
name = "M"
[feeders]
slots = {slots}
slots_used = {{ "8 mm" = 1, "12 mm" = 2, "16 mm" = 2 }}
tray_places = 0
[[head]]
name = "h"
accuracy = "0.05 mm"
accuracy_sigma = 3
"""


# Whether slots are within reach hangs on what the heads take: a rule about that is asked too.
CHOICE = Choice(select=["feeder-slots", "part-height"])


def outcomes(report):
    return {(f.rule, f.outcome, f.undecided) for f in report.findings if f.rule != "part-height"}


@pytest.mark.parametrize(("slots", "expected"), [(2, set()), (1, {("feeder-slots", "fail", False)})])
def test_every_part_number_takes_a_feeder_whatever_its_references(make_board, make_line, slots, expected):
    """8 mm tape for 1005 and 1608 chips: EIA-481; one slot by the profile's own table."""
    rows = [f"C{n},{n * 5},10,0,top,1u,CAPC1005X55N" for n in range(1, 9)]
    rows += [f"R{n},{n * 5},20,0,top,1k,RESC1608X50N" for n in range(1, 9)]
    report = check(make_board(rows), line=make_line(PLACER.format(slots=slots)), choice=CHOICE)
    assert outcomes(report) == expected


# EIA-481: 8 mm tape for a body of 1.0 x 0.5 mm.
def test_a_profile_without_a_table_leaves_the_slots_open(make_board, make_line):
    line = make_line('name = "M"\n[feeders]\nslots = 100\n[[head]]\nname = "h"\n')
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"]), line=line, choice=CHOICE)
    assert outcomes(report) == {("feeder-slots", "warn", True)}


@pytest.mark.parametrize(
    ("toml", "low", "high"),
    [
        ("", 0.25, 0.5),
        ("product_class = 1", 0.5, 0.5),
        ("product_class = 2", 0.5, 0.5),
        ("product_class = 3", 0.25, 0.25),
    ],
)
def test_the_class_of_product_gives_the_overhang(make_board, toml, low, high):
    """IPC-A-610F/H 8.3.2.1: half of the width for classes 1 and 2, a quarter for class 3."""
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"], toml=toml), choice=Choice(select=["part-named"]))
    share = report.session.get("board.overhang_share")
    assert (share.low[0], share.high[0]) == (low, high)


# EIA-481: 8 mm tape for a body of 1.0 x 0.5 mm.
def test_the_spread_of_a_head_is_its_accuracy_over_its_sigmas(make_board, make_line):
    report = check(make_board(["C1,5,10,0,top,1u,CAPC1005X55N"]), line=make_line(PLACER.format(slots=9)))
    # ±0.05 mm at 3 sigma is a sigma of 0.0167 mm: definition.
    assert report.session.get("head.sigma").low[0] == pytest.approx(0.05 / 3)


# Invented table of feeders; a body of 4.9 x 6.0 mm with its leads goes on 12 mm tape and wider (SOIC-8, JEDEC MS-012).
@pytest.mark.parametrize(
    ("table", "tape", "expected"),
    [
        ('{ "8 mm" = 1, "16 mm" = 2 }', "16", set()),
        ('{ "8 mm" = 1, "16 mm" = 2 }', "24", {("tape-feeder", "warn", False)}),
        # What is usual for such a body counts where no tape is stated: 12 mm, or wider.
        ('{ "8 mm" = 1, "12 mm" = 2, "16 mm" = 2, "24 mm" = 3 }', "", set()),
        ('{ "72 mm" = 9 }', "", {("tape-feeder-usual", "warn", False)}),
        ("", "24", set()),
    ],
)
def test_a_stated_tape_needs_a_feeder_of_the_machine(make_board, make_line, table, tape, expected):
    used = f"slots_used = {table}" if table else ""
    line = make_line(f'name = "M"\n[feeders]\nslots = 10\n{used}\n[[head]]\nname = "h"\n')
    listed = ["Ref,Qty,Part number,Tape width", f"U1,1,PN-1,{tape}"]
    board = make_board(["U1,5,10,0,top,1u,SOIC-8"], bom=listed)
    report = check(board, line=line, choice=Choice(select=["tape-feeder", "tape-feeder-usual"]))
    assert outcomes(report) == expected
    # Each rule says of which it speaks, so that none passes a tape that nobody stated.
    passed = {rule for rule, counts in report.answers.counts.items() if counts.passed}
    assert passed <= {"tape-feeder" if tape else "tape-feeder-usual"}
    assert all("usually supplied on 12" in f.message for f in report.findings if not tape)


@pytest.mark.rows(
    ("low", "high", "expected"),
    [(8, 12, True), (12, 16, None), (16, 24, False), (0, float("inf"), None), (24, float("inf"), None)],
)
def test_a_feeder_is_proved_only_for_every_width_that_a_tape_may_have(low, high, expected):
    assert has_feeder(Interval(low, high), Feeders(slots_used={"8 mm": 1, "12 mm": 2})) is expected
    assert has_feeder(Interval(low, high), Feeders()) is None

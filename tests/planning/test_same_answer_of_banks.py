"""Feeder banks: a check, a plan and a comparison of lines give one answer about the same board and line.

Figures: boards and machines are invented in round numbers; EIA-481: tapes of 8 mm and more.
"""

import numpy as np
import pytest
from depth import sample_of

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.planning import compare, plan
from capcheck.shop import Settings

ASKED = ("part-height", "largest-body", "feeder-bank", "bank-slots", "bank-trays", "feeder-slots", "tray-places")
HEAD = """\
[[head]]
name = "{name}"
gantry = {gantry}
nozzles = 4
max_part_height = "{height} mm"
max_body_length = "50 mm"
max_body_width = "50 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""
TABLE = '[feeders]\nslots_used = { "8 mm" = 1, "12 mm" = 1, "16 mm" = 2, "24 mm" = 3 }\n'


def machine(banks, heights=(9, 9), feeders=""):
    heads = [HEAD.format(name=f"h{k}", gantry=k, height=height) for k, height in enumerate(heights, 1)]
    return f'name = "M"\n{TABLE}{feeders}' + "".join(heads) + banks


def bank(name, slots, more=""):
    return f'[[bank]]\nname = "{name}"\nslots = {slots}\n{more}\n'


def board(make_board, chips, tall=0, trays=0):
    """Return a board of part numbers with stated bodies and tapes: chips, *tall* ones of 5 mm, and some without."""
    numbers = [(f"R{k}", "1.6,0.8,1,8") for k in range(chips)] + [(f"U{k}", "6,6,5,12") for k in range(tall)]
    numbers += [(f"T{k}", "6,6,3,") for k in range(trays)]
    rows = [f"{ref},{5 + 9 * k},10,0,top,{ref},LAND OF OUR OWN" for k, (ref, _) in enumerate(numbers)]
    listed = [f"{ref},1,PN-{ref},{body}" for ref, body in numbers]
    bom = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width", *listed]
    return make_board(rows, bom=bom, toml='[mounting]\n"*" = "surface"\n')


def answers(folder, line):
    """Return the verdicts of a check, a plan and a comparison by the rules on heights, sizes and feeders."""
    choice = Choice(select=list(ASKED))
    shop = prepare(Settings(choice=choice), None)
    report = check(folder, line=line, choice=choice)
    planned = plan([folder], line, shop=shop).plan
    row = compare([folder], [line], shop=shop).rows[0]
    return report, planned, row


def verdicts(found):
    return [one.verdict for one in found]


@pytest.mark.parametrize(
    ("banks", "chips", "tall", "verdict"),
    [
        (bank("front", 4) + bank("rear", 3), 7, 0, "pass"),
        (bank("front", 4) + bank("rear", 3), 8, 0, "fail"),
        # Only the first head is low enough for the tall ones: free slots that it does not reach are of no use.
        (bank("front", 2, "gantries = [1]") + bank("rear", 6, "gantries = [2]"), 3, 2, "pass"),
        (bank("front", 2, "gantries = [1]") + bank("rear", 6, "gantries = [2]"), 3, 3, "fail"),
        (bank("both", 2) + bank("rear", 6, "gantries = [2]"), 6, 2, "pass"),
        (bank("both", 2) + bank("rear", 6, "gantries = [2]"), 7, 2, "fail"),
        (bank("front", 9, 'max_tape_width = "8 mm"'), 5, 0, "pass"),
        (bank("front", 9, 'max_tape_width = "4 mm"'), 5, 0, "fail"),
        # A pocket is at most 1 mm deeper than the part (common practice, no source).
        (bank("front", 9, 'max_pocket_depth = "2 mm"'), 5, 0, "pass"),
        (bank("front", 9, 'max_pocket_depth = "1.9 mm"'), 5, 0, "warn"),
        (bank("front", 9, 'max_pocket_depth = "0.9 mm"'), 5, 0, "fail"),
        # Nobody states the reels.
        (bank("front", 9, 'max_reel = "330 mm"'), 5, 0, "warn"),
    ],
)
def test_check_plan_and_comparison_agree(make_board, make_line, banks, chips, tall, verdict):
    found = answers(
        board(make_board, chips, tall), make_line(machine(banks, (9, 2) if tall else (9, 9), "tray_places = 0\n"))
    )
    assert verdicts(found) == [verdict] * 3
    assert (found[1].shortage is None) is (verdict != "fail")


@pytest.mark.parametrize("seed", sample_of(range(12), 4))
def test_they_agree_on_banks_at_random(make_board, make_line, seed):
    rng = np.random.default_rng(seed)
    banks = ""
    for k in range(int(rng.integers(1, 4))):
        reach = f"gantries = [{rng.integers(1, 3)}]\n" if rng.random() < 0.6 and k else ""
        limit = f'max_pocket_depth = "{rng.choice([2, 4, 6])} mm"\n' if rng.random() < 0.3 else ""
        banks += bank(f"b{k}", int(rng.integers(1, 5)), reach + limit)
    line = make_line(machine(banks, (9, 2), "tray_places = 0\n"))
    report, planned, row = answers(board(make_board, int(rng.integers(1, 7)), int(rng.integers(0, 4))), line)
    assert verdicts((report, planned, row)) == [report.verdict] * 3
    if report.verdict == "pass":
        assert planned.shortage is None
        assert not any(f.undecided for s in planned.set_ups for f in s.feeders)


def test_slots_of_one_line_are_not_those_of_another_in_a_comparison(make_board, tmp_path):
    folder, shop = board(make_board, 4), prepare(Settings(choice=Choice(select=list(ASKED))), None)
    lines = []
    for name, slots in (("short", 3), ("long", 4)):
        (tmp_path / f"{name}.machine.toml").write_text(machine(bank("front", slots), feeders="tray_places = 0\n"))
        lines.append(tmp_path / f"{name}.line.toml")
        lines[-1].write_text(f'name = "{name}"\nmachines = ["{name}.machine.toml"]\n')
    found = compare([folder], lines, shop=shop)
    assert [row.verdict for row in found.rows] == ["fail", "pass"]
    assert found.best == 1


# A library that states the tape, its pocket and its reel cures what is open of them: EIA-481, 8 mm tape.
@pytest.mark.parametrize(
    ("pocket", "reel", "verdict"),
    [("1.9", "180", "pass"), ("2", "180", "fail"), ("1.9", "331", "fail"), ("", "", "warn")],
)
def test_a_library_of_packings_decides_what_a_bank_asks(make_board, make_line, tmp_path, pocket, reel, verdict):
    limits = 'max_pocket_depth = "1.9 mm"\nmax_reel = "330 mm"'
    line = make_line(machine(bank("front", 5, limits), feeders="tray_places = 0\n"))
    table = tmp_path / "packings.csv"
    header = "part number,supply,tape width [mm],tape pitch [mm],pocket depth [mm],reel [mm],parts per reel,nozzle"
    rows = [f"PN-R{k},tape,8,4,{pocket},{reel},1000,small" for k in range(5)]
    table.write_text("\n".join([header, *rows]))
    folder, choice = board(make_board, 5), Choice(select=list(ASKED))
    report = check(folder, line=line, libraries=[table], choice=choice)
    planned = plan([folder], line, shop=prepare(Settings(libraries=[table], choice=choice), None)).plan
    assert verdicts((report, planned)) == [verdict] * 2
    assert {(part.per_container, part.nozzle) for part in planned.job.parts} == {(1000, "small")}


@pytest.mark.parametrize(
    ("slots", "trays", "verdict"),
    [
        # Eight feeders and the tray unit over five of the slots: thirteen are enough.
        (13, 4, "pass"),
        # Three too few, fewer than the four trays: the feeders would be left over, which alone have a place.
        (10, 4, "warn"),
        # One part in a tray is fewer than three feeders.
        (10, 1, "warn"),
        # The feeders alone find no place.
        (7, 4, "fail"),
    ],
)
def test_that_trays_and_tapes_together_find_no_place_only_warns(make_board, make_line, tmp_path, slots, trays, verdict):
    banks = bank("front", slots, f"tray_places = 9\ntray_covers = [{slots - 4}, {slots}]")
    line = make_line(machine(banks))
    table = tmp_path / "packings.csv"
    table.write_text("\n".join(["part number,supply", *(f"PN-T{k},tray" for k in range(trays))]))
    folder, choice = board(make_board, 8, trays=trays), Choice(select=list(ASKED))
    shop = prepare(Settings(libraries=[table], choice=choice), None)
    report = check(folder, line=line, libraries=[table], choice=choice)
    planned = plan([folder], line, shop=shop).plan
    row = compare([folder], [line], shop=shop).rows[0]
    assert verdicts((report, planned, row)) == [verdict] * 3


@pytest.mark.parametrize("seed", sample_of(range(10), 3))
def test_they_agree_on_tray_units_over_slots_at_random(make_board, make_line, tmp_path, seed):
    rng = np.random.default_rng(seed)
    trays, banks = int(rng.integers(1, 5)), ""
    for k in range(int(rng.integers(1, 4))):
        slots = int(rng.integers(2, 7))
        unit = f"tray_places = {rng.integers(1, 5)}\n"
        if rng.random() < 0.7:
            unit += f"tray_covers = [{k * 10 + slots - int(rng.integers(1, slots)) + 1}, {k * 10 + slots}]\n"
        banks += bank(f"b{k}", slots, f"first_slot = {k * 10 + 1}\n{unit if rng.random() < 0.7 else ''}")
    line = make_line(machine(banks))
    table = tmp_path / "packings.csv"
    table.write_text("\n".join(["part number,supply", *(f"PN-T{k},tray" for k in range(trays))]))
    folder, choice = board(make_board, int(rng.integers(2, 11)), trays=trays), Choice(select=list(ASKED))
    shop = prepare(Settings(libraries=[table], choice=choice), None)
    report = check(folder, line=line, libraries=[table], choice=choice)
    planned = plan([folder], line, shop=shop).plan
    row = compare([folder], [line], shop=shop).rows[0]
    assert verdicts((report, planned, row)) == [report.verdict] * 3

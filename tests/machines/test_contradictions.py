"""What a profile says against itself is refused: with the file, the line, the key, what is wrong and what to do.

Figures: invented in round numbers.
"""

import pytest

from capcheck.machines import read_machine
from capcheck.values import InputError

HEAD = '[[head]]\nname = "h"\n'


@pytest.mark.rows(
    ("before", "after", "place", "said", "remedy"),
    [
        ("[timing]\nuptime = 0", "", ":2 timing.uptime", "0 is not more than 0", "share of the scheduled time"),
        ("[timing]\nuptime = 85", "", ":2 timing.uptime", "85 is more than 1", "share of the scheduled time"),
        (
            '[board]\nlanes = 2\nmax_width = "400 mm"\nmax_dual_lane_width = "500 mm"',
            "",
            ":1 board",
            "the least width on both lanes (500) is more than the greatest (400)",
            "",
        ),
        ('[board]\nmax_dual_lane_width = "200 mm"', "", ":1 board", "there is one lane", "lanes = 2"),
        ('[board]\nmax_mass = "0 kg"', "", ":2 board.max_mass", "out of range", "more than 0"),
        (
            '[fiducials]\nmin_diameter = "3 mm"\nmax_diameter = "1 mm"',
            "",
            ":1 fiducials",
            "the least diameter (3) is more than the greatest (1)",
            "",
        ),
        (
            "[fiducials]\nkinds = []",
            "",
            ":2 fiducials.kinds",
            "too few entries; at least 1",
            "shapes of",
        ),
        (
            '[feeders]\nslots_used = { "0 mm" = 1 }',
            "",
            ":2 feeders.slots_used.0 mm",
            '"0 mm" is not written so',
            "8 mm",
        ),
        (
            '[feeders]\nslots_used = { "08 mm" = 1 }',
            "",
            ":2 feeders.slots_used.08 mm",
            '"08 mm" is not written so',
            "8 mm",
        ),
        ("[feeders]\nslots = 10\ntray_slots = 20", "", ":1 feeders", "tray unit takes 20 slots of 10", "correct one"),
        (
            "",
            'min_part_height = "5 mm"\nmax_part_height = "2 mm"',
            ":2 head[1]",
            "thinnest part (5 mm) is thicker than the tallest (2 mm)",
            "correct one",
        ),
        (
            "",
            'max_body_length = "1 mm"\nsmallest_chip = "3216M"',
            ":2 head[1]",
            "the smallest chip (3216M) is 3.2 mm long, the largest body 1 mm",
            "correct one",
        ),
        ("", "nozzles = true", ":4 head[1].nozzles", "true is no whole number", "carried at once"),
        ("[feeders]\nslots = true", "", ":2 feeders.slots", "true is no whole number", "feeder slots"),
        ("", '[[bank]]\nname = "b"\nslots = true', ":6 bank[1].slots", "true is no whole number", "slots of the bank"),
        ("", "accuracy_sigma = 0", ":4 head[1].accuracy_sigma", "0 is not more than 0", "number of sigmas"),
        (
            "",
            "supplies = []",
            ":4 head[1].supplies",
            "too few entries; at least 1",
            "forms of supply",
        ),
        ("", "nozzle = []", ":4 head[1].nozzle", "too few entries; at least 1", "the nozzles that"),
        (
            "",
            'nozzle = [{ name = "n", pick_length = "5 mm", max_side = "2 mm" }]',
            ":4 head[1].nozzle[1]",
            "no body up to 2 mm covers a pick area 5 mm long",
            "correct pick_length or max_side",
        ),
        (
            "",
            'range = [{ place = "1 s" }, { place = "2 s" }]',
            ":2 head[1]",
            "range 2 has no sizes left: the one before has no end",
            "state up_to there",
        ),
        ("", "[sheet]\npower = nan", ":5 sheet.power", "nan is neither a text nor a number", "specification"),
        ("rated = inf", "", ":1 rated", "inf has no unit, a rate is expected", '"30000 1/hour"'),
        ('[timing]\nacceleration = "3 s"', "", ":2 timing.acceleration", "an acceleration is expected", "m/s**2"),
    ],
)
def test_a_contradiction_is_refused_with_what_to_do(tmp_path, before, after, place, said, remedy):
    file = tmp_path / "m.machine.toml"
    before = f'name = "M"\n{before}\n' if before else 'name = "M"\n'
    file.write_text(f"{before}{HEAD}{after}\n")
    line, key = place.removeprefix(":").split(" ", 1)
    row = int(line) if after else int(line) + 1
    with pytest.raises(InputError) as caught:
        read_machine(file)
    (problem,) = caught.value.problems
    assert (problem.where.file, problem.where.row, problem.where.column) == (str(file), row, key)
    assert said in str(problem)
    assert remedy in str(problem)


def test_what_a_profile_says_against_itself_as_a_whole_is_told_of_the_file(tmp_path):
    file = tmp_path / "m.machine.toml"
    file.write_text(f'name = "M"\n{HEAD}{HEAD}')
    with pytest.raises(InputError) as caught:
        read_machine(file)
    assert str(caught.value).startswith(f'{file}: two heads are named "h"')

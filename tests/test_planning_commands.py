"""``plan`` and ``compare`` as a user types them, on the invented shop.

Figures: invented machines and jobs, sums worked by hand.
"""

import csv
import importlib
import json
import math
import re
import shutil

import pytest

DEMO = "irrigation-controller"

WHOLE = """\
name = "{name}"
[board]
min_length = "10 mm"
max_length = "500 mm"
min_width = "10 mm"
max_width = "400 mm"
[feeders]
slots = 20
slots_used = {{ "8 mm" = 1 }}
[timing]
pick = "0.1 s"
place = "0.1 s"
vision = "0.1 s"
speed = "1 m/s"
acceleration = "10 m/s**2"
travel_to_board = "300 mm"
travel_between_parts = "20 mm"
travel_between_feeders = "20 mm"
board_transfer = "4 s"
fiducial = "0.5 s"
[[head]]
name = "h"
nozzles = 4
smallest_chip = "0402M"
max_body_length = "10 mm"
max_body_width = "10 mm"
max_part_height = "5 mm"
max_part_mass = "5 g"
supplies = ["tape"]
"""


def test_a_plan_places_every_part_of_both_sides_once(asked, shop):
    code, out, err = asked("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--format", "json")
    assert (code, err) == (0, "")
    plan = json.loads(out)
    placed = {}
    for set_up in plan["set_ups"]:
        for feeder in set_up["feeders"]:
            for refs in feeder["refs"]:
                for ref in refs:
                    assert ref not in placed, f"{ref} is placed twice"
                    placed[ref] = feeder["machine"]
    with (shop / DEMO / "placements.csv").open() as file:
        wanted = {row["Reference"] for row in csv.DictReader(file)}
    assert len(placed) == 230, "241 parts to place, 11 of them with through-hole"
    assert set(placed) < wanted


def test_the_seconds_of_a_plan_can_be_added_up_by_hand(asked, shop):
    code, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--sums")
    assert code == 0
    lines = out.splitlines()
    sums = [line for line in lines if line.strip().count(" s = ") == 1 and "×" in line and "(timing" in line]
    assert sums
    for line in sums:
        head, _, tail = line.partition(" s = ")
        count, each = head.rsplit(":", 1)[1].split("×")
        assert float(count) * float(each) == pytest.approx(float(tail.split(" s")[0]), abs=6e-4 * float(count) + 6e-4)
    assert "Through-hole, by hand" in out


def test_a_line_that_stops_the_board_is_no_plan_and_never_the_best(run, shop, tmp_path):
    full, mixed = shop / "lines" / "full.line.toml", shop / "lines" / "mixed.line.toml"
    board = shutil.copytree(shop / DEMO, tmp_path / DEMO)
    with (board / "board.toml").open("a") as file:
        file.write("\n[panel_proposal]\norder = false\n")
    code, out, _ = run("plan", board, "--line", full)
    assert code == 1
    assert "the board does not pass" in out
    assert "edge-clearance" not in out
    assert "conveyor edge" in " ".join(out.split())
    code, out, _ = run("compare", board, "--line", full, "--line", mixed, "--format", "json")
    assert json.loads(out)["best"] == "Line 1, mixed"
    code, out, _ = run("compare", board, "--line", full, "--line", full, "--format", "json")
    assert code == 1
    assert json.loads(out)["best"] is None


def test_a_line_that_cannot_place_everything_says_the_smallest_reason(asked, shop):
    code, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "chip.line.toml")
    assert code == 1
    assert "Not everything can be placed" in out
    assert "no machine can place W-36002" in out
    assert "the camera cannot recognise ball grids" in out
    assert "fewest to take off" in out


def test_the_lists_for_set_up_and_hand_are_written(run, shop, tmp_path):
    set_up, by_hand = tmp_path / "set-up.csv", tmp_path / "hand.csv"
    line = shop / "lines" / "chip.line.toml"
    run("plan", shop / DEMO, "--line", line, "--set-up-list", set_up, "--hand-list", by_hand)
    with set_up.open() as file:
        rows = list(csv.reader(file))
    assert len(rows) > 20
    assert any("W-31001" in row for row in rows)
    with by_hand.open() as file:
        rows = list(csv.reader(file))
    assert any("W-38004" in row for row in rows), "the tall connector is left for the hand"
    assert any("W-38002" in row and "through-hole" in row for row in rows)


def test_one_search_is_written_to_every_output(run, shop, tmp_path, monkeypatch):
    """A second search may stop elsewhere at its time limit: a page then showed other figures than its text."""
    searched = []
    planning = importlib.import_module("capcheck.planning")
    for name in ("plan", "compare"):
        make = getattr(planning, name)
        monkeypatch.setattr(planning, name, lambda *a, make=make, **more: searched.append(0) or make(*a, **more))
    line = shop / "lines" / "mixed.line.toml"
    for command, further in (("plan", ("--quote", tmp_path / "quote.html")), ("compare", ("--line", line))):
        outputs = [tmp_path / f"{command}.{ending}" for ending in ("txt", "html", "json", "xlsx")]
        named = [word for output in outputs for word in ("--output", output)]
        code, out, _ = run(command, shop / "flow-sensor", "--line", line, *further, *named, "--quiet")
        assert code == 0
        data = json.loads(outputs[2].read_text())
        plan = data if command == "plan" else data["lines"][0]["plan"]
        assert plan["verdict"] == out[:4].lower() == "warn"
        cycle = f"{plan['finished_boards'][0]['line_seconds_s'][0]:g}"
        assert all(cycle in output.read_text() for output in outputs[:2])
        assert outputs[3].read_bytes()[:2] == b"PK"
    assert "joints" in (tmp_path / "quote.html").read_text()
    assert len(searched) == 2


def test_every_sum_of_machine_seconds_can_be_redone_from_the_text(asked, shop):
    """What stands on the right of each sign of equality is what stands on its left, as far as it is printed."""
    _, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--sums")
    sums = out.partition("Cycle time, step by step:")[2]
    plain = re.findall(r"^ +(?:best case: )?([\d.]+(?: \+ [\d.]+)+) = ([\d.]+) s$", sums, re.MULTILINE)
    flat = re.sub(r"\n {6,}", " ", sums)
    lanes = re.findall(r"larger of ([\d.]+) \+ ([\d.]+) = ([\d.]+) and \((.+?)\) / 2 = ([\d.]+): ([\d.]+) s", flat)
    assert plain
    assert lanes
    for terms, total in plain:
        assert sum(map(float, terms.split(" + "))) == pytest.approx(float(total), abs=2e-3)
    for marks, placing, one, terms, half, larger in lanes:
        assert float(marks) + float(placing) == pytest.approx(float(one), abs=2e-3)
        assert sum(map(float, terms.split(" + "))) / 2 == pytest.approx(float(half), abs=2e-3)
        assert max(float(one), float(half)) == float(larger)
    roots = re.findall(r"× ([\d.]+) s = [\d.]+ s +\([^()√]*2 × √\(([\d.]+) mm / ([\d.]+) mm/s²\)", flat)
    assert roots
    for seconds, way, acceleration in roots:
        assert 2 * math.sqrt(float(way) / float(acceleration)) == pytest.approx(float(seconds), rel=1e-3)
    cpk = re.findall(r"\(([\d.]+) − ([\d.]+)\) mm / \(3 × ([\d.]+) mm\) = ([\d.]+)", " ".join(out.split()))
    assert cpk
    for allowed, turned, sigma, found in cpk:
        expected = (float(allowed) - float(turned)) / (3 * float(sigma))
        assert float(found) == pytest.approx(expected, abs=0.01)


def test_both_sides_on_one_line_take_both_cycles(asked, shop):
    _, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--format", "json")
    plan = json.loads(out)
    (board,) = plan["finished_boards"]
    cycles = [f["cycle_s"][1] for s in plan["set_ups"] for f in s["figures"]]
    assert board["sides"] == 2
    assert board["line_seconds_s"][1] == pytest.approx(sum(cycles))
    assert board["boards_per_hour"][0] == pytest.approx(3600 / sum(cycles))


PITCH = "pitch_x = '22 mm'\npitch_y = '12 mm'\n"


# IPC-7351B: 1.6 x 0.8 mm; EIA-481: 8 mm tape. Reels and rates are invented.
def test_a_panel_delivers_its_boards_and_needs_fewer_passes(run, make_board, make_line):
    rows = ["C1,5,5,0,top,,CAPC1608X90N", "C2,8,5,0,top,,CAPC1608X90N"]
    board = make_board(rows, toml="length = '20 mm'\nwidth = '10 mm'\n[panel]\ncolumns = 2\nrows = 3\n" + PITCH)
    line = make_line(WHOLE.format(name="M"))
    code, out, _ = run("plan", f"{board}=6000", "--line", line, "--hours-per-year", 100, "--format", "json")
    assert code == 0
    plan = json.loads(out)
    assert plan["set_ups"][0]["figures"][0]["placements"] == 12
    assert plan["boards"][0]["per_year"] == pytest.approx(1000), "panels, not boards"
    assert plan["finished_boards"][0]["boards_per_panel"] == 6


# IPC-7351B: 1.6 x 0.8 mm; EIA-481: 8 mm tape. Reels and rates are invented.
def test_a_panels_parts_are_told_as_the_panels(run, make_board, make_line, tmp_path):
    rows = ["C1,5,5,0,top,,CAPC1608X90N", "C2,8,5,0,top,,CAPC1608X90N", "R1,12,5,0,top,,RESC1608X50N"]
    board = make_board(rows, toml="length = '20 mm'\nwidth = '10 mm'\n[panel]\ncolumns = 2\nrows = 1\n")
    line, reels = make_line(WHOLE.format(name="M")), tmp_path / "reels.csv"
    reels.write_text("part number,parts per container\nCAPC1608X90N,4000\n")
    _, out, _ = run("plan", board, "--line", line, "--what-if", "--reels", reels)
    assert "CAPC1608X90N by hand (4 per panel of 2)" in out
    assert "after 4000 / 4 = 1000.0 panels of 2 (board, top)" in " ".join(out.split())
    assert "per board" not in out
    _, out, _ = run("plan", board, "--line", line, "--reels", reels, "--format", "json")
    feeders = {f["part_number"]: f for f in json.loads(out)["set_ups"][0]["feeders"]}
    assert feeders["CAPC1608X90N"]["boards_between_refills"] == [2000.0]


# IPC-7351B: 1.6 x 0.8 mm; EIA-481: 8 mm tape. Reels and rates are invented.
def test_refills_are_told_from_the_shops_list(run, make_board, make_line, tmp_path):
    rows = [f"C{k},{5 * k},5,0,top,,CAPC1608X90N" for k in range(1, 9)]
    board = make_board(rows, bom=["Ref,Part number", *(f"C{k},W-1" for k in range(1, 9))])
    reels = tmp_path / "reels.csv"
    reels.write_text("part number,parts per container\nW-1,4000\n")
    line = make_line(WHOLE.format(name="M"))
    _, out, _ = run("plan", board, "--line", line, "--reels", reels)
    assert "runs out first: W-1 on M after 4000 / 8 = 500.0 boards (board, top)" in out
    reels.write_text("part number,parts per container\nW-1,4000\nW-1,5000\n,3\nW-2,many\n")
    code, _, err = run("plan", board, "--line", line, "--reels", reels)
    assert code == 2
    assert all(text in err for text in ('"W-1" has 4000', "is empty", '"many" is not a number of parts'))


def test_what_would_change_a_failing_line_is_told_with_seconds(run, shop, tmp_path):
    # Machines and stations take 8.4 m: the demo's 9 m of floor leave no room for a machine more, 12 m for one.
    text = (shop / "lines" / "chip.line.toml").read_text(encoding="utf-8").replace("../", f"{shop}/")
    line = tmp_path / "chip.line.toml"
    asked = ("plan", shop / DEMO, "--line", line, "--what-if", "--spare", shop / "machines", "--hand-seconds", 6)
    line.write_text(text, encoding="utf-8")
    _, out, _ = run(*asked, "--time-limit", 4)
    assert "not tried as additional machines, for want of floor (600 mm are free): Chip placer, All-round placer" in out
    assert " added: " not in out
    line.write_text(text.replace('"9 m"', '"12 m"'), encoding="utf-8")
    _, out, _ = run(*asked)
    told = re.sub(r"\n {4,}", " ", out.partition("What would change it")[2]).splitlines()
    assert "All-round placer added: everything has a place, mean cycle" in told[1]
    assert "54.0 s by hand per board" in told[2]
    assert any("limit largest-body raised for" in text and "−2.9 mm" in text for text in told)
    assert any(
        "Odd-form placer is not tried as an additional machine, since the board does not pass it" in text
        for text in told
    )


def test_the_time_limit_is_one_for_the_command_and_progress_is_told_where_asked(run, shop):
    lines = [a for name in ("chip", "mixed", "full") for a in ("--line", shop / "lines" / f"{name}.line.toml")]
    code, out, err = run("compare", shop / DEMO, *lines, "--time-limit", "0.5", "--progress")
    assert code == 0
    assert "No clear best by cycle time: Line 1, mixed, Line 3, full: their ranges overlap" in " ".join(out.split())
    told = [text for text in err.splitlines() if not text.startswith("search, ")]
    assert [text.partition(":")[0] for text in told] == ["Line 2, chips", "Line 1, mixed", "Line 3, full"]
    _, _, quiet = run("compare", shop / DEMO, *lines, "--time-limit", "0.5")
    assert quiet == "", "nothing is told where nobody looks"


def test_a_part_stands_where_that_is_proved_before_where_it_is_open(asked, shop):
    _, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--format", "json")
    feeders = {f["part_number"]: f for s in json.loads(out)["set_ups"] for f in s["feeders"]}
    # The chip placer's heads pick from tape alone; the ball grid comes in a tray.
    assert feeders["W-36002"]["machine"] != "Chip placer"
    assert all(head != "turret" for f in feeders.values() if f["supply"] == "tray" for head in f["heads"])


def test_compare_finds_the_line_that_takes_everything(asked, shop):
    lines = [
        argument for name in ("chip", "mixed", "full") for argument in ("--line", shop / "lines" / f"{name}.line.toml")
    ]
    code, out, _ = asked("compare", f"{shop / DEMO}=5000", *lines, "--format", "json")
    assert code == 0
    comparison = json.loads(out)
    left_over = {row["line"]: row["left_over"] for row in comparison["lines"]}
    assert len(left_over) == 3
    assert left_over["Line 2, chips"] > 0
    assert left_over[comparison["best"]] == 0


def test_compare_tells_of_each_line_what_its_plan_tells(asked, shop):
    # The order in which parts come from the check differs from line to line; each line's answers belong to its parts.
    lines = [shop / "lines" / f"{name}.line.toml" for name in ("mixed", "chip", "full")]
    _, out, _ = asked("compare", shop / DEMO, *(a for line in lines for a in ("--line", line)), "--format", "json")
    for line, row in zip(lines, json.loads(out)["lines"], strict=True):
        _, alone, _ = asked("plan", shop / DEMO, "--line", line, "--format", "json")
        plan = json.loads(alone)
        assert row["plan"]["shortage"] == plan["shortage"]
        # A plan looks longer for feeders to save than a comparison does; which parts there are is the same.
        assert {f["part_number"] for s in row["plan"]["set_ups"] for f in s["feeders"]} == {
            f["part_number"] for s in plan["set_ups"] for f in s["feeders"]
        }


def test_a_comparison_tells_what_is_left_over_and_what_is_not_proved(asked, shop):
    lines = [a for name in ("chip", "mixed") for a in ("--line", shop / "lines" / f"{name}.line.toml")]
    _, out, _ = asked("compare", shop / DEMO, *lines)
    told = {cells[0]: cells[1:] for cells in (re.split(r" {2,}", text) for text in out.splitlines()[:11])}
    assert told["line"] == ["Line 2, chips", "Line 1, mixed"], "lines are columns where rows would be too long"
    assert told["not placed"] == ["6", "none"]
    assert told["cycle s"][0].endswith(" *"), "the cycle without what is not placed is marked"
    assert int(told["not proved"][1]) > 0
    assert max(map(len, out.splitlines())) <= 120
    assert "Line 2, chips: 6 part numbers not placed: the machines cannot place them" in out
    assert out.splitlines()[-1] == "Best by cycle time: Line 1, mixed"


@pytest.mark.parametrize("line", ["chip", "full", "mixed"])
def test_a_plan_tells_what_stops_a_part_in_words_and_by_no_rules_id(asked, shop, line):
    _, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / f"{line}.line.toml", "--time-limit", 0.3)
    _, listed, _ = asked("rules")
    ids = set(re.findall(r"^ *([a-z]+(?:-[a-z0-9]+)+)\b", listed, re.MULTILINE))
    assert {"part-height", "ball-recognition"} <= ids
    assert not ids.intersection(re.findall(r"(?<=: )[a-z-]+(?=[,:])", out))


def test_a_line_is_composed_of_a_stock(asked, shop):
    stock = ("compare", shop / DEMO, "--stock", shop / "machines")
    code, out, _ = asked(*stock, "--max-machines", 2)
    assert code == 0
    assert out.startswith("best of ")
    assert "undecided whether the camera can resolve the leads" in " ".join(out.split()), (
        "what is undecided is told as it is for a line"
    )
    _, out, _ = asked(*stock, "--max-machines", 3)
    order = out.splitlines()[0].partition("by cycle time: ")[2].split(" → ")
    assert order[0].startswith("Chip placer"), "little room above the board: before the machines that place tall parts"
    _, data, _ = asked(*stock, "--max-machines", 2, "--format", "json")
    search = json.loads(data)["search"]
    assert search["complete"] is True
    assert search["planned"] <= search["lines"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["plan", "{demo}=0", "--line", "{line}"], "quantity above zero"),
        (["plan", "{demo}=5", "{demo}=6", "--line", "{line}"], "is demanded twice"),
        (["plan", "{demo}", "--line", "{line}", "--hand-seconds", "0"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--reels", "none.csv"], "none.csv: cannot be read"),
        (["plan", "{demo}", "--line", "{line}", "--spare", "{demo}", "--what-if"], "holds no machine profile"),
        (["plan", "{demo}=many", "--line", "{line}"], "not a yearly quantity"),
        (["plan", "{demo}", "--line", "none.line.toml"], "no such line file"),
        (["plan", "{demo}", "--line", "{line}", "--hours-per-year", "0"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--hours-per-year", "nan"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--uptime", "1.1"], "1.1 is more than the whole"),
        (["compare", "{demo}", "--line", "{line}", "--uptime", "0"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--time-limit", "-1"], "not a number above zero"),
        (["compare", "{demo}"], "name --line twice or more, or --stock"),
        (["compare", "{demo}", "--stock", "{demo}"], "holds no machine profile"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-length", "6"], "a length is expected"),
        (
            ["compare", "{demo}", "--stock", "{stock}", "--line", "{line}", "--max-length", "1 m"],
            "nothing for machines",
        ),
        (["compare", "{demo}", "--stock", "{stock}", "--max-machines", "0"], "make no line"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-length=-1 m"], "is no length for a line"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-length", "0 m"], "is no length for a line"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-length", "1 m"], "no machine of the stock fits"),
        (["compare", "{strip}", "--stock", "{stock}"], "Light strip: the board is 600 mm along the conveyor"),
    ],
)
def test_wrong_questions_are_clear_errors(asked, shop, arguments, said):
    names = {"demo": shop / DEMO, "line": shop / "lines" / "full.line.toml", "stock": shop / "machines"}
    names["strip"] = shop / "light-strip"
    code, _, err = asked(*[argument.format(**names) for argument in arguments])
    assert code == 2
    assert said in err


@pytest.mark.parametrize("form", ["text", "json", "html", "quote", "quote-html"])
def test_a_board_without_parts_for_the_heads_has_a_plan_without_set_ups_and_the_checks_verdict(
    run, shop, make_board, form
):
    board = make_board(["J1,10,10,0,top,,DIP-8"], toml='mounting = { J1 = "through hole" }')
    line = ("--line", shop / "lines" / "full.line.toml")
    code, out, _ = run("check", board, *line, "--format", "json")
    verdict = json.loads(out)["verdict"]
    assert verdict in {"pass", "warn"}
    planned, out, _ = run("plan", f"{board}=500", *line, "--hours-per-year", "2000", "--what-if", "--format", form)
    assert planned == code == 0
    assert "J1" in out or form not in {"text", "html"}
    assert "time limit" not in out
    if form == "json":
        assert (json.loads(out)["verdict"], json.loads(out)["set_ups"]) == (verdict, [])
    compared, out, _ = run("compare", board, *line, *line, "--format", "json")
    assert (compared, {row["verdict"] for row in json.loads(out)["lines"]}) == (code, {verdict})


def test_no_line_is_composed_for_a_board_without_parts_for_the_heads(run, shop, make_board):
    board = make_board(["J1,10,10,0,top,,DIP-8"], toml='mounting = { J1 = "through hole" }')
    code, _, err = run("compare", board, "--stock", shop / "machines")
    assert code == 2
    assert "no line composed" in err


def test_a_board_for_the_hand_alone_is_named_in_the_plan_of_several(run, shop, make_board):
    by_hand = make_board(["J1,10,10,0,top,,DIP-8"], toml='name = "by-hand"\nmounting = { J1 = "through hole" }')
    code, out, _ = run("plan", shop / DEMO, by_hand, "--line", shop / "lines" / "full.line.toml", "--time-limit", "0.3")
    assert code == 0
    assert "nothing to place by machine on by-hand" in out


# IPC-7351B: 1.6 x 0.8 mm; EIA-481: 8 mm tape. Reels and rates are invented.
def test_a_profile_without_rates_says_what_it_could_not_work_out(run, make_board, make_line):
    board = make_board(["C1,10,10,0,top,,CAPC1608X90N", "C2,20,10,0,top,,CAPC1608X90N"])
    line = make_line(
        'name = "M"\n[[head]]\nname = "h"\nsmallest_chip = "0402M"\nmax_body_length = "10 mm"\n'
        'max_body_width = "10 mm"\nmax_part_height = "5 mm"\n'
    )
    code, out, _ = run("plan", board, "--line", line)
    assert code == 0
    assert "seconds: neither times nor a rated speed: M; placements are balanced by number" in out
    assert "M: slots needed unknown; how many there are is not stated" in out
    assert "M: free slots, as the profile states no number of slots" in out
    assert "nothing tells how many slots are taken by CAPC1608X90N" in out
    assert "boards/h while" not in out
    assert out.splitlines()[-1] == "Verdict: warn"


@pytest.fixture
def sensor_on(shop, tmp_path):
    """Return a function: the flow sensor with its thickness, and a line of the chip placer without some keys."""

    def make(*left_out, swap=("", "")):
        shutil.copytree(shop / "flow-sensor", tmp_path / "flow-sensor", dirs_exist_ok=True)
        (tmp_path / "flow-sensor" / "board.toml").write_text('name = "Sensor"\nthickness = "1.6 mm"\n')
        profile = (shop / "machines" / "chip-placer.machine.toml").read_text()
        (tmp_path / "stock").mkdir(exist_ok=True)
        (tmp_path / "stock" / "m.machine.toml").write_text(_without(profile, left_out).replace(*swap))
        line = tmp_path / "l.line.toml"
        line.write_text('name = "L"\nmachines = ["stock/m.machine.toml"]\n')
        return tmp_path / "flow-sensor", line

    return make


def _without(profile, keys):
    kept = [text for text in profile.splitlines() if text.partition("=")[0].strip() not in keys]
    return "\n".join(kept) + "\n"


def test_a_board_that_is_proved_to_pass_lets_a_plan_pass(run, sensor_on):
    board, line = sensor_on()
    code, out, _ = run("plan", board, "--line", line)
    assert code == 0
    assert "Verdict: pass" in out


def test_a_passage_that_is_not_decided_warns_in_every_format(run, sensor_on):
    board, line = sensor_on("max_length", "max_width", "max_thickness")
    code, out, _ = run("plan", board, "--line", line)
    flat = " ".join(out.split())
    assert code == 0
    assert "Verdict: warn" in out
    said = "undecided whether Sensor passes Chip placer; to decide it, state"
    assert said in flat
    assert "max board length" in flat
    assert "board-length" not in flat
    _, data, _ = run("plan", board, "--line", line, "--format", "json")
    plan = json.loads(data)
    assert plan["verdict"] == "warn"
    assert any(said in text for text in plan["why"])
    _, table, _ = run("compare", board, "--line", line, "--line", line)
    assert table.splitlines()[1].split() == ["verdict", "warn", "warn"]
    assert said in " ".join(table.split())


def test_a_composed_line_warns_of_a_passage_that_is_not_decided(run, sensor_on):
    board, line = sensor_on("max_length")
    _, out, _ = run("compare", board, "--stock", line.parent / "stock", "--max-machines", 2, "--format", "json")
    plan = json.loads(out)["plan"]
    assert plan["verdict"] == "warn"
    assert any("max board length" in text for text in plan["why"])


def test_a_spare_machine_that_the_board_may_not_pass_says_so(run, shop, sensor_on, tmp_path):
    board, line = sensor_on()
    spare = tmp_path / "spare.machine.toml"
    profile = _without((shop / "machines" / "chip-placer.machine.toml").read_text(), ["max_width"])
    spare.write_text(profile.replace('name        = "Chip placer"', 'name = "Spare"'))
    _, out, _ = run("plan", board, "--line", line, "--what-if", "--spare", spare)
    assert "Spare added (undecided whether Sensor passes Spare; to decide it, state max board width" in " ".join(
        out.split()
    )


def test_what_a_check_only_warns_of_in_a_machine_is_no_plain_pass(run, sensor_on):
    board, line = sensor_on("max_warp", swap=('= "250 mm"', '= "40 mm"'))
    _, out, _ = run("plan", board, "--line", line, "--format", "json")
    plan = json.loads(out)
    assert plan["verdict"] == "warn"
    said = " ".join(plan["why"])
    assert "advice for Sensor on Chip placer is undecided; to decide it, state max warp" in said
    assert "Sensor: the board is " in said


def test_what_stops_a_board_is_told_once_for_each_board_with_all_its_machines(run, shop, sensor_on, tmp_path):
    board, _ = sensor_on()
    second = tmp_path / "second"
    shutil.copytree(board, second)
    (second / "board.toml").write_text('name = "Second"\nthickness = "1.6 mm"\n')
    narrow = (shop / "machines" / "chip-placer.machine.toml").read_text()
    narrow = narrow.replace('"450 mm"', '"52 mm"').replace('"250 mm"', '"52 mm"')
    for name in ("A", "B"):
        (tmp_path / f"{name}.machine.toml").write_text(narrow.replace('"Chip placer"', f'"{name}"'))
    line = tmp_path / "two.line.toml"
    line.write_text('name = "L"\nmachines = ["A.machine.toml", "B.machine.toml"]\n')
    code, out, _ = run("plan", board, second, "--line", line, "--format", "json")
    stopped = [text for text in json.loads(out)["why"] if "does not pass" in text]
    assert code == 1
    assert [": ".join(text.split(": ")[:2]) for text in stopped] == [
        "the board does not pass: Sensor",
        "the board does not pass: Second",
    ]
    assert all("across the conveyor" in text and text.endswith("(also on B)") for text in stopped)


def test_what_the_line_lacks_beside_placing_is_no_plain_pass(asked, shop):
    _, out, _ = asked("plan", shop / DEMO, "--line", shop / "lines" / "chip.line.toml", "--format", "json")
    said = " ".join(json.loads(out)["why"])
    assert "through-hole parts: 11" in said
    assert "inspects by: optical, paste" in said


TWO_HEADS = """\
[[head]]
name = "unknown pitch"
nozzles = 4
smallest_chip = "0402M"
max_body_length = "20 mm"
max_body_width = "20 mm"
max_part_height = "9 mm"
[[head]]
name = "proved"
nozzles = 1
smallest_chip = "0402M"
max_body_length = "10 mm"
max_body_width = "10 mm"
max_part_height = "5 mm"
min_lead_pitch = "0.3 mm"
supplies = ["tray"]
"""


# JEDEC MS-012 AA: 4.9 x 3.9 mm.
def test_a_head_that_the_check_proves_places_the_part_also_where_its_usual_supply_is_another(
    run, make_board, make_line
):
    machine = WHOLE.format(name="M").partition("[[head]]")[0].replace('slots_used = { "8 mm" = 1 }\n', "")
    line = make_line(machine + TWO_HEADS)
    board = make_board(["U1,20,20,0,top,,SOIC8 pitch1.27mm body3.9x4.9mm"], toml="length = '60 mm'\nwidth = '55 mm'\n")
    _, out, _ = run("plan", board, "--line", line, "--format", "json")
    ((feeder,),) = [s["feeders"] for s in json.loads(out)["set_ups"]]
    assert feeder["heads"] == ["proved"]
    assert feeder["not_proved"][0] == "usually supplied by tape, the head picks from tray"


def test_hours_without_quantities_lead_to_no_takt_and_that_is_told(asked, shop):
    line = shop / "lines" / "mixed.line.toml"
    code, out, _ = asked("plan", shop / DEMO, "--line", line, "--hours-per-year", 2000)
    assert code == 0
    assert "takt and hours needed: no yearly quantity for Irrigation controller" in out
    assert "Takt:" not in out
    _, out, _ = asked("plan", f"{shop / DEMO}=3000", "--line", line, "--hours-per-year", 2000)
    assert "Takt: 2000 h × 3600 s" in out


@pytest.mark.parametrize("overlap", [False, True])
def test_check_plan_and_compare_come_to_one_verdict(run, shop, make_board, make_line, overlap):
    """Two bodies on one spot concern no machine, so that only the check asks about them."""
    board, lines = shop / DEMO, [shop / "lines" / f"{name}.line.toml" for name in ("full", "chip")]
    if overlap:
        # IPC-7351B: 1.6 x 0.8 mm; the places are invented.
        rows = ["C1,5,5,0,top,,CAPC1608X90N", "C2,5.2,5,0,top,,CAPC1608X90N"]
        board = make_board(rows, toml="length = '60 mm'\nwidth = '50 mm'\n")
        lines = [make_line(WHOLE.format(name="M"))]
    checks = [run("check", board, "--line", line, "--format", "json") for line in lines]
    plans = [run("plan", board, "--line", line, "--format", "json") for line in lines]
    _, out, _ = run("compare", board, *(a for line in lines for a in ("--line", line)), "--format", "json")
    verdicts = [json.loads(text)["verdict"] for _, text, _ in checks]
    assert verdicts[-1] == "fail"
    assert [json.loads(text)["verdict"] for _, text, _ in plans] == verdicts
    assert [row["verdict"] for row in json.loads(out)["lines"]] == verdicts
    assert [code for code, *_ in plans] == [code for code, *_ in checks]

"""``plan`` and ``compare`` as a user types them, on the invented shop."""

import csv
import json

import pytest

DEMO = "irrigation-controller"


def test_a_plan_places_every_part_of_both_sides_once(run, shop):
    code, out, err = run("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml", "--format", "json")
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
    assert len(placed) == 230, "241 parts to place, 11 of them with leads through holes"
    assert set(placed) < wanted


def test_the_seconds_of_a_plan_can_be_added_up_by_hand(run, shop):
    code, out, _ = run("plan", shop / DEMO, "--line", shop / "lines" / "mixed.line.toml")
    assert code == 0
    lines = out.splitlines()
    sums = [line for line in lines if line.strip().count(" s = ") == 1 and "×" in line and "(timing" in line]
    assert sums
    for line in sums:
        head, _, tail = line.partition(" s = ")
        count, each = head.rsplit(":", 1)[1].split("×")
        assert float(count) * float(each) == pytest.approx(float(tail.split(" s")[0]), abs=6e-4 * float(count) + 6e-4)
    assert "Leads through holes" in out


def test_a_line_that_stops_the_board_is_no_plan_and_never_the_best(run, shop):
    full, mixed = shop / "lines" / "full.line.toml", shop / "lines" / "mixed.line.toml"
    code, out, _ = run("plan", shop / DEMO, "--line", full)
    assert code == 1
    assert "the board does not pass" in out
    assert "edge-clearance" in out
    code, out, _ = run("compare", shop / DEMO, "--line", full, "--line", mixed, "--format", "json")
    assert json.loads(out)["best"] == "Line 1, mixed"
    code, out, _ = run("compare", shop / DEMO, "--line", full, "--line", full, "--format", "json")
    assert code == 1
    assert json.loads(out)["best"] is None


def test_a_line_that_cannot_place_everything_says_the_smallest_reason(run, shop):
    code, out, _ = run("plan", shop / DEMO, "--line", shop / "lines" / "chip.line.toml")
    assert code == 1
    assert "Not everything can be placed" in out
    assert "no machine takes W-36002" in out
    assert "ball-recognition" in out
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
        assert any("W-38004" in row for row in csv.reader(file)), "the tall connector is left for the hand"


def test_compare_finds_the_line_that_takes_everything(run, shop):
    lines = [
        argument for name in ("chip", "mixed", "full") for argument in ("--line", shop / "lines" / f"{name}.line.toml")
    ]
    code, out, _ = run("compare", f"{shop / DEMO}=5000", *lines, "--format", "json")
    assert code == 0
    comparison = json.loads(out)
    left_over = {row["line"]: row["left_over"] for row in comparison["lines"]}
    assert len(left_over) == 3
    assert left_over["Line 2, chips"] > 0
    assert left_over[comparison["best"]] == 0


def test_compare_tells_of_each_line_what_its_plan_tells(run, shop):
    # The order in which parts come from the check differs from line to line; each line's answers belong to its parts.
    lines = [shop / "lines" / f"{name}.line.toml" for name in ("mixed", "chip", "full")]
    _, out, _ = run("compare", shop / DEMO, *(a for line in lines for a in ("--line", line)), "--format", "json")
    for line, row in zip(lines, json.loads(out)["lines"], strict=True):
        _, alone, _ = run("plan", shop / DEMO, "--line", line, "--format", "json")
        plan = json.loads(alone)
        assert row["plan"]["shortage"] == plan["shortage"]
        assert [f["part_number"] for s in row["plan"]["set_ups"] for f in s["feeders"]] == [
            f["part_number"] for s in plan["set_ups"] for f in s["feeders"]
        ]


def test_a_line_is_composed_of_a_stock(run, shop):
    code, out, _ = run("compare", shop / DEMO, "--stock", shop / "machines", "--max-machines", 2)
    assert code == 0
    assert out.startswith("best of ")
    code, out, _ = run("compare", shop / DEMO, "--stock", shop / "machines", "--max-machines", 2, "--max-length", "1 m")
    assert code == 1
    assert "none of" in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["plan", "{demo}=0", "--line", "{line}"], "quantity above zero"),
        (["plan", "{demo}=many", "--line", "{line}"], "not a yearly quantity"),
        (["plan", "{demo}", "--line", "none.line.toml"], "no such line file"),
        (["plan", "{demo}", "--line", "{line}", "--hours-per-year", "0"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--hours-per-year", "nan"], "not a number above zero"),
        (["plan", "{demo}", "--line", "{line}", "--time-limit", "-1"], "not a number above zero"),
        (["compare", "{demo}"], "name --line twice or more, or --stock"),
        (["compare", "{demo}", "--stock", "{demo}"], "holds no machine profile"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-length", "6"], "a length is expected"),
        (["compare", "{demo}", "--stock", "{stock}", "--max-machines", "0"], "make no line"),
    ],
)
def test_wrong_questions_are_clear_errors(run, shop, arguments, said):
    names = {"demo": shop / DEMO, "line": shop / "lines" / "full.line.toml", "stock": shop / "machines"}
    code, _, err = run(*[argument.format(**names) for argument in arguments])
    assert code == 2
    assert said in err


def test_a_board_without_parts_for_the_heads_is_a_clear_error(run, shop, make_board):
    board = make_board(["J1,10,10,0,top,,DIP-8"], toml='mounting = { J1 = "through hole" }')
    code, _, err = run("plan", board, "--line", shop / "lines" / "full.line.toml")
    assert code == 2
    assert "nothing to plan" in err


def test_a_profile_without_rates_says_what_it_could_not_work_out(run, make_board, make_line):
    board = make_board(["C1,10,10,0,top,,CAPC1608X90N", "C2,20,10,0,top,,CAPC1608X90N"])
    line = make_line(
        'name = "M"\n[[head]]\nname = "h"\nsmallest_chip = "0402M"\nmax_body_length = "10 mm"\n'
        'max_body_width = "10 mm"\nmax_part_height = "5 mm"\n'
    )
    code, out, _ = run("plan", board, "--line", line)
    assert code == 0
    assert "not" in out.lower()
    assert "M" in out
    assert "boards/h while" not in out

"""Many boards against lines: what comes out, what stands in the way, and the least change that cures it.

Figures: invented boards and machines, in round sizes that the test's own columns state; sums worked by hand.
"""

from __future__ import annotations

import csv
import io
import json
import math
import zipfile
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from msgspec import structs
from python_calamine import CalamineWorkbook

from capcheck.cli import main
from capcheck.machines import read_line
from capcheck.report import questions_asked, survey_json, survey_text
from capcheck.report.survey import obstacle_views
from capcheck.shop import Settings
from capcheck.survey import (
    BoardResult,
    Case,
    Cause,
    CauseKind,
    Demand,
    Limit,
    LineResult,
    Obstacle,
    Step,
    Survey,
    Surveyor,
    obstacles_of,
    survey,
)
from capcheck.values import LENGTH, InputError, Interval

HEAD = '[[head]]\nname = "h"\nmax_body_length = "20 mm"\nmax_body_width = "20 mm"\n'
LOW = f'name = "Low"\n{HEAD}max_part_height = "5 mm"\n'
HIGH = f'name = "High"\n{HEAD}max_part_height = "25 mm"\n'
ROWS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Length [mm],Width [mm],Height [mm]\n"


def board(folder: Path, *heights: float, toml: str = "") -> Path:
    """Write a board with a part of each height."""
    folder.mkdir(parents=True)
    rows = (f"L{n},{10 * n},10,0,top,{n} uH,SHOP{n},4,4,{height}\n" for n, height in enumerate(heights, 1))
    (folder / "placements.csv").write_text(ROWS + "".join(rows))
    surface = '[mounting]\n"L*" = "surface"\n'
    (folder / "board.toml").write_text(f'placements = "placements.csv"\nunits = "mm"\n{toml}{surface}')
    return folder


def line(folder: Path, name: str, profile: str) -> Path:
    (folder / f"{name}.machine.toml").write_text(profile)
    path = folder / f"{name}.line.toml"
    path.write_text(f'name = "{name}"\nmachines = ["{name}.machine.toml"]\n')
    return path


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Four boards of an order and two lines: one that places up to 5 mm, one up to 25 mm."""
    boards = tmp_path / "order"
    board(boards / "flat", 2, 3)
    board(boards / "six", 2, 6, toml="per_year = 100\n")
    board(boards / "nine", 2, 7, 9)
    board(boards / "nineteen", 19)
    line(tmp_path, "low", LOW)
    line(tmp_path, "high", HIGH)
    return tmp_path


def surveyed(shop: Path, *lines: str, quantities: dict[str, float] | None = None) -> Survey:
    devices = [read_line(shop / f"{name}.line.toml") for name in lines]
    surveyor = Surveyor.prepared(Settings(), devices, questions_asked, plan_seconds=0)
    return survey([shop / "order"], surveyor, quantities=quantities)


def heights_in_the_way(found: Survey, on: int = 0):
    (one,) = (o for o in found.obstacles[on] if o.cause.about == "part-height")
    return one


def test_every_board_stands_on_every_line_with_the_verdict_of_its_own_check(shop, run):
    found = surveyed(shop, "low", "high")
    assert found.lines == ("low", "high")
    assert [b.name for b in found.boards] == ["flat", "nine", "nineteen", "six"]
    for one in found.boards:
        for number, name in enumerate(found.lines):
            args = (shop / "order" / one.name, "--line", shop / f"{name}.line.toml", "--no-config", "--format", "json")
            report = json.loads(run("check", *args)[1])
            assert one.on[number].verdict == report["verdict"]
            assert one.on[number].parts == len(report["parts"])
    assert [bool(b.on[0].stops) for b in found.boards] == [False, True, True, True]
    assert not any(b.on[1].stops for b in found.boards)


def test_the_least_change_of_a_limit_is_named_with_the_boards_that_it_cures(shop):
    one = heights_in_the_way(surveyed(shop, "low"))
    assert one.cause.limit == Limit("head.max_part_height", "tallest part", LENGTH, "Low", "h")
    assert one.needed == Demand(5, Interval(19, 19), upper=True)
    assert [(step.to, step.cures) for step in one.steps] == [
        (6, ("six",)),
        (9, ("nine", "six")),
        (19, ("nine", "nineteen", "six")),
    ]
    assert all(step.builds == step.cures for step in one.steps), "nothing else stops them"


def test_a_line_with_the_limit_moved_by_that_much_takes_the_boards(shop):
    """The promise itself: each step of the answer, built as a machine, cures exactly the boards that it names."""
    before = surveyed(shop, "low")
    for step in heights_in_the_way(before).steps:
        line(shop, "moved", LOW.replace("5 mm", f"{step.to:g} mm"))
        after = surveyed(shop, "moved")
        stopped = {b.name for b in after.boards if b.on[0].stops}
        assert stopped == {b.name for b in before.boards if b.on[0].stops} - set(step.builds)


TWO_HEADS = (
    'name = "Two"\n[[head]]\nname = "long"\nmax_body_length = "40 mm"\nmax_body_width = "40 mm"\n'
    'max_part_height = "{} mm"\n[[head]]\nname = "high"\nmax_body_length = "20 mm"\nmax_body_width = "20 mm"\n'
    'max_part_height = "8 mm"\n'
)


def test_one_head_that_alone_could_take_all_parts_is_named_though_each_comes_closest_to_another(tmp_path):
    """A short part comes closest to the higher head, a long one to the longer: 12 mm on that takes both.

    The other head would have to take longer bodies as well.
    """
    mixed = board(tmp_path / "order" / "mixed", 12)
    rows = (mixed / "placements.csv").read_text()
    (mixed / "placements.csv").write_text(f"{rows}L2,60,10,0,top,2 uH,SHOP2,30,4,11\n")
    line(tmp_path, "two", TWO_HEADS.format(5))
    one = heights_in_the_way(surveyed(tmp_path, "two"))
    assert {limit.head for limit in one.limits} == {"long", "high"}
    (own,) = one.one_head
    assert own.limit.head == "long"
    assert [(step.to, step.builds) for step in own.steps] == [(12, ("mixed",))]
    (view,) = obstacle_views([one])
    assert view.changes[0] == "12 mm on Two / long alone would cure 1 of 1 board, and 1 of them then builds"
    for height, is_built in ((11, False), (12, True)):
        line(tmp_path, "moved", TWO_HEADS.format(height))
        assert bool(surveyed(tmp_path, "moved").boards[0].on[0].stops) is not is_built


def test_the_smallest_chip_is_one_limit_though_both_sides_of_a_part_pass_it(shop):
    """A profile states it by a size code: that of 0.6 × 0.3 mm is 0603M; the rows are invented."""
    line(shop, "coarse", f'name = "Coarse"\n{HEAD}max_part_height = "25 mm"\nsmallest_chip = "1608M"\n')
    path = board(shop / "order" / "fine", 0.3) / "placements.csv"
    # IPC-7351B names a chip by length and width: 0.6 x 0.3 mm, 1.6 x 0.8 mm.
    path.write_text(f"{ROWS}C1,20,20,0,top,v,C0603,0.6,0.3,0.3\nC2,20,30,0,top,w,C1608,1.6,0.8,0.8\n")
    found = surveyed(shop, "coarse")
    (one,) = (o for o in found.obstacles[0] if o.cause.about == "smallest-chip")
    assert (one.boards, one.alone) == (("fine",), ("fine",))
    (view,) = obstacle_views([one])
    assert view.changes == ("0603M would cure 1 of 1 board, and 1 of them then builds",)
    line(shop, "finer", f'name = "Finer"\n{HEAD}max_part_height = "25 mm"\nsmallest_chip = "0603M"\n')
    assert not any(o.cause.about == "smallest-chip" for o in surveyed(shop, "finer").obstacles[0])


def test_quantities_come_from_a_list_before_the_boards_own(shop):
    found = surveyed(shop, "low", quantities={"nine": 30, "six": 200, "elsewhere": 5})
    assert {b.name: b.per_year for b in found.boards} == {"flat": None, "nine": 30, "nineteen": None, "six": 200}
    assert found.without_quantity == ("elsewhere",)
    one = heights_in_the_way(found)
    assert (one.per_year, one.per_year_alone) == (230, 230)
    assert heights_in_the_way(surveyed(shop, "low")).per_year == 100, "what board.toml says"


def test_a_quantity_that_may_be_of_several_boards_counts_for_none(shop, run):
    """Counted for each, it would be twice what is made."""
    board(shop / "order" / "old" / "nine", 2, 9)
    (shop / "year.csv").write_text("board,per year\nnine,30\nsix,5\n")
    args = ("--line", shop / "low.line.toml", "--no-config", "--plan-seconds", "0", "--format", "json")
    _, out, err = run("survey", shop / "order", *args, "--per-year", shop / "year.csv")
    found = {one["board"]: one["per_year"] for one in json.loads(out)["boards"]}
    assert sorted(map(str, found.values())) == ["5.0", "None", "None", "None", "None"]
    assert "nine, which may be any of" in err
    (shop / "year.csv").write_text(f"board,per year\nnine,30\n{shop / 'order' / 'old' / 'nine'},7\n")
    _, out, err = run("survey", shop / "order", *args, "--per-year", shop / "year.csv")
    assert sorted(one["per_year"] or 0 for one in json.loads(out)["boards"]) == [0, 0, 7, 30, 100]
    assert not err


def test_what_follows_from_one_missing_figure_is_no_cause_of_its_own(shop):
    """A board in a size without a thickness: how wide it is for its thickness is settled with that."""
    board(shop / "order" / "thin", 2, toml='length = "200 mm"\nwidth = "100 mm"\n')
    (one,) = (b for b in surveyed(shop, "low").boards if b.name == "thin")
    open_ = {case.cause.about for case in one.on[0].cases if case.cause.kind is CauseKind.UNDECIDED}
    assert "board.thickness" in open_
    assert "transport.width_to_thickness" not in open_


def test_what_nobody_knows_widens_the_answer_and_is_never_a_cure(shop):
    board(shop / "order" / "open", 2)
    placements = shop / "order" / "open" / "placements.csv"
    placements.write_text(placements.read_text() + "L9,90,10,0,top,9 uH,SHOP9,4,4,\n")
    found = surveyed(shop, "low")
    (one,) = (b for b in found.boards if b.name == "open")
    assert one.on[0].verdict == "warn"
    assert one.on[0].undecided >= 1
    assert any(c.cause == Cause(CauseKind.UNDECIDED, "part.height", c.cause.title) for c in one.on[0].cases)
    assert "open" not in {name for o in found.obstacles[0] for step in o.steps for name in step.cures}


@pytest.mark.rows(
    "fact, what, cure",
    [
        ("board.thickness", "thickness of the board not known", "state it in board.toml"),
        ("part.tape_width", "tape width of parts not known", "state it in a package library"),
        ("head.min_ball_pitch", "min ball pitch of the head not known", "state it in the machine's profile"),
        ("machine.max_warp", "max warp of the machine not known", "state it in the machine's profile"),
        ("line.inspection", "inspection of the line not known", "state it in the line file"),
        ("line.feeder_slots_needed", "feeder slots needed of the line not known", None),
        ("part.contour_distance", "distance to the board's edge of parts not known", None),
    ],
)
def test_what_is_undecided_names_where_the_datum_is_stated_if_it_can_be(fact, what, cure):
    """A fact that follows from others is stated nowhere."""
    one = Obstacle(Cause(CauseKind.UNDECIDED, fact), ("a", "b"), ("a",), 0, 0)
    (view,) = obstacle_views([one])
    assert view.what == what
    assert view.changes == ((cure, "this alone decides 1 board") if cure else ("this alone decides 1 board",))
    (view,) = obstacle_views([structs.replace(one, alone=())])
    assert view.changes[-1] == "by itself this decides no board"


@pytest.mark.rows(
    "to, upper, shown",
    [
        (188.913, True, "188.92 mm"),
        (188.913, False, "188.91 mm"),
        (19.0, True, "19 mm"),
        (0.1 + 0.2, True, "0.3 mm"),
        (0.39995, False, "0.3999 mm"),
    ],
)
def test_a_change_is_shown_so_that_what_is_shown_cures(to, upper, shown):
    limit = Limit("head.max_part_height", "tallest part", LENGTH, "M", "h")
    step = Step(to, ("a",), ("a",), upper)
    one = Obstacle(Cause(CauseKind.STOPS, "part-height", limit=limit), ("a",), ("a",), 0, 0, (step,), None, (limit,))
    (view,) = obstacle_views([one])
    assert view.changes == (f"{shown} would cure 1 of 1 board, and 1 of them then builds",)


def test_a_limit_that_a_range_passes_is_cured_at_its_far_end():
    demand = Demand(10, Interval(12, 15), upper=True)
    assert not demand.met_by(12)
    assert demand.met_by(15)
    assert math.isinf(Demand(10, Interval(12, math.inf), upper=True).proved), "no value is known to do"
    lower = Demand(0.5, Interval(0.3, 0.4), upper=False)
    assert not lower.met_by(0.4)
    assert lower.met_by(0.3)


def result(*cases: Case) -> LineResult:
    nothing = Interval.exactly(0)
    return LineResult("fail" if cases else "pass", 1, 1, 0, 0, 0, nothing, nothing, cases)


LIMIT = Cause(CauseKind.STOPS, "tall", "too tall", "", Limit("head.max_part_height", "tallest part", LENGTH, "M", "h"))
OTHER = Cause(CauseKind.STOPS, "marks", "no marks", "add some")


@given(st.lists(st.tuples(st.floats(10, 90), st.booleans()), min_size=1, max_size=12))
@settings(max_examples=sample_size(50))
def test_steps_grow_and_never_build_what_something_else_stops(asked):
    boards = []
    for number, (height, other) in enumerate(asked):
        cases = [Case(LIMIT, (), Demand(5, Interval.exactly(height), upper=True))]
        boards.append(BoardResult(str(number), None, 0, (result(*cases, *([Case(OTHER)] if other else [])),)))
    (one,) = (o for o in obstacles_of(boards, 0) if o.cause == LIMIT)
    tos = [step.to for step in one.steps]
    assert tos == sorted(tos)
    for earlier, later in zip(one.steps, one.steps[1:], strict=False):
        assert set(earlier.cures) < set(later.cures)
    assert set(one.steps[-1].cures) == {b.name for b in boards}
    assert set(one.steps[-1].builds) == {str(n) for n, (_, other) in enumerate(asked) if not other}


def test_the_worst_stands_first(shop):
    kinds = [list(CauseKind).index(one.cause.kind) for one in surveyed(shop, "low").obstacles[0]]
    assert kinds == sorted(kinds)


def test_a_broken_board_stops_no_other_and_two_of_one_name_stay_apart(shop):
    broken = shop / "order" / "broken"
    broken.mkdir()
    (broken / "board.toml").write_text("placements = 5\n")
    again = board(shop / "order" / "again", 2, toml='name = "flat"\n')
    found = surveyed(shop, "high")
    assert [Path(one.name).name for one in found.unread] == ["broken"]
    assert {b.name for b in found.boards} == {"flat", "nine", "nineteen", "six", str(shop / "order" / "flat")} or {
        b.name for b in found.boards
    } == {"flat", "nine", "nineteen", "six", str(again)}


def test_the_command_writes_one_survey_in_every_form(shop, run):
    files = {end: shop / f"s{end}" for end in (".txt", ".html", ".csv", ".xlsx", ".json", ".parquet")}
    (shop / "year.csv").write_text("board,per year\nnine,30\n")
    outputs = [part for file in files.values() for part in ("--output", file)]
    args = ("--line", shop / "low.line.toml", "--line", shop / "high.line.toml", "--per-year", shop / "year.csv")
    code, out, err = run("survey", shop / "order", *args, "--plan-seconds", "0", "--no-config", *outputs)
    assert (code, out, err) == (0, "", "")
    data = json.loads(files[".json"].read_text())
    rows = list(csv.DictReader(io.StringIO(files[".csv"].read_text())))
    table = pq.read_table(files[".parquet"]).to_pylist()
    sheets = CalamineWorkbook.from_path(str(files[".xlsx"]))
    sheet = sheets.get_sheet_by_name("boards").to_python()
    key = [(row["board"], row["line"], row["verdict"]) for row in data["boards"]]
    assert len(key) == 8
    assert [(row["board"], row["line"], row["verdict"]) for row in rows] == key
    assert [(row["board"], row["line"], row["verdict"]) for row in table] == key
    head = sheet[0]
    assert [tuple(row[head.index(name)] for name in ("board", "line", "verdict")) for row in sheet[1:]] == key
    assert {row["per_year"] for row in table} == {None, 30.0, 100.0}
    page = files[".html"].read_text()
    for name, on, verdict in key:
        assert f'data-board="{name}" data-line="{on}"' in page
        assert verdict in page
    text = files[".txt"].read_text()
    assert "low: 1 of 4 not stopped; high: 4 of 4 not stopped" in " ".join(text.split())
    assert "9 mm would cure 2 of 3 boards, and 2 of them then build" in text
    (one,) = (row for row in data["in_the_way"] if row["rule_or_fact"] == "part-height")
    assert [change["to"] for change in one["limit"]["changes"]] == [6, 9, 19]
    assert one["limit"]["unit"] == "mm"


def test_archives_are_boards_too(shop, run):
    with zipfile.ZipFile(shop / "quote.zip", "w") as archive:
        for file in (shop / "order" / "six").iterdir():
            archive.write(file, f"six/{file.name}")
    args = ("--line", shop / "low.line.toml", "--plan-seconds", "0", "--no-config", "--format", "json")
    code, out, _ = run("survey", shop / "quote.zip", *args)
    assert code == 0
    (row,) = json.loads(out)["boards"]
    assert (row["board"], row["verdict"]) == ("six", "fail")


def test_the_cycle_is_that_of_the_plan(run):
    """On the demo's line that places most, whose profiles state all times that a cycle is made of."""
    fixtures = Path(__file__).parents[2] / "fixtures"
    where = (fixtures / "irrigation-controller", "--line", fixtures / "lines" / "mixed.line.toml")
    _, out, _ = run("survey", *where, "--no-config", "--format", "json", "--plan-seconds", "5")
    planned = json.loads(run("plan", *where, "--format", "json", "--time-limit", "5")[1])
    (row,) = json.loads(out)["boards"]
    (board,) = planned["finished_boards"]
    assert row["cycle_s_min"] > 0
    # A table of many boards takes a plan within 2 % of the best; its worst case may differ by more.
    assert row["cycle_s_min"] == pytest.approx(board["line_seconds_s"][0], rel=0.03)
    assert row["cycle_s_max"] == pytest.approx(board["line_seconds_s"][1], rel=0.1)
    assert row["boards_per_hour_min"] == pytest.approx(3600 / row["cycle_s_max"])
    assert row["boards_per_hour_max"] == pytest.approx(3600 / row["cycle_s_min"])


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("board\nx\n", 'has no column "per year"'),
        ("board,per year\nx,many\n", '"many" is not a yearly quantity'),
        ("board,per year\nx,-1\n", '"-1" is not a yearly quantity'),
        ("board,per year\nx,1.500\n", '"1.500" is not a yearly quantity'),
        ('board,per year\nx,"1,500"\n', '"1,500" is not a yearly quantity'),
        ("board,per year\nx,1_500\n", '"1_500" is not a yearly quantity'),
        ("board,per year\nx,inf\n", '"inf" is not a yearly quantity'),
        ("board,per year\n,5\n", "names no board"),
        ("board,per year\nx,5\nx,6\n", '"x" has 5 in another row'),
    ],
)
def test_a_wrong_list_of_quantities_is_refused_by_row(shop, run, text, wanted):
    (shop / "year.csv").write_text(text)
    args = ("--line", shop / "low.line.toml", "--per-year", shop / "year.csv", "--no-config")
    code, out, err = run("survey", shop / "order", *args)
    assert code == 2
    assert out == ""
    assert wanted in err
    assert "year.csv:" in err


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (("--no-config",), "no line is named"),
        (("--line", "low.line.toml", "--line", "low.line.toml", "--no-config"), "two lines are named"),
        (("--line", "low.line.toml", "--output", "s.doc", "--no-config"), "ending that names no format"),
        (("--line", "low.line.toml", "--plan-seconds", "-1"), "not a number of seconds"),
    ],
)
def test_what_cannot_be_surveyed_is_said_and_nothing_is_written(shop, run, monkeypatch, arguments, wanted):
    monkeypatch.chdir(shop)
    code, out, err = run("survey", "order", *arguments)
    assert code == 2
    assert out == ""
    assert wanted in err
    assert not (shop / "s.doc").exists()


def test_nothing_read_is_no_success(shop, run):
    (shop / "empty").mkdir()
    code, out, _ = run("survey", shop / "empty", "--line", shop / "low.line.toml", "--no-config")
    assert code == 2
    assert "0 boards; 1 board not read" in out
    assert "in the way" not in out, "of no board it is not said that nothing stops it"
    assert out.count(str(shop / "empty")) == 1, "the name once"


def test_two_lines_of_one_name_are_refused():
    with pytest.raises(InputError, match="no line is named"):
        Surveyor.prepared(Settings(), [], questions_asked)


def test_a_long_list_of_open_data_is_cut_but_not_in_full(shop):
    found = surveyed(shop, "low")
    cut, whole = survey_text(found, 100), survey_text(found, 100, full=True)
    assert len(cut.splitlines()) < len(whole.splitlines())
    assert "--full" in cut
    assert "--full" not in whole
    assert survey_json(found)["schema"] == "capcheck-survey/1"


def test_the_survey_is_named_in_the_help(capsys):
    assert main(["survey", "--help"]) == 0
    assert "boards" in capsys.readouterr().out


def test_a_run_goes_on_where_it_was_stopped(shop, run, monkeypatch):
    """Boards, lines and rules unchanged, nothing is checked again; what changed, and only that, is."""
    import capcheck.survey.boards_on_lines as surveying

    checked = []
    read = surveying.read_prepared
    monkeypatch.setattr(
        surveying, "read_prepared", lambda given, path: (checked.append(path.name), read(given, path))[1]
    )
    where = ("survey", shop / "order", "--line", shop / "low.line.toml", "--keep", shop / "kept")
    options = ("--plan-seconds", "0", "--no-config", "--format", "json", "--jobs", "1")
    first = run(*where, *options)
    assert checked == ["order", "flat", "nine", "nineteen", "six"]
    checked.clear()
    assert run(*where, *options) == first
    assert checked == [], "nor is what is no board looked into again"
    (shop / "order" / "six" / "board.toml").write_text('name = "other"\nplacements = "placements.csv"\n')
    checked.clear()
    assert '"other"' in run(*where, *options)[1]
    assert checked == ["order", "six"]
    profile = shop / "low.machine.toml"
    profile.write_text(profile.read_text().replace("5 mm", "6 mm"))
    checked.clear()
    run(*where, *options)
    assert len(checked) == 5, "the line is another"
    for file in (shop / "kept").iterdir():
        file.write_bytes(b"damaged")
    checked.clear()
    run(*where, *options)
    assert len(checked) == 5


def test_boards_side_by_side_in_a_folder_are_kept_each(shop, run, monkeypatch):
    """Of the folder itself it is kept which boards lie in it; what changes in it, is looked at again."""
    import capcheck.survey.boards_on_lines as surveying

    (shop / "quote").mkdir()
    for name, turn in (("one", 3), ("two", 5)):
        rows = "".join(f"L{n},{n * n * turn % 31},{n * turn * 7 % 29},0,top,1 uH,SHOP,4,4,2\n" for n in range(1, 13))
        (shop / "quote" / f"{name}.csv").write_text(ROWS + rows)
    checked = []
    read = surveying.read_prepared
    monkeypatch.setattr(
        surveying, "read_prepared", lambda given, path: (checked.append(path.name), read(given, path))[1]
    )
    where = ("survey", shop / "quote", "--line", shop / "low.line.toml", "--keep", shop / "kept")
    options = ("--plan-seconds", "0", "--no-config", "--format", "json", "--jobs", "1")
    first = run(*where, *options)
    assert checked == ["quote", "one.csv", "two.csv"]
    assert [row["board"] for row in json.loads(first[1])["boards"]] == ["one", "two"]
    checked.clear()
    assert run(*where, *options) == first
    assert checked == []
    (shop / "quote" / "two.csv").write_text((shop / "quote" / "one.csv").read_text())
    assert [row["board"] for row in json.loads(run(*where, *options)[1])["boards"]] == ["quote"]


def test_a_folder_for_results_that_cannot_be_made_is_said(shop, run):
    (shop / "file").write_text("")
    args = ("--line", shop / "low.line.toml", "--no-config", "--keep", shop / "file" / "kept")
    code, _, err = run("survey", shop / "order", *args)
    assert code == 2
    assert "cannot hold results" in err


def test_a_kept_result_is_the_result_itself_and_holds_no_sentence(shop, run):
    """What is kept is data, also of a check that is no answer and of a board in a panel; the report makes the words."""
    import msgspec

    board(shop / "order" / "bare", 2, toml='not_fitted = ["L1"]\n')
    board(shop / "order" / "tiny", 2, toml='length = "12 mm"\nwidth = "12 mm"\nthickness = "1.6 mm"\n')
    line(
        shop,
        "low",
        LOW + '[board]\nmin_length = "50 mm"\nmin_width = "50 mm"\nmax_length = "300 mm"\nmax_width = "300 mm"\n',
    )
    where = ("survey", shop / "order", "--line", shop / "low.line.toml", "--keep", shop / "kept")
    options = ("--plan-seconds", "0", "--no-config", "--format", "json", "--jobs", "1")
    first = run(*where, *options)
    assert run(*where, *options) == first
    rows = {row["board"]: row for row in json.loads(first[1])["boards"]}
    assert "panel of" in rows["tiny"]["panel"]
    assert rows["bare"]["verdict"] == "unanswered"
    assert rows["bare"]["stops"]
    kept = [msgspec.msgpack.decode(file.read_bytes()) for file in (shop / "kept").glob("*.msgpack")]
    (tiny,) = (one for one in kept if one["name"] == "tiny")
    (bare,) = (one for one in kept if one["name"] == "bare")
    assert set(tiny["on"][0]["panel"]) == {"key", "values"}
    assert rows["tiny"]["panel"] not in str(tiny)
    assert rows["bare"]["stops"] not in str(bare)


def test_a_board_with_nothing_for_a_head_is_in_the_table_without_a_cycle(shop, run):
    """All of it is fitted by hand: a plan has nothing to place, and the board is not lost for that."""
    path = board(shop / "order" / "hand", 2) / "board.toml"
    path.write_text(path.read_text().replace('"surface"', '"through hole"'))
    args = ("--line", shop / "high.line.toml", "--no-config", "--format", "json")
    code, out, _ = run("survey", shop / "order", *args)
    assert code == 0
    data = json.loads(out)
    assert data["not_read"] == []
    (row,) = (row for row in data["boards"] if row["board"] == "hand")
    assert (row["parts"], row["by_hand"], row["cycle_s_min"]) == (1, 1, None)


def test_one_limit_of_several_machines_is_one_obstacle_that_names_them():
    """A board that is too long for two machines is one thing to change, with one length that cures it."""
    one, two = (
        Cause(CauseKind.STOPS, "board-length", limit=Limit("machine.max_board_length", "", LENGTH, name))
        for name in ("One", "Two")
    )
    both = (
        Case(one, (), Demand(200, Interval(300, 300), upper=True)),
        Case(two, (), Demand(210, Interval(300, 300), upper=True)),
    )
    boards = [
        BoardResult("strip", None, 0, (result(*both),)),
        BoardResult("stripe", None, 0, (result(Case(one, (), Demand(200, Interval(205, 205), upper=True))),)),
    ]
    (found,) = obstacles_of(boards, 0)
    assert found.boards == found.alone == ("strip", "stripe")
    assert [limit.machine for limit in found.limits] == ["One", "Two"]
    assert [(step.to, len(step.builds)) for step in found.steps] == [(205, 1), (300, 2)]
    assert found.needed == Demand(200, Interval(300, 300), upper=True)


def test_slots_that_nobody_states_are_no_number(shop, run):
    out = run(
        "survey", shop / "order" / "flat", "--line", shop / "low.line.toml", "--no-config", "--plan-seconds", "0"
    )[1]
    assert "inf" not in out


@pytest.mark.rows(
    "args, said", [((), "with --keep FOLDER the same command goes on"), (("--keep", "kept"), "is kept in kept")]
)
def test_a_survey_that_is_interrupted_says_how_it_goes_on(shop, run, monkeypatch, args, said):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("capcheck.survey.survey", stopped)
    monkeypatch.chdir(shop)
    code, _, err = run("survey", "order", "--line", "low.line.toml", "--no-config", *args)
    assert code == 130
    assert err.startswith("interrupted: ")
    assert said in err

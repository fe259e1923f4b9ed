"""What many boards ask of a line, and a profile that covers a share of them.

Figures: invented boards, in round sizes that the test's own columns state; shares and sums worked by hand.
"""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path

import openpyxl
import pyarrow.parquet as pq
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from msgspec import structs

from capcheck.checking import check, read_board
from capcheck.machines import line_of_machines, read_machine
from capcheck.model import Measure, Packaging
from capcheck.report.survey import Needs, because, feeding_notes
from capcheck.survey import BoardNeeds, Need, cover, envelopes, needs_of, needs_of_boards, profile_text, rounded
from capcheck.survey.needs import EDGES, LIMITS
from capcheck.values import Interval

COLUMNS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Length [mm],Width [mm],Height [mm]\n"
SIZE = 'length = "80 mm"\nwidth = "60 mm"\nthickness = "1.6 mm"\n'
BY_KEY = {limit.key: limit for limit in LIMITS}
OF_PROFILE = (
    "part-height",
    "largest-body",
    "smallest-chip",
    "lead-pitch",
    "ball-pitch",
    "ball-recognition",
    "board-length",
    "board-width",
    "board-thickness",
)
"""The rules that compare a board with the limits of such a profile."""


def board(folder: Path, *parts: tuple[str, float, float, float], toml: str = SIZE) -> Path:
    """Write a board of parts, each with footprint, length, width and height."""
    folder.mkdir(parents=True)
    rows = (f"U{n},{10 * n},20,0,top,v{n},{','.join(map(str, part))}\n" for n, part in enumerate(parts, 1))
    (folder / "placements.csv").write_text(COLUMNS + "".join(rows))
    surface = '[mounting]\n"U*" = "surface"\n'
    (folder / "board.toml").write_text(f'placements = "placements.csv"\nunits = "mm"\n{toml}{surface}')
    return folder


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """Four boards: their tallest parts are 2, 4, 8 and 20 mm; one has a chip of 1.0 × 0.5 mm, one a fine QFP."""
    boards = tmp_path / "order"
    board(boards / "a", ("C1608", 1.6, 0.8, 2))
    board(boards / "b", ("C1005", 1.0, 0.5, 4))
    # An IPC-7351B name states the pitch.
    board(boards / "c", ("QFP50P900X900X160-48N", 7, 7, 8))
    board(boards / "d", ("SHOP7", 30, 10, 20), toml='length = "300 mm"\nwidth = "60 mm"\nthickness = "1.6 mm"\n')
    return boards


def of(boards, key):
    (one,) = (envelope for envelope in envelopes(boards) if envelope.limit.key == key)
    return one


def test_each_value_of_a_limit_covers_the_boards_that_ask_no_more(order):
    boards, unread = needs_of_boards([order])
    assert unread == []
    assert [b.name for b in boards] == ["a", "b", "c", "d"]
    tallest = of(boards, "max_part_height")
    assert [(r.value, r.known, r.proved) for r in tallest.reached] == [
        (2, 0.25, 0.25),
        (4, 0.5, 0.5),
        (8, 0.75, 0.75),
        (20, 1, 1),
    ]
    assert [tallest.at(share) for share in (0.25, 0.5, 0.51, 1)] == [2, 4, 8, 20]
    assert [r.value for r in of(boards, "max_length").reached] == [80, 300]
    assert [r.value for r in of(boards, "min_length").reached] == [300, 80], "a lower limit goes down"


def test_shares_are_of_quantities_where_all_are_known(order):
    boards, _ = needs_of_boards([order], quantities={"a": 10, "b": 20, "c": 30, "d": 40})
    assert [r.known for r in of(boards, "max_part_height").reached] == pytest.approx([0.1, 0.3, 0.6, 1])
    found = cover(boards, 0.6)
    assert found.share == pytest.approx(0.6)
    assert [left.name for left in found.left] == ["d"]
    some, _ = needs_of_boards([order], quantities={"a": 10})
    assert [r.known for r in of(some, "max_part_height").reached] == [0.25, 0.5, 0.75, 1]


def test_who_is_left_is_said_with_the_limits_and_the_parts(order):
    boards, _ = needs_of_boards([order])
    found = cover(boards, 0.75)
    (left,) = found.left
    assert left.name == "d"
    because = {one.limit.key: (one.need.known, one.need.refs) for one in left.because}
    assert because["max_part_height"] == (20, ("U1",))
    assert because["max_length"] == (300, ())
    assert found.values["max_part_height"] == 8


@pytest.mark.parametrize("name", ["a", "b", "c", "d"])
def test_a_machine_of_a_boards_needs_takes_it_by_every_rule(order, tmp_path, name):
    """The promise: what the needs mirror is what the rules compare; this fails where a rule asks otherwise."""
    found = cover([needs_of(read_board(order / name))], 1)
    profile = tmp_path / "of.machine.toml"
    profile.write_text(profile_text(found, "needs"))
    line = line_of_machines([profile])
    report = check(order / name, line=line)
    counts = {rule: count for rule, count in report.answers.counts.items() if rule in OF_PROFILE}
    assert {f.rule for f in report.findings if f.outcome == "fail"} == set()
    assert sum(count.passed for count in counts.values()) >= 5
    undecided = {f.rule for f in report.findings if f.rule in OF_PROFILE}
    assert not undecided or found.open, "only what is open is not proved"
    assert name != "a" or not undecided


@pytest.mark.parametrize(("key", "to"), [("max_part_height", 19), ("max_body_length", 29), ("max_body_width", 9)])
def test_a_machine_a_little_less_able_does_not(order, tmp_path, key, to):
    found = cover([needs_of(read_board(order / "d"))], 1)
    profile = tmp_path / "of.machine.toml"
    profile.write_text(profile_text(found, "needs"))
    text = profile.read_text()
    full = f'{key} = "{rounded(found.values[key], BY_KEY[key])}"'
    assert full in text
    profile.write_text(text.replace(full, f'{key} = "{to} mm"'))
    assert any(f.outcome == "fail" for f in check(order / "d", line=line_of_machines([profile])).findings)


def test_what_is_not_known_is_open_and_proves_no_share(order):
    path = order / "b" / "placements.csv"
    path.write_text(path.read_text() + "U9,50,20,0,top,v9,SHOP9,,,\n")
    boards, _ = needs_of_boards([order])
    tallest = of(boards, "max_part_height")
    assert tallest.open == ("b",)
    assert tallest.reached[-1].known == 1
    assert tallest.reached[-1].proved == 0.75
    found = cover(boards, 1)
    assert "max_part_height" in {limit.key for limit in dict(found.open)["b"]}
    assert "max_part_height" not in {limit.key for name, limits in found.open if name != "b" for limit in limits}
    assert found.proved == pytest.approx(1 - len(found.open) / 4)


def test_a_board_of_which_nothing_is_known_counts_for_no_value(order):
    board(order / "e", ("C1608", 1.6, 0.8, 2), toml="")
    boards, _ = needs_of_boards([order])
    longest = of(boards, "max_length")
    assert longest.open == ("e",)
    assert [r.value for r in longest.reached] == [80, 300]
    assert [r.known for r in longest.reached] == pytest.approx([0.75, 1])
    assert longest.reached[-1].proved == 0.8


def asked(name: str, height: float, pitch: float) -> BoardNeeds:
    needs = {
        "max_part_height": Need(height, height, height, ("U1",)),
        "min_lead_pitch": Need(pitch, pitch, pitch, ("U2",)),
    }
    none = Interval.exactly(0.0)
    return BoardNeeds(name, None, (), needs, balls=False, tapes={}, unfed=0, trays=none, placements=Interval(1, 1))


@given(
    st.lists(st.tuples(st.floats(1, 50), st.floats(0.1, 1)), min_size=1, max_size=12),
    st.floats(0.05, 1),
)
@settings(max_examples=sample_size(60))
def test_a_cover_covers_its_share_and_says_who_is_left(asks, share):
    boards = [asked(str(number), *ask) for number, ask in enumerate(asks)]
    found = cover(boards, share)
    assert found.share >= share - 1e-9
    inside = set(found.covered)
    for one in boards:
        meets = (
            one.needs["max_part_height"].known <= found.values["max_part_height"]
            and one.needs["min_lead_pitch"].known >= found.values["min_lead_pitch"]
        )
        assert meets == (one.name in inside)
    assert inside | {left.name for left in found.left} == {one.name for one in boards}
    assert all(left.because for left in found.left)
    everything = cover(boards, 1)
    assert everything.left == ()
    assert found.values["max_part_height"] <= everything.values["max_part_height"]


@given(st.floats(0.05, 500))
@settings(max_examples=sample_size(80))
def test_rounding_never_makes_a_limit_less_able(value):
    upper, lower = BY_KEY["max_length"], BY_KEY["min_length"]
    assert float(rounded(value, upper).split()[0]) >= value * (1 - 1e-5)
    assert float(rounded(value, lower).split()[0]) <= value * (1 + 1e-5)
    assert math.isclose(float(rounded(value, upper).split()[0]), value, rel_tol=0.02)


def test_the_command_writes_every_form_and_a_profile_that_is_read(order, tmp_path, run):
    profile = tmp_path / "p.machine.toml"
    code, text, _ = run("needs", order, "--cover", "75%", "--profile", profile)
    assert code == 0
    assert "What 4 boards ask of a line" in text
    assert "they cover 75% of the boards" in " ".join(text.split())
    assert "left: d: tallest part 20.0 mm (U1)" in " ".join(text.split())
    machine = read_machine(profile)
    assert machine.head[0].max_part_height == 8
    assert machine.head[0].smallest_chip == "1005M"
    data = json.loads(run("needs", order, "--cover", "0.75", "--format", "json")[1])
    assert data["cover"]["values"]["max_part_height"] == 8
    assert [one["board"] for one in data["cover"]["left"]] == ["d"]
    rows = list(csv.DictReader(io.StringIO(run("needs", order, "--format", "csv")[1])))
    assert {row["known"] for row in rows if row["key"] == "head.max_part_height"} == {"2.0", "4.0", "8.0", "20.0"}
    page = run("needs", order, "--format", "html")[1]
    assert page.count('class="known"') == sum(bool(one["reached"]) for one in data["limits"])


def test_a_profile_in_the_working_directory_is_written_again(order, run, monkeypatch):
    monkeypatch.chdir(order.parent)
    for share in ("50%", "100%"):
        assert run("needs", "order", "--cover", share, "--profile", "p.machine.toml")[0] == 0
    assert read_machine("p.machine.toml").head[0].max_part_height == 20


def test_quantities_and_hours_give_the_placements_of_an_hour(order, tmp_path, run):
    (tmp_path / "year.csv").write_text("board,per year\na,1000\nb,1000\nc,1000\nd,1000\n")
    args = ("--per-year", tmp_path / "year.csv", "--hours-per-year", "2000")
    assert "parts placed a year: 4,000, 2 an hour in 2,000 hours" in run("needs", order, *args)[1]


@pytest.mark.parametrize("share", ["0", "101%", "much", "-5%"])
def test_what_is_no_share_is_refused(order, run, share):
    code, out, err = run("needs", order, f"--cover={share}")
    assert code == 2
    assert out == ""
    assert "is not a share" in err


def test_no_board_is_no_success_and_writes_no_profile(tmp_path, run):
    (tmp_path / "empty").mkdir()
    profile = tmp_path / "p.machine.toml"
    assert run("needs", tmp_path / "empty", "--profile", profile)[0] == 2
    assert not profile.exists()


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75, 1.0])
def test_a_profile_of_a_share_takes_the_boards_of_that_share_and_no_other(order, tmp_path, run, share):
    """What the command writes is read as a machine; checked on it, the boards covered pass, those left fail."""
    profile = tmp_path / "p.machine.toml"
    code, out, _ = run("needs", order, "--cover", f"{share:.0%}", "--profile", profile, "--format", "json")
    assert code == 0
    left = {one["board"] for one in json.loads(out)["cover"]["left"]}
    stopped = set()
    for name in "abcd":
        report = check(order / name, line=line_of_machines([profile]))
        if any(f.rule in OF_PROFILE and f.outcome == "fail" for f in report.findings):
            stopped.add(name)
    assert stopped == left
    assert len(left) <= 4 * (1 - share) + 1e-9


def test_tapes_trays_and_parts_are_told_by_the_share_that_has_no_more(order, run):
    text = run("needs", order)[1]
    (row,) = (line for line in text.splitlines() if line.startswith("parts placed "))
    assert row.split() == ["parts", "placed", *["1"] * 5]
    path = order / "a" / "placements.csv"
    path.write_text(path.read_text() + "".join(f"U{n},{n},30,0,top,v1,C1608,1.6,0.8,2\n" for n in range(5, 14)))
    (row,) = (line for line in run("needs", order)[1].splitlines() if line.startswith("parts placed "))
    assert row.split() == ["parts", "placed", "1", "10", "10", "10", "10"]
    page = run("needs", order, "--format", "html")[1]
    assert "Feeders and parts" in page
    (tmp := order.with_name("year.csv")).write_text("board,per year\na,97\nb,1\nc,1\nd,1\n")
    lines = run("needs", order, "--per-year", tmp)[1].splitlines()
    (row,) = (line for line in lines if line.startswith("parts placed  "))
    assert row.split()[2:] == ["10"] * 5, "shares are of quantities: ten parts are what 97 of 100 boards have"


def test_what_boards_ask_is_kept_and_taken_while_nothing_changes(order, tmp_path, run, monkeypatch):
    import capcheck.survey.needs as asking

    where = ("needs", order, "--format", "json", "--jobs", "1", "--keep", tmp_path / "kept")
    first = run(*where)
    assert first == run(*where[:-2])
    read = []
    made = asking.read_prepared
    monkeypatch.setattr(asking, "read_prepared", lambda given, path: (read.append(path.name), made(given, path))[1])
    assert run(*where) == first
    assert read == [], "nor is what is no board"
    (order / "b" / "board.toml").write_text((order / "b" / "board.toml").read_text() + "\n# read again\n")
    run(*where)
    assert read == ["order", "b"]


def test_perhaps_is_said_of_what_a_board_perhaps_asks_further():
    """A body of 7 to 30 mm: a machine for 8 mm may take it."""
    boards = [asked(str(height), height, 0.5) for height in (2, 4, 8)]
    wide = structs.replace(boards[0], name="wide", needs={"max_part_height": Need(7, 30, 30, ("U1",))})
    (left,) = cover([*boards, wide], 0.75).left
    assert list(because(left)) == ["tallest part perhaps 30.0 mm (U1)"]
    sure = structs.replace(wide, needs={"max_part_height": Need(25, 30, 30, ("U1",))})
    (left,) = cover([*boards, sure], 0.75).left
    assert list(because(left)) == ["tallest part 30.0 mm (U1)"]


def test_what_may_have_balls_widens_the_profile():
    """A board that perhaps has ball grids is covered by a machine that recognises them, and by no other."""
    one, perhaps = asked("one", 2, 0.5), structs.replace(asked("two", 20, 0.5), balls=None)
    assert cover([one, perhaps], 1).balls
    found = cover([one, perhaps], 0.5)
    assert not found.balls
    (left,) = found.left
    assert list(because(left)) == ["tallest part 20.0 mm (U1)", "perhaps ball grids"]


def test_parts_with_leads_through_holes_are_no_placements_of_a_machine(order):
    path = order / "a"
    (path / "board.toml").write_text((path / "board.toml").read_text() + '"J*" = "through hole"\n')
    rows = "J1,50,20,0,top,header,SHOP9,10,5,8\nX1,60,20,0,top,what,SHOP8,2,2,2\n"
    (path / "placements.csv").write_text((path / "placements.csv").read_text() + rows)
    (board, *_), _ = needs_of_boards([path])
    assert (board.placements.low, board.placements.high) == (1, 2), "X1 may be for a head"


@pytest.mark.rows(
    "at_y, free",
    [
        # How it lies at 0° is not known: its longer side counts.
        (2, 1.2),
        (57, 2.2),
        # It touches the edge if it lies along y, and else leaves 0.4 mm.
        (0.8, 0.4),
        (0.1, None),
    ],
)
def test_a_board_asks_for_the_strip_that_its_parts_leave_free(tmp_path, at_y, free):
    """A chip of 1.6 × 0.8 mm on 80 × 60 mm: the long edges, at y of 0 and 60 mm, are carried."""
    folder = board(tmp_path / f"at {at_y}" / "a", toml='outline = "outline.gbr"\n')
    rows = "".join(f"U{n},{x},{y},0,top,v1,C1608,1.6,0.8,2\n" for n, (x, y) in enumerate([(10, at_y), (40, 30)], 1))
    (folder / "placements.csv").write_text(COLUMNS + rows)
    corners = [(0, 0), (80, 0), (80, 60), (0, 60), (0, 0)]
    lines = [f"X{x}000000Y{y}000000D0{2 if n == 0 else 1}*" for n, (x, y) in enumerate(corners)]
    gerber = ["%FSLAX46Y46*%", "%MOMM*%", "%ADD10C,0.100*%", "D10*", *lines, "M02*", ""]
    (folder / "outline.gbr").write_text("\n".join(gerber))
    boards, _ = needs_of_boards([folder])
    edge = of(boards, "edge_clearance_top")
    assert [r.value for r in edge.reached] == pytest.approx([] if free is None else [free])
    assert (bool(edge.open), bool(edge.never)) == (at_y == 0.8, at_y == 0.1)
    assert ("rails needed on any line: a" in " ".join(feeding_notes(Needs(boards, [], 1)))) == (at_y == 0.1)
    covered = cover(boards, 1)
    assert covered.left == (), "rails cure it, and are ordered"
    assert any(limit == EDGES[0] for _, limits in covered.open for limit in limits) == (at_y == 0.8)
    assert covered.values.get("edge_clearance_top") == (None if free is None else pytest.approx(free))
    (tmp_path / "of.machine.toml").write_text(profile_text(covered, "needs"))
    line = line_of_machines([tmp_path / "of.machine.toml"])
    found = {f.outcome for f in check(folder, line=line).findings if f.rule == "edge-clearance"}
    assert found == ({"warn"} if free is None or edge.open else set())


# EIA-481: tapes of 8, 12, 16, 24 mm and wider, and none of 20 mm.
@pytest.mark.rows(
    "width, tapes, unfed",
    [
        (Interval(8, 8), {8: (1, 1)}, 0),
        (Interval(11, 17), {12: (0, 1), 16: (0, 1)}, 0),
        (Interval(20, 20), {}, 1),
        (Interval(8, float("inf")), {}, 1),
    ],
)
def test_a_part_number_on_tape_is_counted_by_its_widths_or_as_not_known(order, width, tapes, unfed):
    read = read_board(order / "a")
    bodies = tuple(structs.replace(one, supply=Packaging.TAPE, tape_width=Measure(width)) for one in read.bodies)
    found = needs_of(structs.replace(read, bodies=bodies))
    assert {width: (of.low, of.high) for width, of in found.tapes.items()} == tapes
    assert found.unfed == unfed


def test_every_form_of_the_needs_says_the_same(order, tmp_path, run):
    names = [tmp_path / f"n.{ending}" for ending in ("json", "csv", "xlsx", "parquet", "html")]
    code, *_ = run("needs", order, "--cover", "75%", *(word for name in names for word in ("--output", name)))
    assert code == 0
    data = json.loads(names[0].read_text())
    asks = {
        (b["board"], key): (a["surely"], a["known"], a["at_most"])
        for b in data["boards"]
        for key, a in b["asks"].items()
    }
    head, *rows = [row[:9] for row in openpyxl.load_workbook(names[2])["needs"].iter_rows(values_only=True)]
    of_csv = [[cell or None for cell in row[:9]] for row in list(csv.reader(names[1].read_text().splitlines()))[1:]]
    of_parquet = [list(row.values()) for row in pq.read_table(names[3]).to_pylist()]
    for table in (rows, of_csv, of_parquet):
        found = {}
        for row in table:
            one = dict(zip(head, row, strict=True))
            ends = (None if one[k] is None else float(one[k]) for k in ("surely", "known", "at_most"))
            found[one["board"], one["key"].split(".")[1]] = tuple(ends)
        assert found == asks
    assert "d: tallest part 20.0 mm (U1)" in names[4].read_text()

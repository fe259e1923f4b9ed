"""Boards of one run that are settled each by its own layers: kept results, units, files, what the store is told.

Figures: invented limits, boards and machines.
"""

import json
import shutil

import pytest

import capcheck.shop.settings as settling
from capcheck.store import open_store

PLACED = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Part number\nU1,10,10,0,top,,HOUSE-1,AB-1\n"
BOM = "References,Value,Part number,Height [mm],Length [mm],Width [mm]\nU1,,AB-1,{height},4,3\n"
LIBRARY = "part number,mounting,length [mm],width [mm],height [mm]\nAB-1,surface,4,3,{height}\n"
MACHINE = 'name = "M"\n[[head]]\nname = "h"\nmax_part_height = "5 mm"\n'


@pytest.fixture
def desk(tmp_path, monkeypatch, make_line):
    """Two folders of the same files, of two customers, a line, and a library for each customer."""
    make_line(MACHINE)
    for customer, height in (("umbra", 2), ("noctua", 9)):
        folder = tmp_path / customer / "pump"
        folder.mkdir(parents=True)
        (folder / "placements.csv").write_text(PLACED)
        (tmp_path / f"{customer}.csv").write_text(LIBRARY.format(height=height))
    (tmp_path / "capcheck.toml").write_text(
        'line = "l.line.toml"\n'
        '[boards.umbra]\nlibraries = ["umbra.csv"]\n[boards.noctua]\nlibraries = ["noctua.csv"]\nunits = "mil"\n'
    )
    monkeypatch.chdir(tmp_path)
    return tmp_path


def verdicts(run, *options):
    code, out, err = run("survey", "umbra", "noctua", "--plan-seconds", "0", "--format", "json", *options)
    assert code == 0, err
    return [board["verdict"] for board in json.loads(out)["boards"]]


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_results_that_are_kept_are_those_of_the_board_s_own_layers(desk, run, jobs):
    keep = ("--keep", desk / "kept", "--jobs", jobs)
    assert verdicts(run, *keep) == verdicts(run) == ["warn", "fail"]
    assert verdicts(run, *keep) == ["warn", "fail"]
    # A library that only a layer names is a part of what a result hangs on.
    (desk / "umbra.csv").write_text(LIBRARY.format(height=8))
    assert verdicts(run, *keep) == ["fail", "fail"]


def test_needs_that_are_kept_are_those_of_the_board_s_own_layers(desk, run):
    def tallest(*options):
        out = run("needs", "umbra", "noctua", "--format", "json", "--jobs", "1", *options)[1]
        return json.loads(out)["limits"]

    assert tallest("--keep", desk / "kept") == tallest()
    assert tallest("--keep", desk / "kept") == tallest()


@pytest.mark.usefixtures("desk")
def test_each_of_several_boards_is_told_in_the_unit_of_its_own_layer(run):
    alone = [run("check", f"{folder}/pump", "--full")[1] for folder in ("umbra", "noctua")]
    together = run("check", "umbra/pump", "noctua/pump", "--full", "--jobs", "1")[1]
    assert "mil" in alone[1]
    assert "mil" not in alone[0]
    for told in alone:
        assert told.rstrip().splitlines()[-3:] == [row for row in told.rstrip().splitlines()[-3:] if row in together]
        assert all(row in together for row in told.splitlines() if "U1" in row)


def test_no_report_is_written_over_a_library_that_only_a_layer_names(desk, run):
    (desk / "out").mkdir()
    (desk / "out" / "noctua-pump.csv").write_text(LIBRARY.format(height=9))
    (desk / "capcheck.toml").write_text('line = "l.line.toml"\n[boards.noctua]\nlibraries = ["out/noctua-pump.csv"]\n')
    before = (desk / "out" / "noctua-pump.csv").read_text()
    code, _, err = run("check", "umbra/pump", "noctua/pump", "--format", "csv", "--output", desk / "out")
    assert (desk / "out" / "noctua-pump.csv").read_text() == before
    assert code == 2, err
    assert "pump.csv" in err


@pytest.mark.usefixtures("desk")
def test_a_board_is_settled_once_a_check(run, monkeypatch):
    settled = []
    settle = settling.settle
    monkeypatch.setattr(
        settling, "settle", lambda *a, **more: (settled.append(more.get("board")), settle(*a, **more))[1]
    )
    run("check", "umbra/pump", "noctua/pump", "--jobs", "1")
    assert sorted(str(path) for path in settled if path) == ["noctua/pump", "umbra/pump"]


@pytest.fixture
def boards(desk):
    """The same boards with sizes that their own files state, and a store."""
    for customer, height in (("umbra", 2), ("noctua", 9)):
        (desk / customer / "pump" / "bom.csv").write_text(BOM.format(height=height))
    (desk / "capcheck.toml").write_text(
        'line = "l.line.toml"\nstore = "parts.db"\n[customers.Umbra]\nboards = ["umbra"]\n'
        '[boards.noctua]\ncustomer = "Noctua"\n'
    )
    open_store(str(desk / "parts.db")).close()
    return desk


def figures(desk, field="height"):
    with open_store(str(desk / "parts.db")) as store:
        return {(str(f.scope), f.value.low) for f in store.figures() if f.field == field}


@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.usefixtures("boards")
def test_each_of_several_boards_is_kept_under_its_own_customer(run, jobs):
    code, _, err = run("check", "umbra/pump", "noctua/pump", "--keep", "--by", "Ada", "--jobs", jobs)
    assert code == 0, err
    assert err.count("kept in parts.db: pump, a new revision") == 2
    told = run("library", "show", "AB-1")[1]
    assert "used on pump of Umbra" in told
    assert "used on pump of Noctua" in told
    # The same again is known.
    assert run("check", "umbra/pump", "noctua/pump", "--keep", "--by", "Ada")[2].count("a revision known") == 2


def test_boards_of_an_archive_are_kept_and_what_cannot_be_kept_is_said_of_it_alone(boards, run):
    shutil.make_archive("order", "zip", boards, "umbra")
    code, _, err = run("check", "order.zip", "--keep", "--by", "Ada")
    assert (code, "a new revision" in err) == (0, True), err
    (boards / "umbra" / "pump" / "placements.csv").write_text("Ref,X,Y\n")
    code, _, err = run("check", "umbra/pump", "noctua/pump", "--keep", "--by", "Ada")
    assert code == 1
    assert (err.count("kept in"), "not checked: umbra" in err) == (1, True)


def test_what_is_offered_holds_for_the_customer_whose_board_it_is(boards, run):
    for folder in ("umbra/pump", "noctua/pump"):
        code, out, err = run("library", "offer", folder, "--keep", "--by", "Ada")
        assert code == 0, (out, err)
    assert figures(boards) == {("customer Umbra", 2), ("customer Noctua", 9)}


def test_what_is_offered_may_be_held_to_one_board(boards, run):
    for folder, board in (("umbra/pump", "pump"), ("noctua/pump", "")):
        offered = ("library", "offer", folder, "--board", board, "--customer", "Ada Works", "--keep", "--by", "Ada")
        assert run(*offered)[0] == 0
    found = figures(boards)
    assert {height for _, height in found} == {2, 9}
    assert len({scope for scope, _ in found}) == 2
    assert any("board pump" in scope for scope, _ in found), found


def test_what_is_offered_is_read_by_the_shop_s_own_board_file(boards, run):
    config = boards / "capcheck.toml"
    config.write_text(config.read_text() + '[boards."umbra/pump"]\nboard_file = "ours.toml"\n')
    (boards / "ours.toml").write_text('name = "Ours"\n')
    out = run("library", "offer", "umbra/pump")[1]
    assert "stated by Ours" in out

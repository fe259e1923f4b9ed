"""A kept result is that of the settings that hold for its own board, by whichever layer of the configuration.

Figures: invented boards and machines, in round sizes that the test's own columns state.
"""

import json
from pathlib import Path

import pytest

from capcheck.checking import Prepared
from capcheck.machines import read_line
from capcheck.shop import Settings
from capcheck.survey import Surveyor
from capcheck.survey.same_folders import without_copies
from capcheck.values import InputError

HEAD = 'name = "Low"\n[[head]]\nname = "h"\nmax_body_length = "20 mm"\nmax_part_height = "5 mm"\n'
ROWS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Length [mm],Width [mm],Height [mm]\n"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch) -> Path:
    """Two customers' boards of the same name and content, and a line that one part of both is too tall for."""
    for customer in ("one", "two"):
        folder = tmp_path / customer / "pump"
        folder.mkdir(parents=True)
        (folder / "placements.csv").write_text(ROWS + "L1,10,10,0,top,1 uH,SHOP1,4,4,6\n")
        (folder / "board.toml").write_text(
            'placements = "placements.csv"\nunits = "mm"\n[mounting]\n"L*" = "surface"\n'
        )
    (tmp_path / "low.machine.toml").write_text(HEAD)
    (tmp_path / "low.line.toml").write_text('name = "Low"\nmachines = ["low.machine.toml"]\n')
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def verdicts(shop, run):  # noqa: ARG001 - what it surveys
    def of(*options: str) -> list[str]:
        where = ("survey", "one", "two", "--line", "low.line.toml", "--config", "capcheck.toml", "--format", "json")
        _, out, _ = run(*where, "--plan-seconds", "0", *options)
        return [board["verdict"] for board in json.loads(out)["boards"]]

    return of


def test_boards_of_one_content_that_are_settled_otherwise_have_results_of_their_own(shop, verdicts):
    (shop / "capcheck.toml").write_text('[boards.one]\noutcomes = { part-height = "warn" }\n')
    assert verdicts() == ["warn", "fail"]
    for _ in range(2):
        assert verdicts("--keep", "kept", "--jobs", "1") == ["warn", "fail"]


def test_a_library_of_a_boards_own_layer_is_part_of_what_a_result_hangs_on(shop, verdicts):
    (shop / "capcheck.toml").write_text('[boards.one]\nlibraries = ["own.csv"]\n')
    (shop / "own.csv").write_text("footprint,height [mm]\nSHOP1,4\n")
    for options in ((), ("--keep", "kept")):
        first = verdicts(*options)
    (shop / "own.csv").write_text("footprint,height [mm]\nSHOP1,9\n")
    assert verdicts() != first
    assert verdicts("--keep", "kept") == verdicts()


def test_wrong_settings_of_one_board_end_no_run_over_many(shop, verdicts, run):
    (shop / "empty").mkdir()
    (shop / "capcheck.toml").write_text('board = "one"\n[boards.one]\nrules = ["empty"]\n')
    assert verdicts() == verdicts("--keep", "kept") == ["fail"]
    for paths in (("one", "two"), ("two", "one")):
        code, out, err = run("check", *paths, "--line", "low.line.toml", "--config", "capcheck.toml")
        assert code == 1
        assert "2 boards: 1 fail, 0 warn, 0 pass, 1 not checked" in out
        assert "holds no rule file" in err


def test_a_copy_that_cannot_be_settled_is_a_copy_of_nothing(shop):
    def told_of(path):
        if path.name == "two":
            raise InputError.at("capcheck.toml", "is wrong")

    paths = [shop / "one", shop / "two"]
    assert without_copies(paths, told_of) == (paths, {})
    assert without_copies(paths, lambda _: None) == (paths[:1], {paths[0]: paths[1:]})


def test_a_board_is_settled_once_for_its_result_and_its_place(shop, monkeypatch):
    settled = []
    of_board = Prepared.of_board
    monkeypatch.setattr(Prepared, "of_board", lambda given, path: settled.append(path) or of_board(given, path))
    lines = [read_line(shop / "low.line.toml")]
    surveyor = Surveyor.prepared(Settings(), lines, lambda _: 0, 0, keep=shop / "kept")
    for times in (1, 2):
        surveyor.on_all(shop / "one" / "pump")
        assert len(settled) == times

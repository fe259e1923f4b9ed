"""A kept result is that of the settings that hold for its own board, by whichever layer of the configuration.

Figures: invented boards and machines, in round sizes that the test's own columns state.
"""

import json
from pathlib import Path

import pytest

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

"""``boards``: which boards a change is about, and what is printed of them.

Figures: boards, places and counts are invented.
"""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from capcheck.cli import main

PLACED = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,10,10,0,top,10k,R0402\n"


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("a", "a/inner", "b", ".hidden"):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "placements.csv").write_text(PLACED)
        (folder / "board.toml").write_text('placements = "placements.csv"\nsize_codes = "inch"\n')
    (tmp_path / "m.machine.toml").write_text('name = "Placer 1"\n[[head]]\nname = "h"\nsmallest_chip = "1005M"\n')
    (tmp_path / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    (tmp_path / "packages.csv").write_text("part number,length [mm]\n")
    (tmp_path / "capcheck.toml").write_text('line = "l.line.toml"\nselect = ["size"]\nlibraries = ["packages.csv"]\n')
    monkeypatch.chdir(tmp_path)
    return tmp_path


def checked(capsys: pytest.CaptureFixture[str], *changed: str) -> list[str]:
    main(["boards", *changed])
    return sorted(line.split(": ")[0] for line in capsys.readouterr().out.splitlines() if " undecided), " in line)


@pytest.mark.parametrize(
    ("changed", "boards"),
    [
        ([], ["a", "a/inner", "b"]),
        (["a/placements.csv"], ["a"]),
        (["a/inner/some drawing"], ["a/inner"]),
        (["b/x/y.z", "a/board.toml"], ["a", "b"]),
        (["m.machine.toml"], ["a", "a/inner", "b"]),
        (["capcheck.toml"], ["a", "a/inner", "b"]),
        (["packages.csv"], ["a", "a/inner", "b"]),
        (["readme.md", "other.machine.toml"], []),
    ],
)
def test_a_change_is_about_the_boards_that_depend_on_it(
    repository: Path, capsys: pytest.CaptureFixture[str], changed: list[str], boards: list[str]
) -> None:
    assert repository.is_dir()
    assert checked(capsys, *changed) == [str(Path(board)) for board in boards]


def test_a_repository_without_a_board_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["boards", "--under", str(tmp_path)]) == 2
    assert "holds no board" in capsys.readouterr().err


def test_the_code_is_the_gravest_of_the_boards_and_what_cannot_be_checked_stands_last(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["boards"]) == 0
    placements = repository / "a" / "placements.csv"
    placements.write_text(PLACED + "R2,20,10,0,top,10k,R0201\n")
    assert main(["boards"]) == 1
    (repository / "a" / "inner" / "board.toml").write_text("placments = 1\n")
    capsys.readouterr()
    assert main(["boards"]) == 2
    out = capsys.readouterr().out
    assert out.index("b: ") < out.index("fail smallest-chip R2") < out.index("could not be checked")


def test_a_rule_without_an_answer_is_told(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (repository / "capcheck.toml").write_text('select = ["part-height"]\n')
    assert main(["boards", "--under", "b"]) == 2
    assert "unanswered: part-height was asked for, and no line was given" in capsys.readouterr().out


def test_the_command_that_shows_the_rest_checks_as_the_hook_did(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    too_small = "".join(f"R{n},{10 * n},30,0,top,10k,R0201\n" for n in range(2, 14))
    (repository / "my board").mkdir()
    (repository / "my board" / "placements.csv").write_text(PLACED + too_small)
    (repository / "my board" / "board.toml").write_text((repository / "b" / "board.toml").read_text())
    (repository / "capcheck.toml").unlink()
    options = ["--line", "l.line.toml", "--select", "smallest-chip", "--limit", "fiducial-count.least=3", "--strict"]
    assert main(["boards", "--under", "my board", *options]) == 1
    *_, rest, total = capsys.readouterr().out.splitlines()
    start, _, command = rest.partition(": ")
    assert start == "and 2 more"
    program, *words = shlex.split(command)
    assert program == "capcheck"
    assert main([*words, "--format", "lines"]) == 1
    again = capsys.readouterr().out
    assert again.count("fail smallest-chip") == 12
    assert total.partition(": ")[2] in again

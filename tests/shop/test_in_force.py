"""Which configuration holds: never one of the customer's, by whatever way the board is named."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from capcheck.lexicon import sentence
from capcheck.shop import configuration_of


@pytest.fixture
def board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A customer's folder in a shop's; both bring a configuration, and the shop is the working directory."""
    folder = tmp_path / "shop" / "sent"
    (folder / "deep").mkdir(parents=True)
    for place in (folder, folder / "deep"):
        (place / "capcheck.toml").write_text('ignore = ["size"]\n')
        (place / "board.toml").write_text("")
        (place / "p.csv").write_text("Ref,X,Y\nR1,1,1\n")
    (tmp_path / "shop" / "capcheck.toml").write_text("strict = true\n")
    monkeypatch.chdir(tmp_path / "shop")
    return folder


def held(*board: str | Path) -> tuple[str | None, list[str]]:
    found = configuration_of(board)
    return None if found.path is None else str(found.path), [str(other.path) for other in found.not_obeyed]


SPELLINGS = ["sent", "./sent", "sent/", "sent/../sent", "sent/board.toml", "sent/deep/..", "../shop/sent", "sent/p.csv"]


@pytest.mark.parametrize("spelt", SPELLINGS)
@pytest.mark.usefixtures("board")
def test_the_shop_s_holds_and_the_customer_s_is_named(spelt: str) -> None:
    assert held(spelt) == ("capcheck.toml", ["sent/capcheck.toml"])


@pytest.mark.parametrize("spelt", [".", "", "..//sent", "board.toml", "./p.csv", "../../shop/sent", "deep/.."])
def test_from_within_the_customer_s_folder_the_shop_s_above_holds(
    board: Path, spelt: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(board)
    assert held(spelt) == (str(board.parent / "capcheck.toml"), ["capcheck.toml"])


def test_from_below_the_board_s_folder_nothing_of_it_holds(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(board / "deep")
    path, passed = held("..")
    assert path == str(board.parent / "capcheck.toml")
    assert passed == ["capcheck.toml", str(board / "capcheck.toml")]


def test_links_to_the_board_s_folder_are_that_folder(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = board.parent / "order"
    link.symlink_to(board, target_is_directory=True)
    assert held("order") == ("capcheck.toml", ["sent/capcheck.toml"])
    monkeypatch.chdir(link)
    assert held(".")[0] == str(board.parent / "capcheck.toml")
    assert held(link)[0] == str(board.parent / "capcheck.toml")
    monkeypatch.chdir(board)
    assert held(link)[0] == str(board.parent / "capcheck.toml")


def test_a_configuration_that_is_a_link_into_the_board_s_folder_is_the_customer_s(board: Path) -> None:
    own = board.parent / "capcheck.toml"
    own.unlink()
    own.symlink_to(board / "capcheck.toml")
    assert held("sent")[0] is None
    assert "capcheck.toml" in held("sent")[1]


def test_a_link_in_the_board_s_folder_to_the_shop_s_own_is_passed_over(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (board / "capcheck.toml").unlink()
    (board / "capcheck.toml").symlink_to(board.parent / "capcheck.toml")
    monkeypatch.chdir(board)
    assert held(".") == (str(board.parent / "capcheck.toml"), ["capcheck.toml"])


def test_a_pyproject_that_only_names_the_program_is_not_spoken_of(board: Path) -> None:
    (board / "capcheck.toml").unlink()
    (board / "pyproject.toml").write_text('[project]\ndependencies = ["capcheck"]\n')
    assert held("sent") == ("capcheck.toml", [])


def test_a_pyproject_of_the_customer_s_is_data_too_and_may_be_damaged(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (board / "capcheck.toml").unlink()
    (board / "pyproject.toml").write_text("[tool.capcheck\nstrict = maybe")
    monkeypatch.chdir(board)
    assert held(".") == (str(board.parent / "capcheck.toml"), ["pyproject.toml"])


def test_files_named_one_by_one_make_their_folders_the_board_s(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(board)
    assert held("deep/p.csv", "p.csv")[0] == str(board.parent / "capcheck.toml")
    # One in the working directory lies outside the folder of the one file, but beside other placement data.
    assert held("deep/p.csv")[0] == str(board.parent / "capcheck.toml")


def test_between_the_board_and_the_working_directory_nothing_is_obeyed(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = board.parent.parent / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    path, passed = held(board)
    assert path is None
    assert passed == [str(board / "capcheck.toml"), str(board.parent / "capcheck.toml")]
    monkeypatch.chdir(board.parent.parent)
    assert held("shop/sent") == (None, ["shop/sent/capcheck.toml", "shop/capcheck.toml"])


def test_a_command_without_a_board_obeys_nothing_beside_a_board_toml(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert held()[0] == "capcheck.toml"
    monkeypatch.chdir(board)
    assert held() == (str(board.parent / "capcheck.toml"), ["capcheck.toml"])


def test_placements_beside_it_tell_a_board_s_folder_without_a_board_toml(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (board / "board.toml").unlink()
    (board / "p.csv").write_text("Ref,X [mm],Y [mm],Rotation,Side\nR1,1,1,0,top\nR2,5,1,0,top\n")
    monkeypatch.chdir(board)
    assert held() == (str(board.parent / "capcheck.toml"), ["capcheck.toml"])
    (board.parent / "packages.csv").write_text("part number,height [mm]\nX1,1\n")
    monkeypatch.chdir(board.parent)
    assert held()[0] == "capcheck.toml"  # a shop's own tables make it no board's


@pytest.mark.parametrize("named", [".", "../sent", "deep/.."])
def test_a_configuration_that_names_its_own_folder_as_the_board_does_not_hold(
    board: Path, named: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for file in ("board.toml", "p.csv"):
        (board / file).unlink()
    (board / "capcheck.toml").write_text(f'board = "{named}"\n')
    monkeypatch.chdir(board)
    assert held() == (str(board.parent / "capcheck.toml"), ["capcheck.toml"])


def test_one_that_is_named_holds_wherever_it_lies(board: Path) -> None:
    found = configuration_of([board], board / "capcheck.toml")
    assert found.path == board / "capcheck.toml"
    assert found.is_named


def test_what_is_passed_over_is_said_with_what_to_do(board: Path) -> None:
    (other,) = configuration_of([board]).not_obeyed
    assert sentence(other.said) == (
        "not obeyed: sent/capcheck.toml lies in the board's own folder, which is data; "
        "if it is your own, name it: --config sent/capcheck.toml"
    )


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_no_configuration(board: Path) -> None:
    (board.parent / "capcheck.toml").unlink()
    os.mkfifo(board.parent / "capcheck.toml")
    assert held("sent")[0] is None

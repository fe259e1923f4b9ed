"""board.toml names regular files below its own folder, whatever it writes.

Figures: invented, or the digits of the text.
"""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from capcheck import read_board
from capcheck.values import InputError

ROWS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,1,1,0,top,10k,R0402\nR2,5,5,0,top,10k,R0402\n"


@pytest.fixture
def sent(tmp_path: Path) -> Path:
    folder = tmp_path / "sent"
    (folder / "sub").mkdir(parents=True)
    for place in (folder / "p.csv", folder / "sub" / "p.csv", tmp_path / "secret.csv"):
        place.write_text(ROWS)
    (folder / "out").symlink_to(tmp_path, target_is_directory=True)
    (folder / "link.csv").symlink_to(tmp_path / "secret.csv")
    (folder / "far.csv").symlink_to("sub/../../secret.csv")
    (folder / "ring.csv").symlink_to("ring.csv")
    (folder / "near.csv").symlink_to("sub/p.csv")
    return folder


def refused(folder: Path, text: str) -> str:
    (folder / "board.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        read_board(folder)
    return str(caught.value)


OUTSIDE = [
    "../secret.csv",
    "sub/../../secret.csv",
    "..\\\\secret.csv",
    "/etc/hostname",
    "/dev/zero",
    "/dev/stdin",
    "\\\\\\\\server\\\\share\\\\p.csv",
    "C:/p.csv",
    "c:p.csv",
    "~/p.csv",
    "link.csv",
    "far.csv",
    "out/secret.csv",
    "ring.csv",
    "",
    " ",
    "a\\u0000b",
    ".",
    "sub",
    "x/" * 3000,
    "n" * 300,
]


@pytest.mark.parametrize("name", OUTSIDE)
@pytest.mark.parametrize("key", ["placements", "bom", "outline"])
def test_what_leads_out_of_the_folder_is_refused_at_its_line(sent: Path, name: str, key: str) -> None:
    first = "" if key == "placements" else 'placements = "p.csv"\n'
    told = refused(sent, f'{first}{key} = "{name}"\n')
    assert told.startswith(f"{sent / 'board.toml'}:{1 + bool(first)} {key}: "), told
    assert "; " in told  # what to do
    assert "hostname:" not in told


@pytest.mark.parametrize("text", ['placements = [{ file = "../secret.csv" }]', 'outline = { file = "../secret.csv" }'])
def test_a_table_that_names_the_file_is_no_way_round(sent: Path, text: str) -> None:
    assert "leads out of the folder" in refused(sent, f"{text}\n")


def test_all_of_them_are_told_together(sent: Path) -> None:
    told = refused(sent, 'placements = "/dev/zero"\nbom = "../b.csv"\noutline = "link.csv"\n')
    assert len(told.splitlines()) == 3


def test_a_pipe_and_a_socket_are_refused(sent: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(sent)
    os.mkfifo("pipe.csv")
    with socket.socket(socket.AF_UNIX) as made:
        made.bind("socket.csv")
    for name in ("pipe", "socket"):
        assert "a device or a pipe" in refused(sent, f'placements = "{name}.csv"\n')


@pytest.mark.parametrize("name", ["p.csv", "./p.csv", "sub/p.csv", "near.csv", "sub/./p.csv"])
def test_what_lies_in_the_folder_is_read(sent: Path, name: str) -> None:
    (sent / "board.toml").write_text(f'placements = "{name}"\n')
    assert len(read_board(sent).placements) == 2


def test_a_file_that_a_link_from_outside_stands_for_is_not_found_by_content(sent: Path) -> None:
    for name in ("p.csv", "near.csv", "sub/p.csv"):
        (sent / name).unlink()
    with pytest.raises(InputError, match="no file looks like placement data"):
        read_board(sent)
    (sent / "own.csv").write_text(ROWS)
    said = [d.said for d in read_board(sent).discrepancies]
    asked = {one.values["file"] for one in said if getattr(one, "key", "") == "find.may list parts"}
    assert asked == {"far.csv", "link.csv", "out", "ring.csv"}


@pytest.mark.parametrize("kind", ["link", "pipe", "folder"])
def test_a_board_toml_that_is_no_file_of_the_folder_is_refused(sent: Path, tmp_path: Path, kind: str) -> None:
    toml = sent / "board.toml"
    if kind == "link":
        (tmp_path / "other.toml").write_text("")
        toml.symlink_to(tmp_path / "other.toml")
    elif kind == "pipe":
        os.mkfifo(toml)
    else:
        toml.mkdir()
    with pytest.raises(InputError, match=r"leaves the folder|a device or a pipe|a folder"):
        read_board(sent)


@pytest.mark.parametrize("role", ["placements", "bom", "outline"])
def test_a_device_that_the_user_names_is_refused_and_not_read_for_ever(sent: Path, role: str) -> None:
    given = {"placements": [sent / "p.csv"]} | {role: ["/dev/zero"] if role == "placements" else "/dev/zero"}
    with pytest.raises(InputError, match="a device or a pipe"):
        read_board(**given)  # type: ignore[arg-type]


def test_a_device_is_no_board() -> None:
    for path in (Path("/dev/null"), Path("/dev/stdin")):
        with pytest.raises(InputError, match="neither a folder nor"):
            read_board(path)

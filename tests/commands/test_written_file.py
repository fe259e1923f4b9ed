"""What a command writes: whole or not at all, never over an input, a link or a device.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from capcheck.commands.written_file import refuse_output, write_file
from capcheck.values import InputError

HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\n"


@pytest.fixture
def board(tmp_path):
    folder = tmp_path / "board"
    folder.mkdir()
    (folder / "p.csv").write_text(f"{HEADER}R1,1,1,0,top,10k,R0402\n")
    (folder / "board.toml").write_text('placements = "p.csv"\nsize_codes = "inch"\n')
    (tmp_path / "lib.csv").write_text("part number,height [mm]\nX1,1\n")
    (tmp_path / "old.json").write_text('{"schema": "capcheck-report/1", "findings": []}')
    (tmp_path / "m.machine.toml").write_text('name = "M"\n[[head]]\nname = "h"\n')
    (tmp_path / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    (tmp_path / "capcheck.toml").write_text('line = "l.line.toml"\nlibraries = ["lib.csv"]\n')
    return folder


INPUTS = ["board/p.csv", "board/board.toml", "lib.csv", "old.json", "m.machine.toml", "l.line.toml", "capcheck.toml"]
WAYS = ["itself", "hard link", "symbolic link", "dots"]


@pytest.mark.parametrize("named", INPUTS)
@pytest.mark.parametrize("way", WAYS)
def test_no_input_is_written_over(run, board, monkeypatch, named, way):
    monkeypatch.chdir(board.parent)
    before = Path(named).read_bytes()
    target = Path(named)
    if way == "hard link":
        target = Path("copy")
        os.link(named, target)
    elif way == "symbolic link":
        target = Path("copy")
        target.symlink_to(named)
    elif way == "dots":
        target = Path("board", "..", named)
    code, out, err = run("check", "board", "--baseline", "old.json", "--format", "text", "--output", target)
    assert (code, out) == (2, "")
    assert "cannot be written" in err
    assert Path(named).read_bytes() == before


@pytest.mark.parametrize(
    "asked",
    [
        ("read", "board", "--format", "json"),
        ("check", "board", "--show-config"),
        ("part", "R1", "board"),
        ("plan", "board", "--line", "l.line.toml"),
        ("plan", "board", "--line", "l.line.toml", "--format", "json"),
        ("compare", "board", "--line", "l.line.toml", "--line", "l.line.toml"),
    ],
)
def test_no_command_writes_over_the_placements(run, board, monkeypatch, asked):
    monkeypatch.chdir(board.parent)
    os.link("board/p.csv", "copy")
    before = Path("copy").read_bytes()
    code, _, err = run(*asked, "--output", "copy")
    assert code == 2, err
    assert Path("board/p.csv").read_bytes() == before


def test_the_other_outputs_of_a_plan_are_guarded_too(run, board, monkeypatch):
    monkeypatch.chdir(board.parent)
    for option in ("--set-up-list", "--hand-list"):
        code, _, err = run("plan", "board", "--line", "l.line.toml", option, "board/p.csv")
        assert code == 2
        assert "an input of this run" in err
    code, _, err = run("plan", "board", "--line", "l.line.toml", "--hand-list", "x.txt", "--output", "x.txt")
    assert code == 2
    assert "two outputs" in err


@pytest.fixture
def a_device():
    """A terminal of this test's own: a fault would take /dev/null from the whole machine."""
    ends = os.openpty()
    yield Path(os.ttyname(ends[1]))
    for end in ends:
        os.close(end)


@pytest.mark.parametrize("kind", ["link", "dangling", "link to a device", "pipe", "folder", "device", "loop"])
def test_links_devices_pipes_and_folders_are_refused(tmp_path, a_device, kind):
    target, other = tmp_path / "out", tmp_path / "other"
    if kind == "link":
        other.write_text("kept")
        target.symlink_to(other)
    elif kind == "dangling":
        target.symlink_to(other)
    elif kind == "link to a device":
        target.symlink_to(a_device)
    elif kind == "loop":
        target.symlink_to(target)
    elif kind == "pipe":
        os.mkfifo(target)
    elif kind == "folder":
        target.mkdir()
    else:
        target = a_device
    with pytest.raises(InputError, match="cannot be written"):
        write_file(target, "text")
    assert not other.exists() or other.read_text() == "kept"
    assert a_device.is_char_device()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".capcheck")] == []


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o755, 0o666])
def test_a_file_that_was_there_keeps_its_mode_and_owner(tmp_path, mode):
    target = tmp_path / "out"
    target.write_text("before")
    target.chmod(mode)
    owner = (1234, 2345) if os.getuid() == 0 else (os.getuid(), os.getgid())
    os.chown(target, *owner)
    write_file(target, "after")
    there = target.stat()
    assert (stat.S_IMODE(there.st_mode), there.st_uid, there.st_gid) == (mode, *owner)
    assert target.read_text() == "after"


@pytest.mark.parametrize("mode", [0o4755, 0o2755, 0o1644])
def test_a_file_that_was_there_keeps_no_mode_beyond_reading_writing_running(tmp_path, mode):
    target = tmp_path / "out"
    target.write_text("before")
    target.chmod(mode)
    write_file(target, "after")
    assert stat.S_IMODE(target.stat().st_mode) == mode & 0o777


def test_a_new_file_has_the_mode_that_the_user_s_mask_leaves(tmp_path):
    before = os.umask(0o027)
    try:
        write_file(tmp_path / "out", "text")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "out").stat().st_mode) == 0o640


def test_the_other_name_of_an_earlier_report_keeps_the_earlier_report(tmp_path):
    target, other = tmp_path / "out", tmp_path / "other"
    target.write_text("before")
    os.link(target, other)
    write_file(target, "after")
    assert (target.read_text(), other.read_text()) == ("after", "before")


def test_what_cannot_be_finished_leaves_what_was_there(tmp_path, monkeypatch):
    target = tmp_path / "out"
    target.write_text("before")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(InputError, match="No space left"):
        write_file(target, "after")
    assert target.read_text() == "before"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_text_that_is_no_unicode_is_written_all_the_same(tmp_path):
    write_file(tmp_path / "out", "a\udcffb")
    assert (tmp_path / "out").read_text() == "a\\udcffb"


def test_a_name_of_the_greatest_length_is_written(tmp_path):
    write_file(tmp_path / ("n" * 255), "text")
    assert (tmp_path / ("n" * 255)).read_text() == "text"


def test_init_writes_through_no_link(run, tmp_path):
    (tmp_path / "victim").write_text("kept")
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "my.line.toml").symlink_to(tmp_path / "victim")
    for force in ((), ("--force",)):
        assert run("init", tmp_path / "new", *force)[0] == 2
    assert (tmp_path / "victim").read_text() == "kept"
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == ["my.line.toml"]


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="the platform keeps its devices elsewhere")
@pytest.mark.parametrize("name", ["/dev/capcheck-new", "/dev/./capcheck-new", "/proc/self/capcheck-new"])
def test_a_new_file_among_devices_is_refused(name):
    with pytest.raises(InputError, match="devices stand in this folder"):
        refuse_output(Path(name))
    assert not Path(name).exists()

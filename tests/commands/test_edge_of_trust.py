"""What a command writes goes where the user meant; what it runs is what was looked at."""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from capcheck.facts import approve, run_file
from capcheck.values import InputError


@pytest.fixture
def board(tmp_path, shop, monkeypatch):
    shutil.copytree(shop / "irrigation-controller", tmp_path / "board")
    shutil.copytree(shop / "machines", tmp_path / "machines")
    shutil.copytree(shop / "lines", tmp_path / "lines")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_spare_machine_is_no_output(run, board):
    profile = board / "machines" / "chip-placer.machine.toml"
    before = profile.read_bytes()
    (board / "link").symlink_to(board / "machines")
    for spare, output in (
        ("machines", "machines/chip-placer.machine.toml"),
        ("machines", "machines/../machines/chip-placer.machine.toml"),
        ("link", "machines/chip-placer.machine.toml"),
        ("machines/chip-placer.machine.toml", str(profile)),
    ):
        args = ("plan", "board", "--line", "lines/full.line.toml", "--spare", spare)
        code, _, told = run(*args, "--format", "text", "--output", output)
        assert code == 2
        assert "is an input of this run" in told
    assert profile.read_bytes() == before


@pytest.mark.parametrize("other", ["out", "./out", "x/../out", "OUT", "same/out", "hard"])
def test_two_outputs_are_two_files(run, board, other):
    (board / "x").mkdir()
    (board / "same").symlink_to(board)
    (board / "out").write_text("")
    os.link("out", "hard")
    if other != "hard":
        (board / "out").unlink()
    args = ("plan", "board", "--line", "lines/full.line.toml", "--output", "out", "--set-up-list", other)
    code, _, told = run(*args)
    assert code == 2
    assert "is named for two outputs" in told


@pytest.mark.parametrize("output", ["led/report", "board/led/report", "board/a/../led/report"])
def test_a_linked_folder_that_leads_away_is_not_followed(run, board, output, tmp_path_factory):
    away = tmp_path_factory.mktemp("away")
    (board / "board" / "a").mkdir()
    for folder in (board, board / "board"):
        (folder / "led").symlink_to(away)
    code, _, told = run("read", "board", "--output", output)
    assert code == 2
    assert "is a link that leads elsewhere" in told
    assert not [*away.iterdir()]


def test_a_linked_folder_of_the_user_is_followed(run, board, tmp_path_factory):
    (board / "reports").mkdir()
    (board / "here").symlink_to(board / "reports")
    made = tmp_path_factory.mktemp("made")
    (made / "current").symlink_to(board / "reports")
    assert run("read", "board", "--output", "here/one")[0] == 0
    assert run("read", "board", "--output", made / "current" / "two")[0] == 0
    assert sorted(path.name for path in (board / "reports").iterdir()) == ["one", "two"]


def test_only_the_bytes_that_were_looked_at_run(tmp_path):
    file = tmp_path / "own.rules.py"
    file.write_text("seen = 1\n")
    approve({file: hashlib.sha256(file.read_bytes()).hexdigest()})
    assert run_file(file, "rule file").seen == 1
    file.write_text(f"open({str(tmp_path / 'ran')!r}, 'w')\n")
    with pytest.raises(InputError, match="was changed after it was found to be trusted"):
        run_file(file, "rule file")
    assert not (tmp_path / "ran").exists()
    approve({})
    file.write_text("seen = 2\n")
    assert run_file(file, "rule file").seen == 2


def started(command, **more):
    return subprocess.run(["/bin/bash", "-c", command], capture_output=True, text=True, check=False, **more)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the platform has no device that is full")
@pytest.mark.parametrize("arguments", ["--help", "check --help", "--version", "rules", "facts"])
def test_what_cannot_be_written_is_told(arguments):
    done = started(f"{sys.executable} -m capcheck {arguments} > /dev/full")
    assert done.returncode == 2
    assert "No space left on device" in done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="the system may forbid to delete a folder in use")
@pytest.mark.parametrize("arguments", ["check .", "rules", "read board --output x", "test"])
def test_a_working_directory_that_is_gone_is_named(tmp_path, arguments):
    gone = tmp_path / "gone"
    gone.mkdir()
    done = started(
        f"cd {gone} && rmdir {gone} && {sys.executable} -m capcheck {arguments}",
        env={**os.environ, "PYTHONPATH": str(Path.cwd())},
    )
    assert done.returncode == 2
    assert done.stderr.startswith("the working directory: cannot be used")

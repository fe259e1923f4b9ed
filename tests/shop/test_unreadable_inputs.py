"""A file that cannot be looked into may list parts or draw the board: then nothing is answered.

Figures: invented.
"""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "fixtures" / "irrigation-controller"
LINE = ROOT / "fixtures" / "lines" / "full.line.toml"
DAMAGED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x07" * 3000
"""The mark of an old workbook, and nothing that is one."""


def begun(*arguments, cwd=None, **environment):
    return subprocess.run(
        [sys.executable, "-m", "capcheck", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


def board(tmp_path, *, without=()):
    folder = tmp_path / "board"
    shutil.copytree(DEMO, folder)
    for file in folder.iterdir():
        if file.name == "board.toml" or file.name in without:
            file.unlink()
    return folder


@pytest.mark.parametrize("name", ["bottom.xls", "bom.xlsx", "parts"])
def test_a_damaged_workbook_beside_the_placements_refuses_the_board_by_its_name(run, tmp_path, name):
    folder = board(tmp_path)
    assert run("check", folder, "--line", LINE)[0] in {0, 1}
    (folder / name).write_bytes(DAMAGED)
    code, out, err = run("check", folder, "--line", LINE)
    assert code == 2
    assert name in err
    assert f"take {name} out of the folder" in err
    assert not out


def test_a_folder_that_cannot_be_looked_through_counts_as_a_boards(run, tmp_path, monkeypatch):
    (tmp_path / "placements.csv").write_text("Ref,X [mm],Y [mm]\nC1,1,1\nC2,3,1\n")
    for n in range(401):
        (tmp_path / f"{n}.txt").write_text("x")
    (tmp_path / "capcheck.toml").write_text('select = ["part-height"]\n')
    (tmp_path / "sub").mkdir()
    shutil.copy(tmp_path / "placements.csv", tmp_path / "sub")
    monkeypatch.chdir(tmp_path)
    _, out, err = run("check", "sub", "--line", LINE)
    assert "capcheck.toml lies in the board's own folder" in err + out


def test_a_folder_whose_name_begins_like_the_program_s_is_no_part_of_it(tmp_path):
    program, customer = tmp_path / "custom-tools", tmp_path / "custom"
    shutil.copytree(ROOT / "capcheck", program / "capcheck")
    shutil.copytree(ROOT / "rules", program / "rules")
    customer.mkdir()
    (customer / "lazy_loader.py").write_text("open('sprung', 'w')\n")
    begun("--help", cwd=customer, PYTHONPATH=str(program))
    assert not (customer / "sprung").exists()


@pytest.mark.parametrize(("size", "what"), [(9_000_000, "MB"), (0, "")])
def test_a_file_of_our_own_forms_is_not_read_where_it_is_too_large_to_be_one(run, tmp_path, size, what):
    folder = board(tmp_path)
    with (folder / "board.toml").open("wb") as file:
        file.write(b"# nothing\n")
        file.truncate(max(size, 10))
    code, _, err = run("check", folder, "--line", LINE)
    assert (code == 2) is bool(what)
    assert what in err


def test_more_patterns_than_a_board_has_are_refused_at_once(run, tmp_path, in_time):
    folder = board(tmp_path)
    (folder / "board.toml").write_text("[mounting]\n" + "".join(f'"*{n}*" = "surface"\n' for n in range(30_000)))
    with in_time(20, waiting=True):
        code, _, err = run("check", folder, "--line", LINE)
        assert code == 2
        assert len(err) < 5_000


def test_a_configuration_too_large_to_be_read_is_told(run, tmp_path, monkeypatch):
    (tmp_path / "pyproject.toml").write_text("[tool.capcheck]\nstrict = true\n" + "#" * 9_000_000)
    monkeypatch.chdir(tmp_path)
    code, _, err = run("rules")
    assert code == 2
    assert "pyproject.toml" in err


def test_of_two_lists_neither_is_written_where_one_cannot_be(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, err = run("plan", DEMO, "--line", LINE, "--set-up-list", "good.csv", "--hand-list", "nosuch/hand.csv")
    assert code == 2
    assert "nosuch" in err
    assert not list(tmp_path.iterdir())


def test_files_that_many_trust_at_once_are_all_on_the_list(tmp_path):
    code = [tmp_path / f"facts{n}.py" for n in range(6)]
    for n, file in enumerate(code):
        file.write_text(f"N = {n}\n")
    state = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_STATE_HOME": str(tmp_path / "state")}
    started = [subprocess.Popen([sys.executable, "-m", "capcheck", "trust", str(file)], env=state) for file in code]
    assert [process.wait() for process in started] == [0] * len(code)
    listed = begun("trust", "--list", XDG_STATE_HOME=str(tmp_path / "state")).stdout
    assert all(file.name in listed for file in code)
    assert not list((tmp_path / "state").rglob("*.lock"))


def test_a_loop_of_links_is_named_as_one(run, tmp_path, monkeypatch):
    (tmp_path / "loop").symlink_to("loop")
    monkeypatch.chdir(tmp_path)
    code, _, err = run("check", "loop", "--line", LINE)
    assert code == 2
    assert "not foreseen" not in err


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_request_to_end_leaves_no_half_file(tmp_path):
    script = (
        "import os, signal, sys, time\n"
        "from capcheck import cli\nfrom capcheck.commands import written_file\n"
        "take = written_file._take_after\n"
        "def slow(*a):\n    take(*a); os.kill(os.getpid(), signal.SIGTERM); time.sleep(5)\n"
        "written_file._take_after = slow\n"
        f"sys.argv = ['capcheck', 'check', {str(DEMO)!r}, '--format', 'json', '--output', 'out.json']\n"
        "cli.run()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False
    )
    assert done.returncode == 128 + signal.SIGTERM
    assert not list(tmp_path.iterdir())


def test_no_line_of_a_text_is_a_command_to_a_build_service(run, tmp_path, monkeypatch):
    (tmp_path / "::error::q.csv").write_text("Ref,X [mm],Y [mm],Footprint\nC1,1,1,\u2028::error::ls\nC2,3,1,##[x]\n")
    monkeypatch.chdir(tmp_path)
    for arguments in (["read", "."], ["check", ".", "--line", LINE], ["check", "--placements", "::error::q.csv"]):
        _, out, err = run(*arguments)
        lines = [line.lstrip() for line in (out + err).splitlines()]
        assert not [line for line in lines if line.startswith(("::", "##[", "##vso["))]

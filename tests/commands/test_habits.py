"""Habits of the command line: endings name formats, quiet runs, watching, completion, prefixes. Figures: invented."""

import json
import subprocess
import sys
from argparse import Namespace
from pathlib import Path

import pytest

from capcheck.commands.watch import run_at_each_change

LINE = "lines/mixed.line.toml"
STOPS = "lines/chip.line.toml"


@pytest.mark.parametrize(
    ("command", "endings"),
    [
        (["read", "{board}"], {".json": "{", ".csv": "ref", ".svg": "<svg", ".txt": "Irrigation"}),
        (["part", "C55", "{board}"], {".json": "{"}),
        (["lists", "order", "{board}"], {".json": "{", ".csv": "part number"}),
        (["diff", "{board}", "{board}"], {".json": "{", ".md": "#", ".html": "<!DOCTYPE html>"}),
        (["facts", "pair.gap"], {".json": "["}),
        (["explain", "part-height"], {".json": "["}),
        (["rules", "--select", "part-height"], {".json": "[", ".txt": "part-height"}),
    ],
)
def test_the_ending_of_the_file_names_the_format(run, shop, tmp_path, command, endings):
    for ending, begins in endings.items():
        file = tmp_path / f"out{ending}"
        code, out, err = run(*(a.format(board=shop / "irrigation-controller") for a in command), "--output", file)
        assert (code, out) == (0, ""), err
        assert file.read_text(encoding="utf-8-sig").lstrip('"').startswith(begins)


def test_a_chosen_format_goes_before_the_ending_and_an_unknown_ending_is_refused(run, shop, tmp_path):
    board = shop / "irrigation-controller"
    assert run("read", board, "--format", "json", "--output", tmp_path / "a.txt")[0] == 0
    json.loads((tmp_path / "a.txt").read_text(encoding="utf-8"))
    code, _, err = run("read", board, "--output", tmp_path / "a.pdf")
    assert code == 2
    assert ".svg" in err
    assert not (tmp_path / "a.pdf").exists()


@pytest.mark.parametrize(
    "command",
    [
        ["plan", "{board}", "--line", "{line}", "--time-limit", "0.3"],
        ["compare", "{board}", "--line", "{line}", "--line", "{other}", "--time-limit", "0.3"],
        ["survey", "{board}", "--line", "{line}", "--plan-seconds", "0", "--jobs", "1"],
        ["diff", "{other_board}", "{board}", "--line", "{line}"],
        ["boards", "--under", "{board}", "--line", "{line}"],
    ],
)
def test_a_quiet_run_says_how_it_ended_and_what_fails_and_ends_the_same(run, shop, command):
    given = {"board": shop / "irrigation-controller", "line": shop / STOPS, "other": shop / LINE}
    words = [word.format(**given, other_board=shop / "flow-sensor") for word in command]
    whole, brief = run(*words), run(*words, "--quiet")
    assert brief[0] == whole[0]
    assert "fail" in brief[1].lower()
    assert len(brief[1].splitlines()) <= 26
    assert command[0] == "boards" or len(brief[1]) < len(whole[1])


def test_a_quiet_run_with_nothing_that_fails_prints_no_board_and_no_count(run, shop, tmp_path):
    assert run("boards", "--under", shop / "irrigation-controller", "--line", shop / LINE, "--quiet")[:2] == (0, "")
    assert run("test", Path("rules/height.toml"), "--quiet")[:2] == (0, "")
    code, _, err = run("diff", tmp_path, tmp_path, "--quiet", "--format", "json")
    assert code == 2
    assert "--quiet" in err


def test_a_quiet_run_writes_its_file_in_full(run, shop, tmp_path):
    words = ["diff", shop / "flow-sensor", shop / "irrigation-controller"]
    assert run(*words, "--quiet", "--output", tmp_path / "d.json")[1].count("\n") >= 1
    assert run(*words, "--format", "json")[1] == (tmp_path / "d.json").read_text(encoding="utf-8")


def _watched(tmp_path, changes, **arguments):
    """How often a watched run was made while *changes* happened, one at each wait."""
    runs, todo = [], iter(changes)

    def wait(_):
        change = next(todo, None)
        if change is None:
            raise KeyboardInterrupt
        change()

    given = {"paths": [str(tmp_path)], "output": [], "no_config": True, "config": None, "machine": [], "line": None}
    with pytest.raises(KeyboardInterrupt):
        run_at_each_change(lambda: runs.append(1) or 0, Namespace(**given | arguments), wait=wait)
    return len(runs)


def _nothing():
    return None


def test_a_watched_run_is_made_again_at_each_change_and_not_for_its_own_output(tmp_path):
    board, report = tmp_path / "board.toml", tmp_path / "report.html"
    board.write_text("a", encoding="utf-8")

    def change():
        board.write_text("ab", encoding="utf-8")

    def write():
        report.write_text("out", encoding="utf-8")

    assert _watched(tmp_path, [_nothing, _nothing]) == 1
    assert _watched(tmp_path, [_nothing, change, _nothing, _nothing]) == 2
    assert _watched(tmp_path, [write, _nothing, _nothing], output=[report]) == 1
    assert _watched(tmp_path, [board.unlink, _nothing, _nothing]) == 2


def test_a_watched_run_waits_until_the_files_are_still(tmp_path):
    board = tmp_path / "board.toml"
    growing = [lambda n=n: board.write_text("a" * n, encoding="utf-8") for n in range(1, 5)]
    assert _watched(tmp_path, [*growing, _nothing, _nothing]) == 2


def test_a_watched_run_sees_the_machine_that_the_line_names(tmp_path, shop):
    board = tmp_path / "board"
    (board / "sub").mkdir(parents=True)
    for name in ("lines", "machines"):
        (tmp_path / name).mkdir()
        for file in (shop / name).iterdir():
            (tmp_path / name / file.name).write_bytes(file.read_bytes())
    line = tmp_path / LINE
    machine = next((tmp_path / "machines").glob("*chip*"))

    def change():
        machine.write_text(f"{machine.read_text(encoding='utf-8')}\n# changed\n", encoding="utf-8")

    assert _watched(board, [change, _nothing, _nothing], line=str(line)) == 2


def test_facts_by_a_prefix(run):
    code, out, _ = run("facts", "pair.gap", "--format", "json")
    assert code == 0
    assert [fact["name"] for fact in json.loads(out)] == ["pair.gap", "pair.gap_least", "pair.gap_most"]
    code, _, err = run("facts", "part.heigt")
    assert code == 2
    assert "part.height" in err


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("part on head", ["part-height", "head.max_part_height", "part.height"]),
        ("side", ["fiducial-count", "side.fiducials"]),
        ("gull wing", ["part.lead_style", "named by"]),
        ("fiducial-count.least", ["least = 2", "side.fiducials"]),
        ("part.height", ["subjects  part, part on machine, part on head"]),
    ],
)
def test_explain_tells_of_subjects_values_and_limits(run, name, words):
    code, out, err = run("explain", name)
    assert code == 0, err
    assert all(word in out for word in words), out
    assert json.loads(run("explain", name, "--format", "json")[1])


@pytest.mark.rows(
    ("name", "nearest"),
    [
        ("smalest-chip", "smallest-chip"),
        ("fiducial-count.leest", "fiducial-count.least"),
        ("part.hieght", "part.height"),
        ("part on haed", "part on head"),
        ("chpi", "chip"),
        ("gul wing", "gull wing"),
    ],
)
def test_explain_names_the_nearest_of_all_that_it_knows(run, name, nearest):
    code, _, err = run("explain", name)
    assert code == 2
    assert f'did you mean "{nearest}"?' in err


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_gets_a_script_that_knows_commands_options_and_rules(run, shell):
    pytest.importorskip("shtab", reason="needs the extra completion")
    code, out, err = run("completion", shell)
    assert code == 0, err
    assert all(word in out for word in ("survey", "watch", "part-height", "pair.gap_least"))


def test_bash_completes_a_rule_and_an_option(run, tmp_path):
    pytest.importorskip("shtab", reason="needs the extra completion")
    script = tmp_path / "capcheck.bash"
    assert run("completion", "bash", "--output", script)[0] == 0
    asked = f"""source {script}
    function=$(complete -p capcheck | sed 's/.*-F \\([^ ]*\\).*/\\1/')
    for words in 'explain fiducial-co' 'check --wat'; do
      COMP_WORDS=(capcheck $words); COMP_CWORD=2; COMPREPLY=()
      $function capcheck "${{COMP_WORDS[2]}}" "${{COMP_WORDS[1]}}"
      echo "${{COMPREPLY[@]}}"
    done"""
    done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["fiducial-count", "--watch"], done.stderr


def test_completion_without_its_library_says_what_to_install(run, monkeypatch):
    monkeypatch.setitem(sys.modules, "shtab", None)
    code, _, err = run("completion", "bash")
    assert code == 2
    assert "capcheck[completion]" in err

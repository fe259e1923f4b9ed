"""The hooks, run for real by pre-commit in git repositories made on the spot.

The project's own ``.pre-commit-hooks.yaml`` is committed to a repository that pre-commit clones. Only the language is
overridden: ``system`` takes the program that is installed here, where ``python`` would have pre-commit build an
environment of its own, which is pre-commit's work and not ours.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
HOOKS = ROOT / ".pre-commit-hooks.yaml"


HERE = "language: system\n        additional_dependencies: []\n"


def pattern(hook: str) -> re.Pattern[str]:
    """Return the hook's pattern as pre-commit reads it: searched, not matched."""
    entry = HOOKS.read_text().split(f"- id: {hook}\n")[1].split("- id:")[0]
    found = re.search(r"files: '(.*)'", entry)
    assert found is not None
    return re.compile(found[1])


@pytest.mark.rows(
    "path",
    [
        "board.toml",
        "boards/a/board.toml",
        "capcheck.toml",
        "pyproject.toml",
        "lines/a.line.toml",
        "machines/b.machine.toml",
        "shop-rules/height.toml",
        "rules/cover.rules.py",
        "a/top placements.csv",
        "A/BOM.XLSX",
        "out/edge.dxf",
        "gerber/board.GKO",
        "gerber/b.gm1",
        "gerber/b.gbr",
        "a/place.txt",
        "a/parts.ods",
    ],
)
def test_the_board_hook_runs_for_what_a_check_reads(path: str) -> None:
    assert pattern("capcheck-board").search(path)


@pytest.mark.rows(
    "path",
    [
        "README.md",
        "src/main.py",
        "docs/picture.png",
        "board.toml.orig",
        "my-board.toml.bak",
        "a/dashboard.tomls",
        "x.csvs",
        "Cargo.toml",
        "rules/deep/x.toml",
    ],
)
def test_the_board_hook_leaves_other_files_alone(path: str) -> None:
    assert not pattern("capcheck-board").search(path)


@pytest.mark.rows(
    ("path", "taken"),
    [
        ("rules/a.toml", True),
        ("shop-rules/a.toml", True),
        ("x/our_rules/a.rules.py", True),
        ("a.toml", False),
        ("rules.toml", False),
        ("rules/a.py", False),
        ("rules/a.toml.bak", False),
        ("rules/readme.md", False),
    ],
)
def test_the_rules_hook_takes_rule_files_only(path: str, taken: bool) -> None:
    assert bool(pattern("capcheck-rules").search(path)) is taken


def run(folder: Path, *command: str, home: Path, code: int | None = 0) -> str:
    environment = {
        **{k: v for k, v in os.environ.items() if not k.startswith("GIT_")},
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "PRE_COMMIT_HOME": str(home / "cache"),
        "HOME": str(home),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_AUTHOR_NAME": "A",
        "GIT_AUTHOR_EMAIL": "a@example.org",
        "GIT_COMMITTER_NAME": "A",
        "GIT_COMMITTER_EMAIL": "a@example.org",
    }
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    assert code is None or done.returncode == code, done.stdout + done.stderr
    return done.stdout + done.stderr


def commit_all(folder: Path, home: Path) -> str:
    run(folder, "git", "init", "-q", "-b", "main", home=home)
    run(folder, "git", "add", "-A", home=home)
    run(folder, "git", "commit", "-q", "-m", "made", "--no-verify", home=home)
    return run(folder, "git", "rev-parse", "HEAD", home=home).strip()


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A hardware repository that gets both hooks from ours, with a board, its line and a rule of its own."""
    ours = tmp_path / "ours"
    ours.mkdir()
    (ours / HOOKS.name).write_text(HOOKS.read_text())
    revision = commit_all(ours, tmp_path)

    hardware = tmp_path / "hardware"
    (hardware / "board").mkdir(parents=True)
    (hardware / ".pre-commit-config.yaml").write_text(
        f"repos:\n  - repo: {ours.as_uri()}\n    rev: {revision}\n    hooks:\n"
        f"      - id: capcheck-board\n        {HERE}        args: [board, --line, l.line.toml]\n"
        "      - id: capcheck-rules\n        language: system\n"
    )
    # The invented machine takes no smaller chip than this (reference/size_codes.csv).
    (hardware / "board" / "placements.csv").write_text(
        "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,10,10,0,top,10k,R0402\n"
    )
    (hardware / "board" / "board.toml").write_text('placements = "placements.csv"\nsize_codes = "inch"\n')
    (hardware / "m.machine.toml").write_text('name = "Placer 1"\n[[head]]\nname = "h"\nsmallest_chip = "1005M"\n')
    (hardware / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    (hardware / "capcheck.toml").write_text('select = ["size", "low-parts-only"]\nrules = ["shop-rules"]\n')
    (hardware / "shop-rules").mkdir()
    (hardware / "shop-rules" / "height.toml").write_text(RULE)
    (hardware / "readme.txt.md").write_text("text\n")
    commit_all(hardware, tmp_path)
    return hardware


RULE = """
[[rule]]
id = "low-parts-only"
title = "The part fits under the cover"
subject = "part"
require = "part.height <= limits.most"
outcome = "warn"
message = "{part.ref} is {part.height} tall"
why = "The cover presses on tall parts."
remedy = "Choose a lower part."
basis = "drawing of the cover"
limits = { most = "12 mm" }

[[rule.example]]
facts = { "part.height" = "12 mm" }
outcome = "pass"

[[rule.example]]
facts = { "part.height" = "13 mm" }
outcome = "warn"

[[rule.example]]
facts = { "part.height" = ["11 mm", "14 mm"] }
outcome = "undecided"
"""


def hooks(repository: Path, *arguments: str, code: int = 0) -> str:
    command = (sys.executable, "-m", "pre_commit", "run", "--color", "never", *arguments)
    return run(repository, *command, home=repository.parent, code=code)


def result(out: str, hook: str) -> str:
    found = re.search(rf"^{hook}\.+(?:\(.*\))?(\w+)$", out, re.MULTILINE)
    assert found is not None, out
    return found[1]


@pytest.fixture
def of_boards(repository: Path) -> Path:
    """The same repository with two boards, of which the second has a part that no head takes, and the one hook."""
    config = repository / ".pre-commit-config.yaml"
    head = config.read_text().split("      - id:")[0]
    config.write_text(f"{head}      - id: capcheck-boards\n        {HERE}        args: [--line, l.line.toml]\n")
    second = repository / "deeper" / "second"
    second.mkdir(parents=True)
    (second / "board.toml").write_text((repository / "board" / "board.toml").read_text())
    # Chips smaller than the invented machine takes (reference/size_codes.csv).
    lines = [
        "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint",
        *(f"R{n},{n}0,10,0,top,10k,R0201" for n in range(1, 13)),
    ]
    (second / "placements.csv").write_text("\n".join([*lines, ""]))
    commit_all(repository, repository.parent)
    return repository


def staged(repository: Path, name: str, text: str, code: int) -> str:
    path = repository / name
    path.write_text(path.read_text() + text if path.exists() else text)
    run(repository, "git", "add", "-A", home=repository.parent)
    out = hooks(repository, "--verbose", code=code)
    run(repository, "git", "commit", "-q", "-m", "m", "--no-verify", home=repository.parent)
    return out


def test_the_hook_finds_the_boards_and_checks_those_that_a_change_is_about(of_boards: Path) -> None:
    assert "none of 2 boards is concerned" in staged(of_boards, "notes.md", "x\n", 0)
    of_first = staged(of_boards, "board/letter.from-the-customer", "x\n", 0)  # whatever its ending
    assert re.search(r"(?m)^board: (PASS|WARN): 0 fail", of_first)
    assert "second" not in of_first
    of_line = staged(of_boards, "m.machine.toml", "# seen\n", 1)
    assert "board: " in of_line
    assert "second: FAIL: 12 fail" in of_line


def test_what_fails_stands_last_and_is_short(of_boards: Path) -> None:
    lines = [line for line in hooks(of_boards, "--all-files", code=1).splitlines() if line.strip()]
    assert lines[-1].startswith(f"{Path('deeper', 'second')}: FAIL: 12 fail")
    assert lines[-2] == f"and 2 more: capcheck check {Path('deeper', 'second')} --line l.line.toml"
    assert sum("fail smallest-chip" in line for line in lines) == 10
    first = next(index for index, line in enumerate(lines) if line.startswith("board: "))
    assert first < len(lines) - 12


def test_a_board_that_cannot_be_read_does_not_hide_the_others(of_boards: Path) -> None:
    (of_boards / "board" / "board.toml").write_text("placments = 1\n")
    run(of_boards, "git", "add", "-A", home=of_boards.parent)
    out = hooks(of_boards, "--all-files", code=1)
    assert "second: FAIL" in out
    assert "board: could not be checked" in out
    assert 'did you mean "placements"' in out
    assert "Traceback" not in out


def test_the_hooks_bring_what_reads_outlines_in_gerber() -> None:
    extra = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]["gerber"]
    lists = re.findall(r"additional_dependencies: (\[.*\])", HOOKS.read_text())
    assert [json.loads(text) for text in lists] == [extra, extra]


def test_both_hooks_run_and_stop_what_fails(repository: Path) -> None:
    out = hooks(repository, "--all-files")
    assert (result(out, "capcheck board"), result(out, "capcheck rules")) == ("Passed", "Passed")

    placements = repository / "board" / "placements.csv"
    # Smaller than the invented machine takes (reference/size_codes.csv).
    placements.write_text(placements.read_text() + "R2,20,10,0,top,10k,R0201\n")
    run(repository, "git", "add", "-A", home=repository.parent)
    out = hooks(repository, code=1)
    assert result(out, "capcheck board") == "Failed"
    assert "board/placements.csv:3: fail smallest-chip R2" in out
    assert "FAIL: 1 fail" in out
    assert result(out, "capcheck rules") == "Skipped"  # no rule file is among what is committed


def test_a_rule_whose_examples_do_not_hold_is_stopped(repository: Path) -> None:
    rule = repository / "shop-rules" / "height.toml"
    rule.write_text(RULE.replace('most = "12 mm"', 'most = "11 mm"'))
    run(repository, "git", "add", "-A", home=repository.parent)
    out = hooks(repository, code=1)
    assert result(out, "capcheck rules") == "Failed"
    assert "expected  pass" in out


def test_a_commit_that_touches_neither_board_nor_rules_runs_nothing(repository: Path) -> None:
    (repository / "readme.txt.md").write_text("other\n")
    run(repository, "git", "add", "-A", home=repository.parent)
    out = hooks(repository)
    assert (result(out, "capcheck board"), result(out, "capcheck rules")) == ("Skipped", "Skipped")


def test_a_configuration_in_the_board_s_folder_does_not_replace_the_repository_s(repository: Path) -> None:
    (repository / "board" / "capcheck.toml").write_text('select = ["fiducial-count"]\nfacts = ["facts.py"]\n')
    (repository / "board" / "facts.py").write_text("1 / 0\n")
    placements = repository / "board" / "placements.csv"
    # Smaller than the invented machine takes (reference/size_codes.csv).
    placements.write_text(placements.read_text() + "R2,20,10,0,top,10k,R0201\n")
    run(repository, "git", "add", "-A", home=repository.parent)
    out = hooks(repository, code=1)
    assert "fail smallest-chip R2" in out
    assert "not obeyed: board/capcheck.toml" in out

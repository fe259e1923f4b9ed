"""The plugin in real runs of pytest: each in a process of its own, on boards made on the spot.

``begun`` starts pytest as a user does, who installed the plugin; ``run`` forks a process that has the program loaded,
and names the plugin, which spares the loading.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from _pytest.assertion.rewrite import AssertionRewritingHook

import capcheck
from capcheck.pytest_plugin import pytest_configure

Run = Callable[..., str]
FIXTURES = Path(__file__).parents[1] / "fixtures"
ROOT = Path(__file__).parents[1]
PLAIN = ("-p", "no:cacheprovider", "-p", "no:unraisableexception")
"""Nothing is kept, and the collector is not run several times over all that is loaded."""
CONFIG = 'line = "l.line.toml"\nselect = ["size", "board", "reconciliation"]\n'


def begun(folder: Path, *arguments: str, code: int | None = None) -> str:
    inherited = {name: value for name, value in os.environ.items() if name != "PYTEST_ADDOPTS"}  # of the suite itself
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *PLAIN, "-p", "no:randomly", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env={**inherited, "PYTHONPATH": str(ROOT), "COLUMNS": "200"},
    )
    assert code is None or done.returncode == code, done.stdout + done.stderr
    return done.stdout


@pytest.fixture
def run(forked: Callable[..., subprocess.CompletedProcess[bytes]]) -> Callable[..., str]:
    """Run pytest in a folder as :func:`begun` does, in a fork."""

    def call(folder: Path, *arguments: str, code: int | None = None) -> str:
        plugins = {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTEST_PLUGINS": "capcheck.pytest_plugin"}
        done = forked("pytest", *PLAIN, *arguments, cwd=folder, PYTEST_ADDOPTS="", COLUMNS="200", **plugins)
        assert code is None or done.returncode == code, done.stdout.decode() + done.stderr.decode()
        return done.stdout.decode()

    return call


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A hardware repository: one board of two parts, a machine that takes one of them, and an ordinary test."""
    board = tmp_path / "boards" / "sensor"
    board.mkdir(parents=True)
    # The invented machine takes no smaller chip than the larger of the two (reference/size_codes.csv).
    (board / "placements.csv").write_text(
        "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,10,10,0,top,10k,R0402\nR2,20,10,0,top,10k,R0201\n"
    )
    (board / "board.toml").write_text('placements = "placements.csv"\nsize_codes = "inch"\n')
    (tmp_path / "m.machine.toml").write_text('name = "Placer 1"\n[[head]]\nname = "h"\nsmallest_chip = "1005M"\n')
    (tmp_path / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    (tmp_path / "capcheck.toml").write_text(CONFIG)
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    (tmp_path / "test_own.py").write_text("def test_own():\n    pass\n")
    return tmp_path


def test_nothing_is_collected_unless_asked_for(repository: Path) -> None:
    assert "1 passed" in begun(repository, "-q", code=0)


def test_a_board_gives_an_item_for_each_rule_and_machine(repository: Path) -> None:
    out = begun(repository, "--capcheck", "--collect-only", "-q", code=0)
    assert "boards/sensor/board.toml::smallest-chip[Placer 1]\n" in out
    assert "boards/sensor/board.toml::board-length[Placer 1]\n" in out
    assert "boards/sensor/board.toml::in-bom\n" in out
    assert "test_own.py::test_own" in out


def test_the_option_of_the_configuration_file_asks_as_well(repository: Path) -> None:
    (repository / "pytest.ini").write_text("[pytest]\ncapcheck_boards = true\n")
    assert "smallest-chip[Placer 1]" in begun(repository, "--collect-only", "-q", code=0)


def test_a_failure_shows_the_finding_and_its_remedy_and_no_internals(run: Run, repository: Path) -> None:
    out = run(repository, "--capcheck", "-k", "smallest-chip", code=1)
    assert "boards/sensor/placements.csv:3: fail smallest-chip R2" in out
    assert "→ Use the next larger size code" in out
    assert "FAILED boards/sensor/board.toml::smallest-chip[Placer 1]" in out
    assert "1 failed" in out
    for internal in ("Traceback", "pytest_plugin.py", "BoardError", "def runtest"):
        assert internal not in out


def test_a_rule_without_its_input_is_skipped_and_undecided_ones_fail_only_if_strict(run: Run, repository: Path) -> None:
    out = run(repository, "--capcheck", "-k", "board.toml and not smallest-chip", "-rs", code=0)
    assert "no outline was given" in out
    assert " failed" not in out
    assert "SKIPPED" in run(repository, "--capcheck", "-k", "part-height", "-rs", code=0)
    strict = run(repository, "--capcheck", "--capcheck-strict", "-k", "part-height", code=1)
    assert "undecided part-height" in strict


def test_a_violation_of_level_warn_is_a_warning_with_its_place_and_passes(run: Run, repository: Path) -> None:
    (repository / "capcheck.toml").write_text(CONFIG + '[outcomes]\nsmallest-chip = "warn"\n')
    out = run(repository, "--capcheck", "-k", "smallest-chip", code=0)
    assert "1 passed" in out
    assert "1 warning" in out
    assert "AssertionError" not in out
    assert "placements.csv:3: BoardWarning: " in out
    assert "warn smallest-chip R2" in out
    as_error = run(repository, "--capcheck", "-k", "smallest-chip", "-W", "error", code=1)
    assert "warn smallest-chip R2" in as_error
    assert "pytest_plugin.py" not in as_error


@pytest.mark.parametrize("processes", [[], ["-n", "2"]])
def test_a_board_that_cannot_be_read_is_one_error_and_the_rest_is_skipped(
    run: Run, repository: Path, processes: list[str]
) -> None:
    placements = repository / "boards" / "sensor" / "placements.csv"
    placements.write_text(placements.read_text().replace("mm", "furlong"))
    out = (begun if processes else run)(repository, "--capcheck", "-rs", *processes, code=1)
    assert re.search(r"1 passed, \d+ skipped, 1 error in", out)
    assert out.count("furlong") >= 1
    assert "the board could not be read: " in out
    assert "pytest_plugin.py" not in "".join(out.split("short test summary")[:1])


def test_each_board_is_checked_in_one_process(repository: Path) -> None:
    for name in ("second", "third"):
        shutil.copytree(repository / "boards" / "sensor", repository / "boards" / name)
    (repository / "conftest.py").write_text(
        "import os, pathlib, pytest\n"
        "def pytest_runtest_teardown(item):\n"
        "    if item.path.name == 'board.toml':\n"
        "        with pathlib.Path('checked.txt').open('a') as file:\n"
        "            file.write(f'{item.path.parent.name} {os.getpid()}\\n')\n"
        "@pytest.hookimpl(trylast=True)\n"
        "def pytest_configure_node(node):\n"
        "    hear = node.process_from_remote\n"
        "    def each(message):\n"
        "        with pathlib.Path('messages.txt').open('a') as file:\n"
        "            file.write('one\\n')\n"
        "        hear(message)\n"
        "    node.process_from_remote = each\n"
        "def pytest_runtest_logreport(report):\n"
        "    with pathlib.Path('told.txt').open('a') as file:\n"
        "        file.write(f'{os.getpid()}\\n')\n"
    )
    begun(repository, "--capcheck", "-n", "2", code=1)
    checked = set((repository / "checked.txt").read_text().splitlines())
    assert len(checked) == 3  # no board in two processes
    workers = {line.split()[1] for line in checked}
    assert len(workers) == 2  # and not all in one
    told = (repository / "told.txt").read_text().split()
    assert sum(process not in workers for process in told) > 300  # every phase of every item where they are shown
    assert len((repository / "messages.txt").read_text().split()) < 100  # and few messages


def test_boards_of_one_configuration_share_their_rules(run: Run, repository: Path) -> None:
    shutil.copytree(repository / "boards" / "sensor", repository / "boards" / "second")
    (repository / "conftest.py").write_text(
        "import capcheck.shop.settings as settings\n"
        "true, calls = settings.load_rules, []\n"
        "settings.load_rules = lambda *given: calls.append(1) or true(*given)\n"
        "def pytest_sessionfinish(session):\n"
        "    print('rules were read', len(calls), 'times')\n"
    )
    assert "rules were read 1 times" in run(repository, "--capcheck", "-s", code=1)


def test_junit_xml_names_rule_and_machine_and_carries_the_text(run: Run, repository: Path) -> None:
    run(repository, "--capcheck", "--junit-xml", "out.xml", code=1)
    root = ET.fromstring((repository / "out.xml").read_text())  # noqa: S314  made by pytest
    failures = {c.attrib["name"]: c.find("failure") for c in root.iter("testcase") if c.find("failure") is not None}
    assert list(failures) == ["smallest-chip[Placer 1]"]
    assert "fail smallest-chip R2" in (failures["smallest-chip[Placer 1]"].text or "")  # type: ignore[union-attr]
    undecided = [p for p in root.iter("property") if p.attrib["name"] == "capcheck undecided"]
    assert undecided


def test_items_that_are_shared_out_are_told_of_as_in_one_process(repository: Path) -> None:
    def told(*processes: str) -> tuple[str, list[object]]:
        out = begun(repository, "--capcheck", "-q", "--junit-xml", "out.xml", *processes, code=1)
        cases = ET.fromstring((repository / "out.xml").read_text()).iter("testcase")  # noqa: S314  made by pytest
        seen = [
            (case.attrib["name"], [(one.tag, one.attrib, one.text, [p.attrib for p in one]) for one in case])
            for case in cases
        ]
        return out.splitlines()[-1].split(" in ")[0], sorted(seen, key=str)

    assert told("-n", "2") == told()


def test_a_run_that_is_shared_out_stops_at_the_first_failure(repository: Path) -> None:
    config = repository / "capcheck.toml"
    config.write_text(f"strict = true\n{CONFIG}")
    out = begun(repository, "--capcheck", "-x", "-n", "2", code=2)
    assert "1 failed" in out
    assert "stopping after 1 failures" in out


def test_a_mark_that_a_conftest_puts_on_an_item_holds(run: Run, repository: Path) -> None:
    (repository / "conftest.py").write_text(
        "import pytest\n"
        "def pytest_collection_modifyitems(items):\n"
        "    for item in items:\n"
        "        if item.name == 'smallest-chip[Placer 1]':\n"
        "            item.add_marker(pytest.mark.xfail(reason='known'))\n"
    )
    assert "1 xfailed" in run(repository, "--capcheck", code=0)


def test_a_hook_of_a_conftest_sees_the_phases_of_every_item(run: Run, repository: Path) -> None:
    (repository / "conftest.py").write_text(
        "seen = []\n"
        "def pytest_runtest_setup(item):\n"
        "    seen.append(item)\n"
        "def pytest_sessionfinish(session):\n"
        "    print('all seen:', seen == session.items)\n"
    )
    assert "all seen: True" in run(repository, "--capcheck", "-s", code=1)


def test_waivers_hold_and_those_that_are_over_are_told(run: Run, repository: Path) -> None:
    waiver = '[[waiver]]\nrule = "smallest-chip"\npart = "R2"\nreason = "by hand"\nwho = "A"\nuntil = {}\n'
    config = repository / "capcheck.toml"
    config.write_text(CONFIG + waiver.format("9999-01-01"))
    assert " failed" not in run(repository, "--capcheck", code=0)
    config.write_text("strict = true\n" + CONFIG + waiver.format("2000-01-01"))
    out = run(repository, "--capcheck", "-k", "smallest-chip or waiver-expired", code=1)
    assert "2 failed" in out
    assert "ended on 2000-01-01" in out


def test_a_board_that_cannot_be_read_fails_with_the_place_and_a_bad_configuration_when_collected(
    run: Run,
    repository: Path,
) -> None:
    placements = repository / "boards" / "sensor" / "placements.csv"
    placements.write_text(placements.read_text().replace("mm", "furlong"))
    out = run(repository, "--capcheck", "-k", "smallest-chip", code=1)
    assert "1 error" in out
    assert "placements.csv:1" in out
    assert "Traceback" not in out
    (repository / "capcheck.toml").write_text("lin = 'l.line.toml'\n")
    out = run(repository, "--capcheck", code=2)
    assert 'did you mean "line' in out
    assert "Traceback" not in out


def test_a_bare_run_of_pytest_loads_the_plugin_and_nothing_heavy(repository: Path) -> None:
    (repository / "conftest.py").write_text(
        "import json, sys\n"
        "def pytest_sessionfinish(session):\n"
        "    open('modules.json', 'w').write(json.dumps(sorted(sys.modules)))\n"
    )
    begun(repository, "-q", "test_own.py", code=0)
    loaded = json.loads((repository / "modules.json").read_text())
    assert [name for name in loaded if name.split(".")[0] == "capcheck"] == [
        "capcheck",
        "capcheck.pytest_plugin",
        "capcheck.version",
    ]
    heavy = {"numpy", "pydantic", "pint", "shapely", "ezdxf", "rich", "python_calamine", "charset_normalizer"}
    assert heavy.isdisjoint(name.split(".")[0] for name in loaded)


def test_a_board_whose_check_is_no_answer_fails_whatever_its_rules_say(run: Run, repository: Path) -> None:
    placements = repository / "boards" / "sensor" / "placements.csv"
    placements.write_text(
        "Ref,X [mm],Y [mm],Rotation,Side,Footprint\nFID1,5,5,0,top,Fiducial\nFID2,25,15,0,top,Fiducial\n"
    )
    out = run(repository, "--capcheck", code=1)
    assert "FAILED boards/sensor/board.toml::answered" in out
    assert "unanswered: nothing is to be placed" in out


def test_a_rule_named_by_the_configuration_must_have_its_line(run: Run, repository: Path) -> None:
    (repository / "capcheck.toml").write_text('select = ["part-height"]\n')
    out = run(repository, "--capcheck", code=1)
    assert "unanswered: part-height was asked for, and no line was given" in out


def test_a_configuration_in_the_board_s_folder_is_not_obeyed_from_wherever_pytest_runs(
    run: Run, repository: Path
) -> None:
    board = repository / "boards" / "sensor"
    trap = repository / "sprung"
    (board / "facts.py").write_text(f"open({str(trap)!r}, 'w')\n")
    (board / "capcheck.toml").write_text('ignore = ["size"]\nfacts = ["facts.py"]\n')
    for folder in (repository, board):
        out = run(folder, "--capcheck", "-k", "board.toml", code=1)
        assert "smallest-chip[Placer 1]" in out
        assert "not obeyed: " in out
        assert "--config" in out
    assert not trap.exists()


def test_what_waits_for_another_answer_is_skipped_with_the_reason_and_fails_if_strict(
    run: Run, repository: Path
) -> None:
    placements = repository / "boards" / "sensor" / "placements.csv"
    placements.write_text(placements.read_text() + "T1,30,10,0,top,ACME-1,ACME_THING\n")
    out = run(repository, "--capcheck", "-rs", "-k", "part-height", code=0)
    assert "waits for body-known" in out
    # Alone in a run, without the item that asks, it proves no more.
    assert "waits for body-known" in run(repository, "--capcheck", "--capcheck-strict", "-k", "part-height", code=1)


def test_the_modules_of_the_program_are_loaded_as_they_are(pytestconfig: pytest.Config) -> None:
    hook = AssertionRewritingHook(pytestconfig)
    hook._must_rewrite.add("capcheck")  # as pytest marks what an installed plugin comes with
    assert hook.find_spec("capcheck.cli", capcheck.__path__) is not None
    hook = AssertionRewritingHook(pytestconfig)
    hook._must_rewrite.add("capcheck")
    pytest_configure(SimpleNamespace(pluginmanager=SimpleNamespace(rewrite_hook=hook)))  # type: ignore[arg-type]
    assert hook.find_spec("capcheck.cli", capcheck.__path__) is None

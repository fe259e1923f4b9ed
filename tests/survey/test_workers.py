"""Boards in several processes: the same outcomes in the same order, whatever happens to a process.

Figures: none of the trade; boards and lines are invented.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from capcheck.model import Note
from capcheck.survey import Checked, NotChecked, checked_boards
from capcheck.survey.workers import Workers
from capcheck.values import InputError, Place, Problem

# Invented parts; no size is asked.
ROWS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,{x},5,0,top,1k,R0603\nR2,9,9,0,top,1k,R0603\n"


def board(folder: Path, x: int) -> Path:
    folder.mkdir(parents=True)
    (folder / "placements.csv").write_text(ROWS.format(x=x))
    (folder / "bom.csv").write_text(f"Quantity,Reference,Value,Part number\n2,R1-R2,1k,PN-{x}\n")
    return folder


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """Boards in a folder and in folders of it, one broken, one folder empty, two of the same files; archives beside."""
    top = tmp_path / "order"
    for n in range(6):
        board(top / f"b{n}", n)
    board(top / "deeper" / "x", 20)
    board(top / "deeper" / "y", 21)
    board(top / "again", 0)
    (top / "empty").mkdir()
    (top / "broken").mkdir()
    (top / "broken" / "board.toml").write_text("placements = 5\n")
    with zipfile.ZipFile(tmp_path / "two.zip", "w") as archive:
        for name, x in (("p", 30), ("q", 31)):
            for file in board(tmp_path / "packed" / name, x).iterdir():
                archive.write(file, f"{name}/{file.name}")
    with zipfile.ZipFile(tmp_path / "none.zip", "w") as archive:
        archive.writestr("readme.txt", "nothing here")
    return top


def told(outcomes):
    """What is told of outcomes, apart from the objects."""
    found = []
    for one in outcomes:
        if isinstance(one, Checked):
            found.append(("checked", one.name, one.report.placements))
        elif isinstance(one, NotChecked):
            found.append(("not checked", one.name, one.error.problems))
        else:
            assert isinstance(one, Note)
            found.append(("note", str(one.place), str(one.said)))
    return found


def needs(path: Path):
    from capcheck.checking import read_board
    from capcheck.survey import needs_of

    return needs_of(read_board(path))


@pytest.mark.parametrize("jobs", [2, 5])
def test_several_processes_tell_what_one_tells_in_its_order(order, jobs):
    paths = [order / "b1", order, order.with_name("two.zip"), order.with_name("none.zip")]
    alone = told(checked_boards(paths, needs))
    assert [name for kind, name, _ in alone if kind == "checked"] == [
        str(order / name) for name in ("b1", "again", "b0", "b2", "b3", "b4", "b5", "deeper/x", "deeper/y")
    ] + [f"{order.with_name('two.zip')}/p", f"{order.with_name('two.zip')}/q"]
    assert {kind for kind, _, _ in alone} == {"checked", "not checked", "note"}
    assert told(checked_boards(paths, needs, jobs=jobs)) == alone


def test_an_executor_of_the_callers_own_does_the_same(order):
    with ThreadPoolExecutor(3) as pool:
        assert told(checked_boards([order], needs, executor=pool)) == told(checked_boards([order], needs))


def test_work_goes_on_while_a_result_is_awaited(tmp_path):
    """Two that wait for each other end only if both are at work at once."""
    paths = [tmp_path / "one", tmp_path / "two"]

    def meet(path: Path) -> int:
        path.write_text("here")
        other = next(p for p in paths if p != path)
        end = time.monotonic() + 60
        while not other.exists():
            if time.monotonic() > end:
                raise TimeoutError
            time.sleep(0.01)
        return os.getpid()

    with Workers(meet, 2) as workers:
        for path in paths:
            workers.send_ahead(path)
        pids = {workers(path) for path in paths}
    assert len(pids) == 2
    assert os.getpid() not in pids


def test_a_process_that_ends_costs_no_board(tmp_path):
    """The first try of one board kills its process; nothing is lost, nothing is done twice over."""

    def work(path: Path) -> str:
        if path.name == "3" and not (tmp_path / "tried").exists():
            (tmp_path / "tried").touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return path.name

    paths = [tmp_path / str(n) for n in range(8)]
    with Workers(work, 2) as workers:
        for path in paths:
            workers.send_ahead(path)
        assert [workers(path) for path in paths] == [path.name for path in paths]


def test_a_board_that_ends_every_process_is_refused_by_name_and_alone(tmp_path):
    def work(path: Path) -> str:
        if path.name == "3":
            os.kill(os.getpid(), signal.SIGKILL)
        return path.name

    paths = [tmp_path / str(n) for n in range(6)]
    found = []
    with Workers(work, 2) as workers:
        for path in paths:
            workers.send_ahead(path)
        for path in paths:
            try:
                found.append(workers(path))
            except InputError as error:
                found.append(str(error.problems[0]).split(": ")[0])
    assert found == ["0", "1", "2", str(tmp_path / "3"), "4", "5"]


def test_errors_come_back_whole(tmp_path):
    problem = Problem(Place(str(tmp_path), 3, "x"), "is wrong", "it matters", "mend it")

    def work(_: Path) -> None:
        raise InputError(problem)

    with Workers(work, 2) as workers:
        workers.send_ahead(tmp_path)
        with pytest.raises(InputError) as caught:
            workers(tmp_path)
    assert caught.value.problems == (problem,)


def test_the_commands_take_jobs(order, tmp_path, run):
    (tmp_path / "m.machine.toml").write_text('name = "M"\n[[head]]\nname = "h"\n')
    (tmp_path / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    where = ("survey", order, "--line", tmp_path / "l.line.toml", "--no-config", "--plan-seconds", "0")
    outputs = [run(*where, "--format", "json", "--jobs", jobs) for jobs in ("1", "3")]
    assert outputs[0] == outputs[1]
    assert len(json.loads(outputs[0][1])["boards"]) == 9
    both = [run("needs", order, "--format", "json", "--jobs", jobs) for jobs in ("1", "3")]
    assert both[0] == both[1]
    for wrong in ("0", "-1", "many", "1000"):
        code, _, err = run(*where, f"--jobs={wrong}")
        assert code == 2
        assert "not a number of processes" in err


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the system does not fork")
def test_a_plan_made_before_does_not_hold_up_the_processes(tmp_path):
    """The solver keeps threads, which a forked process does not have: it would wait for them for ever."""
    fixtures = Path(__file__).parents[2] / "fixtures"
    where = [str(fixtures / "irrigation-controller"), "--line", str(fixtures / "lines" / "mixed.line.toml")]
    planned = ["plan", *where, "--format", "json", "--output", str(tmp_path / "plan.json")]
    surveyed = ["survey", *where, "--no-config", "--jobs", "2", "--output", str(tmp_path / "survey.json")]
    both = f"from capcheck.cli import main; main({planned!r}); raise SystemExit(main({surveyed!r}))"
    assert subprocess.run([sys.executable, "-c", both], timeout=120, check=False).returncode == 0

"""Boards on machines of a cluster, and on an executor of the caller's own: nothing lost, nothing twice.

Figures: none of the trade; boards and lines are invented.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import threading
import time
import zipfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest
from distributed import LocalCluster

from capcheck.survey import Checked, NotChecked, checked_boards, cluster, needs_of_boards

# The size of an R0603 stands in reference/size_codes.csv; none is asked for.
ROWS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,{x},5,0,top,1k,R0603\nR{y},9,9,0,top,1k,R0603\n"
BOARDS = 7


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """Boards in a folder, one of them broken, and an archive of two."""
    for n in range(BOARDS):
        (tmp_path / "order" / f"b{n}").mkdir(parents=True)
        (tmp_path / "order" / f"b{n}" / "placements.csv").write_text(ROWS.format(x=n, y=n + 2))
    (tmp_path / "order" / "b3" / "board.toml").write_text("placements = 5\n")
    with zipfile.ZipFile(tmp_path / "order" / "two.zip", "w") as archive:
        for n in (20, 21):
            archive.writestr(f"x{n}/placements.csv", ROWS.format(x=n, y=n + 2))
    (tmp_path / "m.machine.toml").write_text('name = "M"\n[[head]]\nname = "h"\n')
    (tmp_path / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    return tmp_path / "order"


@contextlib.contextmanager
def two_workers() -> Iterator[LocalCluster]:
    """Have a scheduler and two workers, each a process; one that ends is started anew, as by a shop's own keeper."""
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as started:
        yield started


@pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning")
def test_workers_of_a_cluster_find_what_this_process_finds_though_one_is_killed(order, run):
    """The survey as the command makes it; in its middle a worker is killed from outside."""
    where = ("survey", order, "--line", order.with_name("l.line.toml"), "--no-config", "--plan-seconds", "0")
    alone = run(*where, "--format", "json", "--jobs", "1")
    assert len(json.loads(alone[1])["boards"]) == BOARDS - 1 + 2
    with two_workers() as started:
        assert run(*where, "--format", "json", "--cluster", started.scheduler_address) == alone

        def slow(path: Path):
            from capcheck.checking import read_board
            from capcheck.survey import needs_of

            found = needs_of(read_board(path))
            time.sleep(0.3)
            return found

        pids = [worker.pid for worker in started.workers.values()]
        wanted = names(checked_boards([order], slow))
        threading.Timer(1.0, lambda: os.kill(pids[0], signal.SIGKILL)).start()
        with cluster(started.scheduler_address) as executor:
            found = names(checked_boards([order], slow, executor=executor))
        assert found == wanted
        assert len(set(found)) == len(found)
        assert run(*where, "--format", "json", "--cluster", started.scheduler_address) == alone


def names(outcomes) -> list[tuple[str, str]]:
    return [(type(one).__name__, one.name) for one in outcomes if isinstance(one, Checked | NotChecked)]


@pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning")
def test_a_board_that_ends_every_worker_is_refused_by_name_and_alone(order):
    def killing(path: Path):
        if path.name == "b5":
            os.kill(os.getpid(), signal.SIGKILL)
        from capcheck.checking import read_board
        from capcheck.survey import needs_of

        return needs_of(read_board(path))

    with two_workers() as started, cluster(started.scheduler_address) as executor:
        outcomes = list(checked_boards([order / "b4", order / "b5", order / "b6"], killing, executor=executor))
    assert names(outcomes) == [
        (kind, str(order / n)) for kind, n in zip(("Checked", "NotChecked", "Checked"), ("b4", "b5", "b6"), strict=True)
    ]
    assert "ends the process that checks it" in str(outcomes[1].error)


def test_an_executor_of_processes_does_what_this_process_does(order):
    alone = needs_of_boards([order])
    with ProcessPoolExecutor(2) as pool:
        boards, unread = needs_of_boards([order], executor=pool)
    assert boards == alone[0]
    assert [(one.name, one.error.problems) for one in unread] == [(one.name, one.error.problems) for one in alone[1]]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the system does not fork")
def test_an_executor_of_processes_of_which_one_is_killed_loses_no_board(order, tmp_path):
    """It is broken for good then: what it has not done is done in processes of our own."""

    def work(path: Path):
        if path.name == "b5" and not (tmp_path / "tried").exists():
            (tmp_path / "tried").touch()
            os.kill(os.getpid(), signal.SIGKILL)
        from capcheck.checking import read_board
        from capcheck.survey import needs_of

        return needs_of(read_board(path))

    with ProcessPoolExecutor(2) as pool:
        found = names(checked_boards([order], work, executor=pool))
        assert (tmp_path / "tried").exists()
        assert names(checked_boards([order], work, executor=pool)) == found, "nor is a broken one asked in vain"
    assert found == names(checked_boards([order], work))


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense", "tcp://", "http://127.0.0.1:1"])
def test_where_no_scheduler_answers_is_said(order, run, monkeypatch, address):
    monkeypatch.setattr("capcheck.survey.sent_work._PATIENCE", "1s")
    code, out, err = run("needs", order, "--cluster", address)
    assert (code, out) == (2, "")
    assert "no scheduler answers there" in err

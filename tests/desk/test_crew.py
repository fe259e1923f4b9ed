"""Workers of their own do what the store asks for: what one does not survive is tried again, and then told.

Figures: invented.
"""

import asyncio
import os
import shutil
import signal

import pytest

from capcheck.desk import crew as crew_module
from capcheck.desk.crew import Crew
from capcheck.desk.workers.orders import RESULT, FoundBoard, Result, write_form
from capcheck.values import InputError


def _bring(desk, folder):
    number_folder = desk.new_folder()
    arrived = desk.arrived(number_folder, "Pump")
    shutil.make_archive(str(arrived / "pump"), "zip", folder)
    number = desk.quotes.new(number_folder, customer="Meadow", name="Pump", quantity=9, due="", who="Ada")
    where = arrived.relative_to(desk.of_quote(number_folder)).as_posix()
    desk.quotes.add_files(number, where, [("pump.zip", f"{where}/pump.zip", 9)], "Ada")
    return number


async def _until(true, seconds=60.0):
    for _ in range(int(seconds / 0.02)):
        if true():
            return
        await asyncio.sleep(0.02)
    raise TimeoutError("what was waited for did not happen")


def _works(quote):
    return [*quote.works, *(work for board in quote.boards for work in board.works)]


def test_killed_workers_and_a_killed_nursery_lose_nothing(desk, demo_shop):
    """The first worker is killed, then what workers are forked from; the board is checked all the same."""

    async def run():
        number = _bring(desk, demo_shop[1])
        crew = Crew(desk, 1, cold=True)
        await crew.start()
        try:
            await _until(lambda: crew.pids)
            os.killpg(next(iter(crew.pids.values())), signal.SIGKILL)
            await _until(lambda: desk.quotes.one(number).boards and crew.pids)
            crew._nursery.kill()
            await _until(lambda: not any(work.is_open for work in _works(desk.quotes.one(number))))
        finally:
            await crew.stop()
        return desk.quotes.one(number)

    quote = asyncio.run(run())
    assert [(work.kind, work.outcome, work.tries) for work in _works(quote)] == [
        ("sort", "done", 2),
        ("check", "done", 2),
    ]
    assert quote.state(0) == "no questions open"


class Hopeless(Crew):
    """A crew whose workers end at once, whatever they are told."""

    async def _running(self):
        return None

    async def _ended(self, _):
        return -int(signal.SIGXCPU)


def test_work_that_ends_its_worker_twice_is_told_and_left(desk, demo_shop):
    async def run():
        number = _bring(desk, demo_shop[1])
        crew = Hopeless(desk, 2)
        await crew.start()
        await _until(lambda: not any(work.is_open for work in _works(desk.quotes.one(number))), 5)
        await crew.stop()
        return desk.quotes.one(number)

    quote = asyncio.run(run())
    [work] = quote.works
    assert (work.outcome, work.tries) == ("failed", 2)
    assert "limit of time or memory" in work.told
    assert quote.state(0) == "not read"


@pytest.mark.parametrize("trouble", ["the disk is full", "the store fails", "files of another desk"])
def test_work_that_something_else_is_in_the_way_of_is_put_off_and_not_ended(desk, demo_shop, monkeypatch, trouble):
    ends = []

    class Counting(Hopeless):
        async def _ended(self, _):
            ends.append(1)
            return 1

        def _ready(self, work, quote, into):
            if trouble == "the store fails":
                raise InputError.at("the store", "cannot be written", "the disk is full")
            return super()._ready(work, quote, into)

    if trouble == "the disk is full":
        monkeypatch.setattr(crew_module, "_LEAST_FREE", 1 << 60)

    async def run():
        number = _bring(desk, demo_shop[1])
        if trouble == "files of another desk":
            shutil.rmtree(desk.of_quote(desk.quotes.one(number).folder))
        crew = Counting(desk, 1)
        await crew.start()
        await _until(lambda: crew._elsewhere or crew.trouble, 5)
        await asyncio.sleep(0.1)
        told = crew.trouble
        await crew.stop()
        return desk.quotes.one(number).works, told

    [work], told = asyncio.run(run())
    assert (work.outcome, work.tries) == ("", 0)
    assert ("the disk is full" in told) is (trouble != "files of another desk")
    assert len(ends) == (trouble == "the disk is full")


@pytest.mark.rows("folder", ["../../..", "board-1/..", "board-1", "/etc/x", "board-1/a/b", "board-1/a\\..\\b"])
def test_a_worker_names_no_folder_but_its_own(tmp_path_factory, folder):
    into = tmp_path_factory.mktemp("into")
    for named, is_taken in (("board-1/Pump", True), (folder, False)):
        write_form(into / RESULT, Result("done", boards=(FoundBoard("Pump", named, ()),)))
        assert (Crew._result(into) is not None) is is_taken


class Endless(Hopeless):
    """A crew whose workers never end."""

    async def _ended(self, _):
        await asyncio.Event().wait()


def test_a_server_that_ends_lets_its_work_go_and_one_that_is_killed_loses_it_by_and_by(desk, demo_shop, monkeypatch):
    monkeypatch.setattr(crew_module, "HELD_S", 0.3)

    async def begun(*, killed):
        crew = Endless(desk, 1)
        await crew.start()
        await _until(lambda: crew._doing, 5)
        for task in crew._tasks if killed else ():
            task.cancel()
        if not killed:
            await crew.stop()

    _bring(desk, demo_shop[1])
    asyncio.run(begun(killed=False))
    again = desk.quotes.claim("other", -1)
    assert again.tries == 2
    asyncio.run(begun(killed=True))
    assert desk.quotes.claim("other", 9) is None
    asyncio.run(asyncio.sleep(0.4))
    assert desk.quotes.claim("other", 9).id == again.id


@pytest.mark.parametrize("jobs", [1, 3])
def test_no_more_run_at_once_than_are_wanted(desk, demo_shop, jobs):
    most = []

    class Counting(Hopeless):
        async def _ended(self, _):
            most.append(len(self._doing))
            await asyncio.sleep(0.02)
            return 1

    async def run():
        for _ in range(4):
            _bring(desk, demo_shop[1])
        crew = Counting(desk, jobs)
        await crew.start()
        await _until(lambda: not any(work.is_open for quote in desk.quotes.all() for work in _works(quote)), 9)
        await crew.stop()

    asyncio.run(run())
    assert max(most) == jobs
    assert len(most) == 8  # each of the four twice


@pytest.mark.parametrize("steps", range(4))
def test_a_crew_ends_that_is_told_of_work_as_it_ends(desk, steps):
    async def run():
        crew = Hopeless(desk, 1)
        await crew.start()
        await asyncio.sleep(0.05)
        crew.poke()
        for _ in range(steps):
            await asyncio.sleep(0)
        ending = asyncio.create_task(crew.stop())
        done, _ = await asyncio.wait([ending], timeout=5)
        for task in crew._tasks:
            task.cancel()
        return bool(done)

    assert asyncio.run(run())

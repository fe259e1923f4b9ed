"""Boards shared out among processes (pytest-xdist): a board to one process, which tells of it by one message.

An item alone takes six messages, and to tell of hundreds of them costs the process that hands out the work more than
the check of a board costs the worker. So a worker that comes to a board runs all its items and sends their reports
together; the process that hands out the work tells its plugins all that they would have heard.

Imported only where boards are shared out.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from typing import TYPE_CHECKING, Any, Final, Literal

import pytest
from xdist.scheduler import LoadScopeScheduling

from capcheck.pytest_run import reports_of

if TYPE_CHECKING:
    from xdist.workermanage import WorkerController

_OTHERS: Final = "capcheck_other_reports"
"""The attribute of the report that is sent: the reports of the board's other items."""

_PHASES: Final = "capcheck_other_phases"
"""The attribute of each report: what is known of its item's other phases, in which nothing happened."""

_CARRIED: Final = ("node", "item_index", "worker_id", "testrun_uid")
"""By these the plugins of the process that hands out the work know which worker a report is from."""

_FIELDS: Final = frozenset(vars(pytest.TestReport("", ("", None, ""), {}, "passed", None, "call")))


_When = Literal["setup", "call", "teardown"]
_Reports = list[list[pytest.TestReport]]


class OneBoardOneProcess(LoadScopeScheduling):  # type: ignore[misc]  # it comes without types
    """Hands each board to one process, any other test by itself.

    What is done is forgotten and the place of an item is looked up: the scheduler that this is made from searches all
    items for each.
    """

    def __init__(self, config: pytest.Config, log: Callable[..., object], board_file: str) -> None:
        super().__init__(config, log)
        self._board_file = board_file
        self._places: dict[str, int] = {}

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::", 1)[0]
        return file if file.rpartition("/")[2] == self._board_file else nodeid

    def _assign_work_unit(self, node: WorkerController) -> None:
        self._places = self._places or {name: place for place, name in enumerate(self.registered_collections[node])}
        scope, unit = self.workqueue.popitem(last=False)
        self.assigned_work.setdefault(node, {})[scope] = unit
        node.send_runtest_some([self._places[name] for name in unit])

    def mark_test_complete(self, node: WorkerController, item_index: int, duration: float = 0) -> None:  # noqa: ARG002  as xdist calls
        """Forget an item, and give its worker another board where it has nearly done its own."""
        name, units = self.registered_collections[node][item_index], self.assigned_work[node]
        scope = self._split_scope(name)
        del units[scope][name]
        if not units[scope]:
            del units[scope]
        self._reschedule(node)

    def _pending_of(self, workload: dict[str, dict[str, bool]]) -> int:
        return sum(map(len, workload.values()))


class InWorker:
    """Runs the items of a board together and sends their reports together."""

    def __init__(self) -> None:
        self._running: _Reports | None = None
        """The reports of the items of the board that is being run, so far."""
        self._done: set[pytest.Item] = set()

    def run(self, item: pytest.Item, nextitem: pytest.Item | None, *, looked_up: bool) -> None:
        """Run an item; the first of its board runs the others too and tells of all, these have nothing left to do."""
        if item in self._done:
            if nextitem is None or nextitem.parent is not item.parent:
                # What the board lies in ends with it; pytest has no public name for that.
                item.session._setupstate.teardown_exact(nextitem)  # noqa: SLF001
            return
        self._done.add(item)
        if self._running is not None:
            self._running.append(_in_one(reports_of(item, nextitem, looked_up=looked_up)))
            return
        others = [one for one in item.session.items if one.parent is item.parent and one not in self._done]
        following = [*others, nextitem]
        self._running = reports = [_in_one(reports_of(item, following[0], looked_up=looked_up))]
        try:
            _run_others(item.session, others, following[1:], reports)
        finally:
            self._running = None
            _tell(item, reports)


def _run_others(
    session: pytest.Session, items: list[pytest.Item], following: Sequence[pytest.Item | None], reports: _Reports
) -> None:
    for one, after in zip(items, following, strict=True):
        # The failures are counted here: xdist hears of them when the board is done.
        for report in reports[-1]:
            session.pytest_runtest_logreport(report)
        if session.shouldfail or session.shouldstop:
            break
        one.ihook.pytest_runtest_protocol(item=one, nextitem=after)


def _in_one(reports: list[pytest.TestReport]) -> list[pytest.TestReport]:
    """Return one report that says what all do, or all where the other phases say something too."""
    telling = next((r for r in reports if not r.passed), reports[-2])
    others = [report for report in reports if report is not telling]
    if all(r.passed and vars(r).keys() == _FIELDS and r.sections in ([], telling.sections) for r in others):
        setattr(telling, _PHASES, [(r.when, bool(r.sections), r.duration, r.start, r.stop) for r in others])
        return [telling]
    for report in reports:
        setattr(report, _PHASES, [])
    return reports


def _tell(first: pytest.Item, reports: _Reports) -> None:
    """Send the reports of a board: those of its first item as xdist sends them, all others with the last of these."""
    hook = first.config.hook
    own, others = reports[0], [report for each in reports[1:] for report in each]
    sent = [hook.pytest_report_to_serializable(config=first.config, report=report) for report in others]
    setattr(own[-1], _OTHERS, sent)
    for report in own:
        first.ihook.pytest_runtest_logreport(report=report)


class InMaster:
    """Tells the plugins of the process that hands out the work of every item and phase of a board."""

    def __init__(self, config: pytest.Config) -> None:
        self._config = config

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> Generator[None, object, object]:
        """Tell of an item's beginning, all its phases and its end where one phase was sent, then of the other items."""
        held = vars(report)
        phases, others = held.pop(_PHASES, None), held.pop(_OTHERS, ())
        if phases is None:
            return (yield)  # of another test
        hook = self._config.hook
        known = {when: _phase(report, when, sections, *times) for when, sections, *times in phases}
        if "setup" in known or report.when == "setup":
            hook.pytest_runtest_logstart(nodeid=report.nodeid, location=report.location)
        if "setup" in known:
            hook.pytest_runtest_logreport(report=known["setup"])
        told = yield
        if "teardown" in known:
            hook.pytest_runtest_logreport(report=known["teardown"])
        if "teardown" in known or report.when == "teardown":
            hook.pytest_runtest_logfinish(nodeid=report.nodeid, location=report.location)
        for data in others:
            self._tell_of(hook.pytest_report_from_serializable(config=self._config, data=data), report)
        return told

    def _tell_of(self, other: pytest.TestReport, sent: pytest.TestReport) -> None:
        vars(other).update(_carried(sent))
        session: Any = self._config.pluginmanager.getplugin("dsession")
        session.worker_testreport(vars(sent)["node"], other)  # it counts what failed, too


def _carried(report: pytest.TestReport) -> dict[str, object]:
    return {name: vars(report)[name] for name in _CARRIED if name in vars(report)}


def _phase(told: pytest.TestReport, when: _When, with_sections: bool, *times: float) -> pytest.TestReport:
    """Return the report of a phase in which nothing happened, from one of the same item; it took so long, from, to."""
    duration, start, stop = times
    return pytest.TestReport(
        told.nodeid,
        told.location,
        told.keywords,
        "passed",
        None,
        when,
        told.sections if with_sections else (),
        duration,
        start,
        stop,
        told.user_properties,
        **_carried(told),
    )

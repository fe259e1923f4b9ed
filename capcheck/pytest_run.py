"""Running the items of a board, of which there are hundreds, and all but the first find the check made.

What pytest does around an item's phases (catching what it prints and logs, marks that skip it, the set-up of what it
lies in) takes far longer than to look up an answer. It is done where it may matter: for the first item of a board, in
which the check runs, for the last, and for all where an item has a mark, an option shows the phases or a plugin or
conftest.py waits for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, Literal

import pytest
from _pytest.runner import runtestprotocol  # no public name runs an item without telling of it at once

_ABOUT_FUNCTIONS: Final = ("_pytest", "_hypothesis_pytestplugin", "pytest_randomly")
"""Modules whose hooks of a phase change nothing for an item that runs no function of a test."""

_SHOWING: Final = ("setuponly", "setupshow", "setupplan", "usepdb", "trace")
"""Options by which a phase is shown, or stopped at."""


def run(item: pytest.Item, nextitem: pytest.Item | None, *, looked_up: bool) -> None:
    """Run an item and tell of it; *looked_up*: its board was checked, and nothing waits for the item's phases."""
    hook = item.ihook
    hook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    if _nothing_around(item, nextitem, looked_up):
        for report in _phases(item):
            hook.pytest_runtest_logreport(report=report)
    else:
        runtestprotocol(item, nextitem=nextitem)
    hook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)


def reports_of(item: pytest.Item, nextitem: pytest.Item | None, *, looked_up: bool) -> list[pytest.TestReport]:
    """Run an item as :func:`run` does and return the reports of its phases, of which nobody was told."""
    if _nothing_around(item, nextitem, looked_up):
        return list(_phases(item))
    return runtestprotocol(item, log=False, nextitem=nextitem)


def _nothing_around(item: pytest.Item, nextitem: pytest.Item | None, looked_up: bool) -> bool:
    """Return whether nothing that is done around the phases of an item can change or show anything."""
    same_board = nextitem is not None and nextitem.parent is item.parent
    return looked_up and same_board and next(item.iter_markers(), None) is None


def nothing_waits_for_phases(node: pytest.Collector) -> bool:
    """Return whether no option shows the phases of a board's items, and no hook but pytest's own waits for them."""
    if any(node.config.getoption(name, False) for name in _SHOWING):
        return False
    hook = node.ihook
    hooks = (hook.pytest_runtest_setup, hook.pytest_runtest_call, hook.pytest_runtest_teardown)
    waiting = (one.function.__module__.partition(".")[0] for each in hooks for one in each.get_hookimpls())
    return all(module in _ABOUT_FUNCTIONS for module in waiting)


_Phase = tuple[Literal["setup", "call", "teardown"], Callable[[], None]]


def _phases(item: pytest.Item) -> Iterator[pytest.TestReport]:
    """Yield the report of each phase, as pytest makes it."""
    phases: tuple[_Phase, ...] = (("setup", item.setup), ("call", item.runtest), ("teardown", item.teardown))
    for when, phase in phases:
        done = pytest.CallInfo.from_call(phase, when, reraise=(pytest.exit.Exception, KeyboardInterrupt))
        report: pytest.TestReport = item.ihook.pytest_runtest_makereport(item=item, call=done)
        yield report

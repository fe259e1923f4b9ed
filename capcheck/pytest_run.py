"""Running the items of a board, of which there are hundreds, and all but the first find the check made.

What pytest does around an item's phases (catching what it prints and logs, marks that skip it, the set-up of what it
lies in) takes far longer than to look up an answer. It is left out where it cannot matter.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

import pytest

_ABOUT_FUNCTIONS: Final = ("_pytest", "_hypothesis_pytestplugin", "pytest_randomly")
"""Modules whose hooks of a phase change nothing for an item that runs no function of a test."""

_SHOWING: Final = ("setuponly", "setupshow", "setupplan", "usepdb", "trace")
"""Options by which a phase is shown, or stopped at."""

_Phases = tuple[tuple[Literal["setup", "call", "teardown"], Callable[[], None]], ...]


def nothing_waits_for_phases(node: pytest.Collector) -> bool:
    """Return whether no option shows the phases of a board's items, and no hook but pytest's own waits for them."""
    if any(node.config.getoption(name, False) for name in _SHOWING):
        return False
    hook = node.ihook
    hooks = (hook.pytest_runtest_setup, hook.pytest_runtest_call, hook.pytest_runtest_teardown)
    waiting = (one.function.__module__.partition(".")[0] for each in hooks for one in each.get_hookimpls())
    return all(module in _ABOUT_FUNCTIONS for module in waiting)


def run_phases_alone(item: pytest.Item) -> None:
    """Run an item as pytest does, with nothing around its phases."""
    phases: _Phases = (("setup", item.setup), ("call", item.runtest), ("teardown", item.teardown))
    hook = item.ihook
    hook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    for when, phase in phases:
        done = pytest.CallInfo.from_call(phase, when, reraise=(pytest.exit.Exception, KeyboardInterrupt))
        hook.pytest_runtest_logreport(report=hook.pytest_runtest_makereport(item=item, call=done))
    hook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)

"""Boards shared out among processes (pytest-xdist): a board to one process, which tells of it by few messages.

An item takes six messages, and to tell of hundreds of items one by one costs the process that hands out the work more
than the check of a board costs the worker. So a worker keeps what it has to tell while items of the same board wait for
it, and sends it as one.

Imported only where boards are shared out.
"""

from __future__ import annotations

import marshal
from collections.abc import Callable, Generator
from typing import TYPE_CHECKING, Final

import pytest
from xdist.scheduler import LoadScopeScheduling

if TYPE_CHECKING:
    from xdist.remote import WorkerInteractor
    from xdist.workermanage import WorkerController

_TOGETHER: Final = "capcheck"
"""The message that holds others."""

_OF_AN_ITEM: Final = ("logstart", "testreport", "logfinish", "warning_recorded", "runtest_protocol_complete")
"""What may wait; whatever else a worker tells, such as its end, takes along what waits."""


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

    def mark_test_complete(self, node: WorkerController, item_index: int, *_: float) -> None:
        """Forget an item, and give its worker another board where it has nearly done its own."""
        name, units = self.registered_collections[node][item_index], self.assigned_work[node]
        scope = self._split_scope(name)
        del units[scope][name]
        if not units[scope]:
            del units[scope]
        self._reschedule(node)


class ToldTogether:
    """Keeps what a worker tells of a board as long as more of its items wait for the worker, then sends it as one."""

    def __init__(self, worker: WorkerInteractor, board: type[pytest.File]) -> None:
        self._board = board
        self._send, self._waiting = worker.sendevent, worker.torun
        self._kept: list[tuple[str, dict[str, object]]] = []
        self._goes_on = False
        worker.sendevent = self._tell

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(
        self, item: pytest.Item, nextitem: pytest.Item | None
    ) -> Generator[None, object, object]:
        """Take note whether the next item is about the same board."""
        self._goes_on = isinstance(item.parent, self._board) and nextitem is not None and nextitem.parent is item.parent
        return (yield)

    def _tell(self, name: str, **told: object) -> None:
        self._kept.append((name, told))
        if self._goes_on and name in _OF_AN_ITEM:
            with self._waiting.lock() as waiting:
                # With none waiting the worker sleeps until it gets more, which it gets for what it has told.
                if waiting:
                    return
        kept, self._kept = self._kept, []
        # As bytes: what carries messages would go over each text in them, on both sides.
        self._send(_TOGETHER, events=marshal.dumps(kept))


def tell_together(config: pytest.Config, board: type[pytest.File]) -> None:
    """Have a worker tell of a board by one message. Of an older pytest-xdist, whose queue is closed, it does not."""
    for plugin in config.pluginmanager.get_plugins():
        if hasattr(getattr(plugin, "torun", None), "lock"):
            config.pluginmanager.register(ToldTogether(plugin, board))


def hear_together(node: WorkerController) -> None:
    """Take what a worker tells by one message for the messages that it holds."""
    hear = node.process_from_remote

    def each(message: object) -> None:
        if not isinstance(message, tuple) or message[0] != _TOGETHER:
            hear(message)
            return
        for event in marshal.loads(message[1]["events"]):  # noqa: S302  of our own worker
            hear(event)

    node.process_from_remote = each

"""The process from which every worker is forked: it has the libraries loaded, so that a check begins at once.

Orders come in on standard input, one JSON a line; what began and what ended goes out on standard output. It has one
thread alone, reads no file of a customer's itself, and ends with the server, its workers with it.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import select
import signal
import sys
import tempfile
from pathlib import Path
from typing import Final

import msgspec

from capcheck.desk.workers.confinement import die_with_parent
from capcheck.desk.workers.orders import Order, Told
from capcheck.desk.workers.work import run
from capcheck.values import InputError

_LOADED: Final = (
    "capcheck.report.page.page",
    "capcheck.report.questions.customer_questions",
    "capcheck.survey.boards_on_lines",
    "capcheck.checking.answer",
    "capcheck.checking.settled_board",
    "capcheck.planning.api",
    "sqlalchemy.dialects.sqlite",
    "shapely",
    "ezdxf",
    "python_calamine",
    "gerbonara",
    "xlsxwriter",
)


COLD: Final = "--cold"
"""Begins at once, and has the first check of each worker take a second more."""
_MOST_FILES: Final = 65_536
_GENTLE: Final = 10
"""By how much workers give way to the server, whose pages people wait for; half as much where one is waited for."""
_IN_BACKGROUND: Final = ("sort", "check")


def warm_up() -> None:
    """Check a board of our own, so that what a check makes once is there: patterns, rules, templates, tables.

    It is read without its outline: a foreign form would start a reading process here, which is not confined and whose
    pipes every worker would have.
    """
    from capcheck.report import check, load_format, report_svg
    from capcheck.shop import demo

    with tempfile.TemporaryDirectory(prefix="capcheck-desk-") as folder:
        for name, data in demo().items():
            path = Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        board = Path(folder) / "irrigation-controller"
        line = Path(folder) / "lines" / "mixed.line.toml"
        report = check(placements=[board / "placements.csv"], bom=board / "bom.csv", line=line)
        report_svg(report, live=True)
        for form in ("html", "json", "mail", "questions-xlsx"):
            with contextlib.suppress(InputError):  # of an extra that is not installed
                load_format(form).render(report)


def main() -> None:
    """Fork a worker for each order until standard input ends."""
    out = os.dup(1)
    os.dup2(2, 1)  # what a library prints would be taken for an answer
    if COLD not in sys.argv:
        for name in _LOADED:
            with contextlib.suppress(ImportError):  # an extra that is not installed
                importlib.import_module(name)
        warm_up()
    gc.collect()
    gc.freeze()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server says when to end
    wake, woken = os.pipe2(os.O_NONBLOCK | os.O_CLOEXEC)
    signal.set_wakeup_fd(woken)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    working: dict[int, int] = {}
    rest = b""
    os.write(out, b"{}\n")
    while True:
        ready, _, _ = select.select([0, wake], [], [])
        if wake in ready:
            with contextlib.suppress(BlockingIOError):
                os.read(wake, 4096)
        for told in _ended(working):
            os.write(out, msgspec.json.encode(told) + b"\n")
        if 0 in ready:
            data = os.read(0, 65536)
            if not data:
                break
            *lines, rest = (rest + data).split(b"\n")
            for line in lines:
                order = msgspec.json.decode(line, type=Order)
                pid = _forked(order)
                working[pid] = order.work
                os.write(out, msgspec.json.encode(Told(order.work, pid)) + b"\n")
    for pid in working:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)


def _ended(working: dict[int, int]) -> list[Told]:
    found = []
    while working:
        ended = os.waitid(os.P_ALL, 0, os.WEXITED | os.WNOHANG | os.WNOWAIT)
        if ended is None:
            break
        pid = ended.si_pid
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(pid, signal.SIGKILL)  # what it has left running; until it is waited for the number is its own
        status = os.waitpid(pid, 0)[1]
        found.append(Told(working.pop(pid), pid, os.waitstatus_to_exitcode(status)))
    return found


def _forked(order: Order) -> int:
    pid = os.fork()
    if pid:
        with contextlib.suppress(OSError):  # it may have done so itself, or have ended
            os.setpgid(pid, pid)
        return pid
    code = 1
    try:
        die_with_parent()
        os.nice(_GENTLE if order.kind in _IN_BACKGROUND else _GENTLE // 2)
        os.setpgid(0, 0)  # with the processes that read for it; who begins first does it
        signal.set_wakeup_fd(-1)
        for one in (signal.SIGINT, signal.SIGCHLD, signal.SIGTERM):
            signal.signal(one, signal.SIG_DFL)
        os.closerange(3, min(os.sysconf("SC_OPEN_MAX"), _MOST_FILES))
        nothing = os.open(os.devnull, os.O_RDWR)
        os.dup2(nothing, 0)
        os.dup2(nothing, 1)
        run(order)
        code = 0
    except BaseException as error:  # noqa: BLE001 - the process ends here, whatever it was
        with contextlib.suppress(Exception):
            sys.stderr.write(f"worker: {type(error).__name__}: {str(error)!a}\n")
            sys.stderr.flush()
    finally:
        os._exit(code)


if __name__ == "__main__":
    main()

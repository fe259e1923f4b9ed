"""What a worker does with its order: it confines itself, reads, checks, and writes what came of it into its folder."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.desk.workers.answered import settle_filled
from capcheck.desk.workers.checked import check_board
from capcheck.desk.workers.confinement import confine, limit_for_good, processes_of_user
from capcheck.desk.workers.orders import PHASE, RESULT, Order, Phase, Result, told_of, write_form
from capcheck.desk.workers.sorted_boards import sort_boards
from capcheck.intake import limited
from capcheck.values import InputError, phases_heard_by, unforeseen

if TYPE_CHECKING:
    from capcheck.values import Phase as ProgramPhase

SECONDS: Final = 240.0
"""Processor time of a worker: many times what a board of 5,000 parts on four lines takes."""
MEMORY: Final = 1536 * 1024 * 1024
LARGEST_WRITTEN: Final = 96 * 1024 * 1024
PROCESSES: Final = 64
"""Beside those that its user has: of its own it starts one at a time, which reads a foreign form."""

_WORK: Final = {"sort": sort_boards, "check": check_board, "answer": settle_filled}


def run(order: Order) -> None:
    """Do the work of an order; its folder has :data:`RESULT` afterwards, unless the process is ended by a limit."""
    into = Path(order.into)
    into.mkdir(parents=True, exist_ok=True)
    into = into.resolve()
    scratch = into / "scratch"
    scratch.mkdir(exist_ok=True)
    tempfile.tempdir = os.environ["TMPDIR"] = str(scratch)
    processes = processes_of_user()
    in_force = confine(into)
    write_form(into / "confined.json", in_force)

    def heard(phase: ProgramPhase, done: int, of: int) -> None:
        write_form(into / PHASE, Phase(str(phase), done, of))

    with limited(SECONDS, MEMORY, LARGEST_WRITTEN), phases_heard_by(heard):
        limit_for_good(processes + PROCESSES)
        try:
            result = _WORK[order.kind](order, into)
        except InputError as error:
            result = Result("refused", told_of(error, order.source))
        except MemoryError:
            result = Result("refused", ("these files need more memory than a check may take",))
        except Exception as error:  # noqa: BLE001 - a library may raise anything; the page tells it
            result = Result("refused", told_of(InputError(unforeseen(error, order.name))))
    write_form(into / RESULT, result)

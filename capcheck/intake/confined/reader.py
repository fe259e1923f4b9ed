"""A function that reads files of a foreign form, called in the reading process; what it breaks is an input error."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, TypeVar

import msgspec
from msgspec import Struct

from capcheck.intake.confined.frames import Reply, Request, decoded
from capcheck.intake.confined.limits import MOST_MEMORY
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.intake.confined.worker import Worker

Record = TypeVar("Record")
_SECONDS: Final = 1.2
_SECONDS_A_MEGABYTE: Final = 2.0
"""Processor time that a file may take; what is sent in earnest takes a tenth of it."""
_MOST_SECONDS: Final = 60.0


class Reader(Struct, Generic[Record], frozen=True):
    """Reads files by a *function* of the program (``module:name``), of a path and an option, into an *answer*.

    *libraries* are the foreign ones that it needs; *remedy* is what helps where a file breaks it.
    """

    function: str
    answer: type[Record]
    remedy: str
    libraries: tuple[str, ...] = ()

    def read(self, file: str, option: str | None = None) -> Record:
        """Return what the function makes of a file. Raises :class:`InputError`, its own or that reading broke off."""
        try:
            reply: Reply = _worker().ask(self._request(file, option))
        except OSError as error:
            raise InputError.at(
                file,
                f"no process can be started to read it: {error.strerror}",
                "a file of this form is read apart, under limits",
                "end other programs and try again",
            ) from None
        if reply.problems:
            raise InputError(reply.problems)
        broke = reply.broke
        if not broke:
            try:
                return decoded(reply.answer, self.answer)
            except (msgspec.MsgspecError, ValueError, RecursionError) as error:
                broke = f"its reader hands on what is no answer ({error})"
        if broke == "MemoryError":
            broke = f"it takes more than {MOST_MEMORY >> 20} MB of memory"
        raise InputError.at(
            file, f"reading it was stopped: {broke}", "it is damaged, or made to stop whoever reads it", self.remedy
        )

    def expect(self, file: str, option: str | None = None) -> None:
        """Have a file read while the caller does other work, as it will be asked for next."""
        try:
            _worker().expect(self._request(file, option))
        except OSError:
            return  # said when the file is asked for

    def start(self) -> None:
        """Have the process start that will read files of this form."""
        try:
            _worker().expect(Request(self.function, self.libraries))
        except OSError:
            return

    def _request(self, file: str, option: str | None) -> Request:
        try:
            size = Path(file).stat().st_size
        except OSError:
            size = 0
        seconds = min(_SECONDS + _SECONDS_A_MEGABYTE * size / 1e6, _MOST_SECONDS)
        return Request(self.function, self.libraries, file, option, str(Path.cwd()), seconds)


def _worker() -> Worker:
    from capcheck.intake.confined.worker import WORKER

    return WORKER

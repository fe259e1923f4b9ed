"""A function that reads files of a foreign form, called in the reading process; what it breaks is an input error."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

import msgspec
from msgspec import Struct

from capcheck.intake.confined.frames import Reply, Request, decoded, encoded
from capcheck.intake.confined.limits import MOST_MEMORY
from capcheck.values import InputError, UnreadableError

if TYPE_CHECKING:
    from capcheck.intake.confined.worker import Worker

Record = TypeVar("Record")
_SECONDS: Final = 1.5
"""Processor time for any file, however small: three times what the first workbook takes on a slow, busy machine."""
_MOST_SECONDS: Final = 60.0


class SharedTime(Struct):
    """Processor time in *seconds* that several files may take together: what each of them took is taken off."""

    seconds: float

    @contextlib.contextmanager
    def used_here(self) -> Iterator[None]:
        """Take off what this process takes within the block, as to work out what files mean that were read."""
        began = time.process_time()
        try:
            yield
        finally:
            self.seconds -= time.process_time() - began


class Reader(Struct, frozen=True):
    """Reads files by a *function* of the program (``module:name``) of a path and an argument as plain data.

    *libraries* are the foreign ones that it needs; *remedy* is what helps where a file breaks it. Reading a megabyte
    may take *seconds_a_megabyte* of processor time, several times what a file in earnest takes.
    """

    function: str
    remedy: str
    libraries: tuple[str, ...] = ()
    seconds_a_megabyte: float = 0.6

    def read(self, file: str, form: type[Record], argument: object = None, shared: SharedTime | None = None) -> Record:
        """Return what the function makes of a file, a record of type *form*, while *shared* time is left.

        Raises :class:`InputError`: the function's own, or that reading the file broke off.
        """
        if shared is not None and shared.seconds <= 0:
            raise UnreadableError.at(
                file,
                "the files before it took all the time there is for them",
                "files in earnest leave some",
                self.remedy,
            )
        try:
            reply: Reply = _worker().ask(self._request(file, argument))
        except OSError as error:
            raise InputError.at(
                file,
                f"no process can be started to read it: {error.strerror}",
                "a file of this form is read apart, under limits",
                "end other programs and try again",
            ) from None
        if shared is not None:
            shared.seconds -= reply.seconds
        if reply.problems:
            raise InputError(reply.problems)
        broke = reply.broke
        if not broke:
            try:
                return decoded(reply.answer, form)
            except (msgspec.MsgspecError, ValueError, RecursionError) as error:
                broke = f"its reader hands on what is no answer ({error})"
        if broke == "MemoryError":
            broke = f"it takes more than {MOST_MEMORY >> 20} MB of memory"
        why = "damaged" if not reply.out_of_time else "larger than the time allowed for a file of its size"
        raise UnreadableError.at(
            file, f"reading it was stopped: {broke}", f"it is {why}, or made to stop whoever reads it", self.remedy
        )

    def expect(self, file: str, argument: object = None) -> None:
        """Have a file read while the caller does other work, as it will be asked for next."""
        with contextlib.suppress(OSError, InputError):  # said when the file is asked for
            _worker().expect(self._request(file, argument))

    def start(self) -> None:
        """Have the process start that will read files of this form."""
        with contextlib.suppress(OSError):
            _worker().expect(Request(self.function, self.libraries))

    def _request(self, file: str, argument: object) -> Request:
        if any("\ud800" <= letter <= "\udfff" for letter in file):
            raise UnreadableError.at(
                file, "its name is no text", "it came from a system with another encoding", "rename the file"
            )
        try:
            size = Path(file).stat().st_size
        except OSError:
            size = 0
        seconds = min(_SECONDS + self.seconds_a_megabyte * size / 1e6, _MOST_SECONDS)
        return Request(self.function, self.libraries, file, encoded(argument), str(Path.cwd()), seconds)


def _worker() -> Worker:
    from capcheck.intake.confined.worker import WORKER

    return WORKER

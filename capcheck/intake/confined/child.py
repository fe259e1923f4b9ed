"""The process that reads foreign files: it takes requests on standard input and answers on standard output."""

from __future__ import annotations

import gc
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Final

import msgspec
from msgspec.structs import replace

from capcheck.intake.confined.frames import LARGEST, Reply, Request, decoded, encoded, read_frame, write_frame
from capcheck.intake.confined.limits import limited
from capcheck.values import InputError

_HERE: Final = Path(__file__).resolve().parent


def serve() -> None:
    """Answer requests until standard input ends."""
    answers = os.fdopen(os.dup(1), "wb")
    # What a library prints would spoil the frames.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    while (frame := read_frame(sys.stdin.buffer)) is not None:
        request = decoded(frame, Request)
        begun = time.process_time()
        reply = replace(_replied(request), seconds=time.process_time() - begun)
        if request.file is not None:
            write_frame(answers, encoded(reply))


def _replied(request: Request) -> Reply:
    try:
        # A library may obey a file of its own in the working directory, which may be a customer's folder.
        os.chdir(_HERE)
        module, _, name = request.function.partition(":")
        function = getattr(import_module(module), name)
        for library in request.libraries:
            _load(library)
        if request.file is None:
            return Reply()
        if request.folder:
            os.chdir(request.folder)
        with limited(request.seconds), _collector_at_rest():
            answer = encoded(function(request.file, request.argument))
    except InputError as error:
        return Reply(problems=error.problems)
    except MemoryError:
        return Reply(broke="MemoryError")
    except BaseException as error:  # noqa: BLE001 - a library's panic is no Exception; all of it is the file's fault
        # The geometry library speaks of memory by the name of C++.
        broke = "MemoryError" if "bad_alloc" in str(error) else f"{type(error).__name__}: {error}"[:200]
        return Reply(broke=broke)
    if len(answer) > LARGEST:
        return Reply(broke=f"it holds {len(answer) / 1e6:,.0f} MB of text")
    return Reply(answer=msgspec.Raw(answer))


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Hold the garbage collector back while one file is read: it would walk all of a drawing again and again."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def _load(library: str) -> None:
    """Import a library; one that is not installed is for its reader to speak of."""
    try:
        import_module(library)
    except ImportError:
        return

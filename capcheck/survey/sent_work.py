"""Work for processes that share nothing with this one: of an executor of the caller's own, or of a cluster.

What is sent is the work itself, a path and the folder that paths start from. The other side needs this program, in
this version, and has to see the boards under the same paths.
"""

from __future__ import annotations

import os
import pickle
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, cast

from capcheck.values import InputError
from capcheck.version import __version__

_ONE_AT_A_TIME: Final = threading.RLock()
"""Threads of one process would take each other's unpacked files and answers of the reading process."""
_PATIENCE: Final = "20s"


class SentWork:
    """Work as it can be submitted to *executor*. Raises :class:`InputError` where nothing can send it."""

    def __init__(self, work: Callable[[Path], object], executor: Executor) -> None:
        self._work = work
        self._packed = None if isinstance(executor, ThreadPoolExecutor) else _packed(work)

    def __call__(self) -> tuple[Callable[..., object], tuple[object, ...]]:
        """Return the function to submit, and what stands before the path among its arguments."""
        if self._packed is None:
            return one_at_a_time, (self._work,)
        return _done_elsewhere, (self._packed, __version__, str(Path.cwd()))


def one_at_a_time(work: Callable[[Path], object], path: str) -> object:
    """Return what the work makes of *path* while no other thread of this process works."""
    with _ONE_AT_A_TIME:
        return work(Path(path))


def _packed(work: Callable[[Path], object]) -> bytes:
    try:
        return pickle.dumps(work)
    except (pickle.PicklingError, AttributeError, TypeError):  # rules and facts hold functions without names
        pass
    try:
        import cloudpickle
    except ImportError:
        raise InputError.at(
            "executor",
            "needs the library cloudpickle, which is not installed",
            "rules and facts are sent to its processes",
            'install it with: pip install "capcheck[cluster]"',
        ) from None
    return cast("bytes", cloudpickle.dumps(work))


def _done_elsewhere(packed: bytes, version: str, folder: str, path: str) -> object:
    if version != __version__:
        raise InputError.at(
            path, f"a worker has capcheck {__version__}, and {version} asks", "results differ", "install the same there"
        )
    try:
        os.chdir(folder)
    except OSError:
        raise InputError.at(
            path, f"a worker does not see {folder}", "it reads the boards itself", "use a folder that all share"
        ) from None
    return one_at_a_time(_unpacked(packed), path)


@lru_cache(1)
def _unpacked(packed: bytes) -> Callable[[Path], object]:
    return cast("Callable[[Path], object]", pickle.loads(packed))  # noqa: S301 - our own, by way of the user's cluster


@contextmanager
def cluster(address: str | None) -> Iterator[Executor | None]:
    """Have the executor of a dask cluster in the block, by the address of its scheduler; None where there is none.

    A worker that ends is no loss: its boards go to others. Raises :class:`InputError` where nothing answers.
    """
    if address is None:
        yield None
        return
    try:
        from distributed import Client
    except ImportError:
        raise InputError.at(
            "--cluster",
            "needs the library distributed, which is not installed",
            remedy='install it with: pip install "capcheck[cluster]"',
        ) from None
    import logging

    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters is told as an error of the board
    try:
        client: Any = Client(address, timeout=_PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise InputError.at(
            f"--cluster {address}",
            f"no scheduler answers there ({' '.join(str(error).split()) or type(error).__name__})",
            remedy="start one (dask scheduler), and write the address that it prints, like tcp://host:8786",
        ) from None
    with client:
        if not client.scheduler_info()["workers"]:
            raise InputError.at(
                f"--cluster {address}",
                "the scheduler has no worker",
                "the boards would wait for ever",
                f"start some: dask worker {address}",
            )
        yield cast("Executor", client.get_executor(pure=False))

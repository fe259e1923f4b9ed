"""What holds for a worker from the moment it has its folder: no network, no writing elsewhere, no other program.

The kernel sees to it where it can: a namespace without a network, Landlock for writing, for starting programs and for
signals to others, and calls refused for the rest. Where it cannot, an audit hook of the interpreter refuses the same
calls, which stops our own code and libraries in Python but no machine code; :class:`InForce` says which it is.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct

from capcheck.desk.workers.calls_refused import refuse_calls

By = Literal["kernel", "interpreter"]

_NO_NEW_PRIVILEGES: Final = 38
_NEW_USER: Final = 0x10000000
_NEW_NETWORK: Final = 0x40000000
_CREATE, _ADD, _RESTRICT = 444, 445, 446
"""Numbers of Landlock's calls, the same on every architecture (Linux, include/uapi/asm-generic/unistd.h)."""
_EXECUTE: Final = 1 << 0
_WRITE_FILE: Final = 1 << 1
_OF_FOLDERS: Final = sum(1 << bit for bit in range(4, 13))
"""Remove and make whatever can be made (Linux, include/uapi/linux/landlock.h)."""
_ODD: Final = sum(1 << bit for bit in (6, 9, 10, 11, 12))
"""Make a device, a socket, a pipe or a link: who reads a worker's folder is not to be led elsewhere or kept waiting."""
_REFER: Final = 1 << 13
_TRUNCATE: Final = 1 << 14
_TCP: Final = 0b11
_OTHERS: Final = 0b11
"""Sockets by names of their own, and signals, to processes that are not confined with this one."""
_BENEATH: Final = 1


class InForce(Struct, frozen=True):
    """By whom network and writing are refused."""

    network: By
    writing: By

    def __str__(self) -> str:
        """Return it for people."""
        return f"network refused by the {self.network}, writing elsewhere by the {self.writing}"


class _Ruleset(ctypes.Structure):
    _fields_ = (("fs", ctypes.c_uint64), ("net", ctypes.c_uint64), ("scoped", ctypes.c_uint64))


class _Beneath(ctypes.Structure):
    _pack_ = 1
    _fields_ = (("allowed", ctypes.c_uint64), ("parent", ctypes.c_int32))


def confine(folder: Path) -> InForce:
    """Refuse this process the network, other programs, and writing anywhere but below *folder*; for good."""
    libc = ctypes.CDLL(None, use_errno=True) if sys.platform == "linux" else None
    off = libc is not None and _leave_network(libc)
    kept = libc is not None and _landlocked(libc, folder)
    off = libc is not None and _calls_refused(libc) and off
    if not (off and kept):
        sys.addaudithook(_refusing(folder, network=not off, writing=not kept))
    return InForce("kernel" if off else "interpreter", "kernel" if kept else "interpreter")


def limit_for_good(processes: int) -> None:
    """Have the limits that hold now be the highest, and let the user have so many *processes*, threads among them.

    The kernel counts no administrator's.
    """
    import resource

    for kind in (resource.RLIMIT_AS, resource.RLIMIT_CPU, resource.RLIMIT_FSIZE, resource.RLIMIT_CORE):
        soft = resource.getrlimit(kind)[0]
        resource.setrlimit(kind, (soft, soft))
    hard = resource.getrlimit(resource.RLIMIT_NPROC)[1]
    most = processes if hard == resource.RLIM_INFINITY else min(processes, hard)
    resource.setrlimit(resource.RLIMIT_NPROC, (most, most))


def processes_of_user() -> int:
    """Return how many processes and threads this user has."""
    own, found = os.getuid(), 0
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if folder.stat().st_uid == own:
                found += sum(1 for _ in (folder / "task").iterdir())
        except OSError:  # it has ended
            continue
    return found


def die_with_parent() -> None:
    """Have this process end when the one that made it does."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(1, 9, 0, 0, 0)  # PR_SET_PDEATHSIG, SIGKILL


def _leave_network(libc: ctypes.CDLL) -> bool:
    # As a user of its own it has no rights over anything else, also where the desk is an administrator's.
    return any(libc.unshare(flags) == 0 for flags in (_NEW_USER | _NEW_NETWORK, _NEW_NETWORK))


def _calls_refused(libc: ctypes.CDLL) -> bool:
    return libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) == 0 and refuse_calls(libc)


def _landlocked(libc: ctypes.CDLL, folder: Path) -> bool:
    version = libc.syscall(_CREATE, None, 0, 1)
    if version < 1:
        return False
    changes = _OF_FOLDERS | _WRITE_FILE | (_REFER if version >= 2 else 0) | (_TRUNCATE if version >= 3 else 0)
    ruleset = _Ruleset(changes | _EXECUTE, _TCP if version >= 4 else 0, _OTHERS if version >= 6 else 0)
    size = 8 if version < 4 else 16 if version < 6 else ctypes.sizeof(ruleset)
    number = libc.syscall(_CREATE, ctypes.byref(ruleset), size, 0)
    if number < 0:
        return False
    of_file = changes & (_WRITE_FILE | _TRUNCATE)
    try:
        own = ((folder, changes & ~_ODD), (Path(os.devnull), of_file))
        allowed = all(_allow(libc, number, path, bits) for path, bits in own)
        return allowed and libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) == 0 and libc.syscall(_RESTRICT, number, 0) == 0
    finally:
        os.close(number)


def _allow(libc: ctypes.CDLL, ruleset: int, path: Path, bits: int) -> bool:
    opened = os.open(path, os.O_PATH | os.O_CLOEXEC)
    try:
        beneath = _Beneath(bits, opened)
        return bool(libc.syscall(_ADD, ruleset, _BENEATH, ctypes.byref(beneath), 0) == 0)
    finally:
        os.close(opened)


_CHANGING: Final = frozenset({"os.mkdir", "os.remove", "os.rmdir", "os.truncate", "os.chmod", "os.chown"}) | {
    "os.utime",
    "os.setxattr",
    "os.removexattr",
}
_BETWEEN: Final = frozenset({"os.rename", "os.link", "os.symlink"})
_STARTING: Final = frozenset({"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn"})
_SOCKETS: Final = frozenset({"socket.__new__", "socket.connect", "socket.bind", "socket.getaddrinfo"})
_WRITES: Final = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


def _refusing(folder: Path, *, network: bool, writing: bool) -> Callable[[str, tuple[object, ...]], None]:
    """Return the hook that refuses what the kernel does not."""
    root = os.path.realpath(folder)

    def refuse_elsewhere(path: object) -> None:
        if isinstance(path, str | bytes | os.PathLike):
            real = os.path.realpath(os.fsdecode(path))
            if real != os.devnull and os.path.commonpath([root, real]) != root:
                raise PermissionError(f"a worker writes to its own folder alone, not to {real}")

    def hook(event: str, given: tuple[object, ...]) -> None:
        if network and event in _SOCKETS:
            raise PermissionError("a worker reaches no network")
        if not writing:
            return
        if event in _STARTING:
            raise PermissionError("a worker starts no program")
        if (event == "open" and isinstance(given[2], int) and given[2] & _WRITES) or event in _CHANGING:
            refuse_elsewhere(given[0])
        elif event in _BETWEEN:
            refuse_elsewhere(given[0])
            refuse_elsewhere(given[1])

    return hook

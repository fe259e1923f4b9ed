"""Calls that a worker's kernel refuses whoever makes them, where neither Landlock nor a namespace sees to it.

A socket of the file system leads to other programs of the same user, which start whatever they are told to; and what a
file says of itself, such as who may read it, is not written to and is yet changed.
"""

from __future__ import annotations

import ctypes
import errno
import platform
from typing import Final

from msgspec import Struct

_FILTER: Final = 22
"""``PR_SET_SECCOMP``, and below its mode with a program (Linux, include/uapi/linux/prctl.h, seccomp.h)."""
_PROGRAM: Final = 2
_LOAD, _EQUAL, _AT_LEAST, _RETURN = 0x20, 0x15, 0x35, 0x06
"""Codes of the program's steps (Linux, include/uapi/linux/bpf_common.h)."""
_ALLOWED, _ANSWERED = 0x7FFF0000, 0x00050000
"""What a program returns: the call is made, or it is answered by an error (Linux, include/uapi/linux/seccomp.h)."""
_NUMBER, _MACHINE = 0, 4
"""Where in a call's record its number and its machine stand (the same)."""


class _Calls(Struct, frozen=True):
    """Numbers of calls on one machine: those refused, those that do nothing, and from which on others are meant."""

    machine: int
    refused: tuple[int, ...]
    idle: tuple[int, ...]
    others: int = 0xFFFFFFFF


_CALLS: Final = {
    # Linux, arch/x86/entry/syscalls/syscall_64.tbl: socket, ptrace, mount, bpf, perf_event_open, userfaultfd,
    # process_vm_writev, io_uring_setup; chmod, chown, utime, setxattr and removexattr in all their forms.
    "x86_64": _Calls(
        0xC000003E,
        (41, 101, 165, 321, 298, 323, 311, 425),
        (90, 91, 268, 452, 92, 93, 94, 260, 132, 235, 261, 280, 188, 189, 190, 197, 198, 199, 463, 466),
        0x40000000,
    ),
    # Linux, include/uapi/asm-generic/unistd.h: the same.
    "aarch64": _Calls(
        0xC00000B7,
        (198, 117, 40, 280, 241, 282, 271, 425),
        (52, 53, 452, 54, 55, 88, 5, 6, 7, 14, 15, 16, 463, 466),
    ),
}


class _Step(ctypes.Structure):
    _fields_ = (("code", ctypes.c_uint16), ("so", ctypes.c_uint8), ("else_", ctypes.c_uint8), ("k", ctypes.c_uint32))


class _Steps(ctypes.Structure):
    _fields_ = (("count", ctypes.c_uint16), ("steps", ctypes.POINTER(_Step)))


def refuse_calls(libc: ctypes.CDLL) -> bool:
    """Refuse them to this process and its children for good; return whether the kernel does. No privilege is gained."""
    calls = _CALLS.get(platform.machine())
    if calls is None:
        return False
    no, nothing = _ANSWERED | errno.EPERM, _ANSWERED
    steps = [(_LOAD, 0, 0, _MACHINE), (_EQUAL, 1, 0, calls.machine), (_RETURN, 0, 0, no), (_LOAD, 0, 0, _NUMBER)]
    steps += [(_AT_LEAST, 0, 1, calls.others), (_RETURN, 0, 0, no)]
    for numbers, answer in ((calls.refused, no), (calls.idle, nothing)):
        for number in numbers:
            steps += [(_EQUAL, 0, 1, number), (_RETURN, 0, 0, answer)]
    steps.append((_RETURN, 0, 0, _ALLOWED))
    made = (_Step * len(steps))(*(_Step(*step) for step in steps))
    program = _Steps(len(steps), ctypes.cast(made, ctypes.POINTER(_Step)))
    return bool(libc.prctl(_FILTER, _PROGRAM, ctypes.byref(program), 0, 0) == 0)

"""``trust``: what may run code, looked at once and known by its content."""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from capcheck.commands.command import Command
from capcheck.commands.output import deliver_text
from capcheck.commands.written_file import write_file
from capcheck.values import InputError

_PATIENCE_S: Final = 10.0


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files",
        nargs="*",
        type=Path,
        metavar="FILE",
        help="configuration, with every Python file that it names, or a Python file of rules or facts",
    )
    parser.add_argument("--forget", action="store_true", help="trust these files no more")
    parser.add_argument("--list", action="store_true", help="print what is trusted: hash and path")


def _trust(arguments: argparse.Namespace) -> int:
    from capcheck.shop import as_text, hash_of, read_trusted, trust_list

    if arguments.list:
        deliver_text(as_text(read_trusted()))
        return 0
    if not arguments.files:
        raise InputError.at("trust", "names no file", remedy="name a configuration or a Python file, or --list")
    files = {file.resolve(): hash_of(file) for named in arguments.files for file in _with_code(named)}
    with _alone():
        trusted = read_trusted()
        if arguments.forget:
            gone = {*files.values()}
            kept = {d: path for d, path in trusted.items() if d not in gone and Path(path) not in files}
            write_file(trust_list(), as_text(kept))
            deliver_text(f"forgotten: {len(trusted) - len(kept)}\n")
            return 0
        write_file(trust_list(), as_text(trusted | {digest: str(path) for path, digest in files.items()}))
    for file, digest in files.items():
        deliver_text(f"trusted: {file} (sha256 {digest})\n")
    return 0


def _with_code(path: Path) -> list[Path]:
    """Return a configuration with the Python files that it names, or a Python file. Raises :class:`InputError`."""
    from capcheck.engine import is_python
    from capcheck.shop import python_of, read_configuration

    if is_python(path):
        return [path]
    code = python_of(read_configuration(path))
    if not code:
        raise InputError.at(str(path), "names no Python file", "data need no trust")
    return [path, *code]


@contextmanager
def _alone() -> Iterator[None]:
    """Hold the list while it is read and written anew, so that of two commands at once neither is lost.

    Raises :class:`InputError` where another holds it for seconds, or its folder cannot be made.
    """
    from capcheck.shop import trust_list

    lock = trust_list().with_suffix(".lock")
    end = time.monotonic() + _PATIENCE_S
    try:
        lock.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        while not _taken(lock):
            if time.monotonic() > end:
                raise InputError.at(
                    str(lock), "is held by another command", "the list is written by one at a time", "delete it"
                )
            time.sleep(0.02)
    except OSError as error:
        raise InputError.at(str(lock.parent), f"cannot be written to: {error.strerror or error}") from None
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _taken(lock: Path) -> bool:
    try:
        os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return False
    return True


COMMANDS: Final = (
    Command(
        "trust", "let the Python files that a configuration names run, until one of them changes", _arguments, _trust
    ),
)

"""``trust``: what may run code, looked at once and known by its content."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command
from capcheck.commands.output import deliver_text
from capcheck.commands.written_file import write_file
from capcheck.values import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping


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
    from capcheck.shop import as_text, hash_of, read_trusted

    trusted = read_trusted()
    if arguments.list:
        deliver_text(as_text(trusted))
        return 0
    if not arguments.files:
        raise InputError.at("trust", "names no file", remedy="name a configuration or a Python file, or --list")
    files = {file.resolve(): hash_of(file) for named in arguments.files for file in _with_code(named)}
    if arguments.forget:
        gone = {*files.values()}
        kept = {d: path for d, path in trusted.items() if d not in gone and Path(path) not in files}
        _write(kept)
        deliver_text(f"forgotten: {len(trusted) - len(kept)}\n")
        return 0
    _write(trusted | {digest: str(path) for path, digest in files.items()})
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


def _write(trusted: Mapping[str, str]) -> None:
    from capcheck.shop import as_text, trust_list

    path = trust_list()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise InputError.at(str(path.parent), f"cannot be made: {error.strerror or error}") from None
    write_file(path, as_text(trusted))


COMMANDS: Final = (
    Command(
        "trust", "let the Python files that a configuration names run, until one of them changes", _arguments, _trust
    ),
)

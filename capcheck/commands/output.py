"""What a command puts out: the format is chosen, the text goes to the terminal or whole to a file."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.report import Line


class StyledLines(Protocol):
    """Makes the lines of a text for a width; its lists are cut short unless asked for in full."""

    def __call__(self, *, width: int, full: bool) -> list[Line]:
        """Return the lines."""


def add_format(parser: argparse.ArgumentParser, formats: Sequence[str] = ("text", "json")) -> None:
    """Add the choice of a format; the first is the default."""
    parser.add_argument("--format", choices=formats, default=formats[0], help=f"default: {formats[0]}")


def add_output(parser: argparse.ArgumentParser) -> None:
    """Add the choice of a file."""
    parser.add_argument("--output", metavar="FILE", type=Path, help="write to this file instead of standard output")


def add_full(parser: argparse.ArgumentParser) -> None:
    """Add the choice to cut no list short."""
    parser.add_argument("--full", action="store_true", help="cut no list short")


def deliver(content: str | bytes, output: Path | None = None) -> None:
    """Write a finished text or file to *output*, whole or not at all, or to standard output."""
    if output is not None:
        write_file(output, content)
    elif isinstance(content, str):
        sys.stdout.write(content)
    elif sys.stdout.isatty():
        raise InputError.at("--format", "is a workbook and would fill the terminal", remedy="name --output FILE")
    else:
        sys.stdout.buffer.write(content)


def deliver_json(data: object, output: Path | None = None) -> None:
    """Write data as JSON; structs may stand in it."""
    from capcheck.report import json_text

    deliver(json_text(data), output)


def deliver_lines(styled: StyledLines, arguments: argparse.Namespace) -> None:
    """Write lines made for a width and in full or not: in colour on a terminal, plain and in full elsewhere.

    Lists are cut short on a terminal only, where more can be asked for.
    """
    if arguments.output is None and sys.stdout.isatty():
        from capcheck.commands.terminal import write_lines

        write_lines(styled(width=width_for(None), full=arguments.full))
    else:
        from capcheck.report import plain

        deliver(plain(styled(width=width_for(arguments.output), full=True)), arguments.output)


def width_for(output: Path | None) -> int:
    """Return the width to wrap at: the terminal's, within reason, where the text goes there, else a fixed one."""
    if output is not None or not sys.stdout.isatty():
        from capcheck.report import WIDTH_WHEN_PIPED

        return WIDTH_WHEN_PIPED
    import shutil

    return max(40, min(shutil.get_terminal_size().columns, 140))


def write_file(path: Path, content: str | bytes) -> None:
    """Write *content* to *path* whole or not at all; texts as UTF-8. Raises :class:`InputError`."""
    temporary = path.parent / f".{path.name}.{os.getpid()}.tmp"
    try:
        temporary.write_bytes(content.encode() if isinstance(content, str) else content)
        temporary.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink()
        reason = f"cannot be written: {error.strerror or error}"
        raise InputError.at(str(path), reason, remedy="name a file in a folder that is there") from None

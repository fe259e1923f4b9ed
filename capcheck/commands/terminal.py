"""Lines with a style to a stream: coloured on a terminal, plain where piped."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TextIO

from capcheck.report import WIDTH_WHEN_PIPED, Line

_STYLES = {"fail": "bold red", "warn": "bold yellow", "pass": "bold green", "head": "bold", "dim": "dim"}


def width_of(stream: TextIO) -> int:
    """Return the width to wrap at: the terminal's, within reason, or a fixed one where piped."""
    if not stream.isatty():
        return WIDTH_WHEN_PIPED
    import shutil

    return max(40, min(shutil.get_terminal_size().columns, 140))


def write_lines(lines: Iterable[Line], stream: TextIO | None = None) -> None:
    """Write lines to *stream* (standard output). Texts are data: nothing in them is taken for markup."""
    stream = stream or sys.stdout
    if not stream.isatty():
        stream.write("".join(f"{line.text}\n" for line in lines))
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(file=stream, highlight=False, markup=False, emoji=False, soft_wrap=True)
    for line in lines:
        console.print(Text(line.text, style=_STYLES.get(line.style, "")))

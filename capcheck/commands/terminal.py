"""Lines in colour on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import Final

from capcheck.report import Line

_STYLES: Final = {
    "fail": "bold red",
    "warn": "bold yellow",
    "pass": "bold green",
    "unanswered": "bold red",
    "head": "bold",
    "dim": "dim",
}


def write_lines(lines: Iterable[Line]) -> None:
    """Write lines to standard output with their styles. Texts are data: nothing in them is taken for markup."""
    from rich.console import Console
    from rich.text import Text

    console = Console(file=sys.stdout, highlight=False, markup=False, emoji=False, soft_wrap=True)
    for line in lines:
        console.print(Text(line.text, style=_STYLES.get(line.style, "")))

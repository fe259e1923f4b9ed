"""A foreign file's bytes, where it has no more than any board would need: that is counted before it is read."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.values import InputError

_LINE_ENDS: Final = b"\n\r\x0b\x0c\x1c\x1d\x1e\x85"
"""What ends a line of Latin text, as ``str.splitlines`` has it."""
_MB: Final = 1024 * 1024


def lines_within_budget(file: str, remedy: str) -> list[str]:
    """Return the lines of a netlist or of IDF, as Latin text. Raises :class:`InputError` where no board has so many."""
    data = bytes_within(file, megabytes=16, marks=_LINE_ENDS, most=300_000, things="lines", remedy=remedy)
    return data.decode("latin-1").splitlines()


def bytes_within(file: str, *, megabytes: int, marks: bytes, most: int, things: str, remedy: str) -> bytes:
    """Return a file's bytes. Raises :class:`InputError` where it is larger, or has more than *most* of some *marks*.

    *things* is what one of these bytes ends: a line, a command. Reading them takes far longer than counting does.
    """
    data = Path(file).read_bytes()
    if len(data) > megabytes * _MB:
        raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no board's file is so long", remedy)
    if len(data) - len(data.translate(None, marks)) > most:
        raise InputError.at(file, f"it has more than {most:,} {things}", "no board's file has so many", remedy)
    return data

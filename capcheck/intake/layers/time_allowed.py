"""How long a layer may take to be read: by its commands, and no more of them than a board has."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.intake.confined import SharedTime

_SECONDS_A_MEGABYTE: Final = 0.9
"""Copper of 2.8 MB of a public board takes 1.8 s, and took 3.6 s on a busy machine; it may take 4.0 s."""
_SECONDS_A_BOARD: Final = 8.0
"""For all layers of a board together, of which a folder may hold any number: the most of 33 real boards take 1.1 s."""
_SECONDS_A_COMMAND: Final = 18e-6
"""What is long without many commands, as by comments, gets no time for its length: the copper has 16 bytes for each."""
LARGEST: Final = 24 * 1024 * 1024
"""Bytes of one layer: a larger one is refused unread."""
MOST_COMMANDS: Final = 200_000
"""Commands of one layer: the most of 32 real boards are the 174,000 of copper."""

MOST_COMMANDS_MERGED: Final = 80_000
"""Commands of a mask or a paste, which are merged: the most of 65 large layers of real boards are the 29,000 of a mask,
which takes 0.26 s."""


def time_of_a_board() -> SharedTime:
    """Return the processor time that the layers of one board may take together."""
    return SharedTime(_SECONDS_A_BOARD)


def seconds_a_megabyte(file: Path) -> float:
    """Return the processor time in s that reading a megabyte of a layer may take, by the commands that it has."""
    try:
        with file.open("rb") as stream:
            content = stream.read(LARGEST)
    except OSError:  # said when it is read
        return _SECONDS_A_MEGABYTE
    commands = min(content.count(b"*"), MOST_COMMANDS)
    return min(_SECONDS_A_MEGABYTE, _SECONDS_A_COMMAND * commands / max(len(content) / 1e6, 1e-6))

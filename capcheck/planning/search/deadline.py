"""One end for all searches of a command: sides, boards, lines, compositions and changes share it."""

from __future__ import annotations

import math
import time
from typing import Final, Self

from msgspec import Struct

_A_MOMENT: Final = 0.1
"""Seconds that a search gets where no time is left, so that simple questions are answered all the same."""


class Deadline(Struct, frozen=True):
    """A moment on the process's clock at which searching ends."""

    end: float

    @classmethod
    def after(cls, seconds: float) -> Self:
        """Return the deadline that is so many seconds away."""
        return cls(time.monotonic() + seconds)

    @property
    def left(self) -> float:
        """Seconds left, 0 where it has passed."""
        return max(0.0, self.end - time.monotonic())

    @property
    def passed(self) -> bool:
        """Whether no time is left."""
        return self.left <= 0.0

    def seconds(self, share: float = 1.0, *, at_most: float = math.inf) -> float:
        """Return the seconds that one search gets: a share of what is left, but always a moment."""
        return max(_A_MOMENT, min(share * self.left, at_most))

    def part(self, share: float) -> Deadline:
        """Return an earlier deadline that leaves time for what comes after."""
        return Deadline.after(share * self.left)

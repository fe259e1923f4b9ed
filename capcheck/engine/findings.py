"""What a rule has to say about one subject, as data."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from capcheck.values import Dimension, show, shown_unit


class SubjectName(Struct, frozen=True):
    """What a finding is about. Everything but *kind* is None where it does not apply."""

    kind: str
    ref: str | None = None
    machine: str | None = None
    head: str | None = None
    side: str | None = None

    def __str__(self) -> str:
        """Return the subject as one phrase: ``L3 on Machine / Head``."""
        device = " / ".join(name for name in (self.machine, self.head) if name)
        own = self.ref or (f"{self.side} side" if self.side else self.kind.split(" on ")[0])
        return f"{own} on {device}" if device else own


class FactValue(Struct, frozen=True):
    """A fact's value for one subject: an interval in the canonical unit, or a text; with its source."""

    name: str
    low: float | None
    high: float | None
    text: str | None
    dimension: Dimension | None
    source: str

    @property
    def unit(self) -> str:
        """The unit as reports print it; empty for plain numbers and texts."""
        return shown_unit(self.dimension) if self.dimension is not None else ""

    @property
    def is_exact(self) -> bool:
        """Whether only one value is possible."""
        return self.text is not None if self.dimension is None else self.low == self.high

    @property
    def is_unknown(self) -> bool:
        """Whether nothing is known: no text, or no upper and no positive lower bound."""
        if self.dimension is None or self.low is None or self.high is None:
            return self.text is None
        return self.high == math.inf and self.low <= 0

    def __str__(self) -> str:
        """Return the value for a reader; ``unknown`` where nothing is known."""
        if self.dimension is None or self.low is None or self.high is None:
            return self.text if self.text is not None else "unknown"
        return show(self.low, self.high, self.dimension)


class Margin(Struct, frozen=True):
    """The distance to a limit, as an interval in the canonical unit: negative where the limit is passed."""

    low: float
    high: float
    dimension: Dimension
    comparison: str

    def __str__(self) -> str:
        """Return the margin for a reader."""
        return show(self.low, self.high, self.dimension)


class Finding(Struct, frozen=True):
    """One answer that is not a pass.

    *undecided* findings are warnings: the facts do not decide the rule, and *missing* names the facts that are
    unknown or too wide. *group* is what findings are gathered by in a report, such as a part number.
    """

    rule: str
    title: str
    outcome: Literal["warn", "fail"]
    undecided: bool
    subject: SubjectName
    facts: tuple[FactValue, ...]
    margin: Margin | None
    message: str
    remedy: str
    file: str | None
    row: int | None
    missing: tuple[str, ...]
    group: str
    waived: bool = False
    waiver: str = ""
    """Reason, name and end of the waiver."""
    baseline: Literal["", "new", "worse", "unchanged"] = ""
    """How it stands to an earlier report; empty if there is none to compare with."""


class Tightest(Struct, frozen=True):
    """The subject that comes closest to one limit of a rule among those that pass."""

    rule: str
    comparison: str
    margin: Margin
    subject: SubjectName
    facts: tuple[FactValue, ...]

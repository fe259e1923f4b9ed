"""The tightest margins as bars: for each limit the tightest margin as a share of the larger side compared."""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.lexicon import plain_fact
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.sentences import closest
from capcheck.values import NUMBER, signed

_LEAST: Final = -50.0
_MOST: Final = 100.0


class Bar(Struct, frozen=True):
    """One limit: *share* is the margin in percent of the larger side compared, negative where the limit is passed."""

    rule: str
    subject: str
    margin: str
    values: str
    share: float
    rows: tuple[int, ...]

    @property
    def is_broken(self) -> bool:
        """Whether the limit is passed."""
        return self.share < 0

    @property
    def percent(self) -> str:
        """The share for a reader."""
        return signed(f"{round(self.share, 2) + 0.0:.3g} %")

    @property
    def start(self) -> float:
        """Where the bar begins, in percent from −50 to 100."""
        return round(max(min(self.share, 0.0), _LEAST), 1)

    @property
    def length(self) -> float:
        """How long the bar is."""
        return round(min(max(self.share, 0.0), _MOST) - self.start, 1)


def bars(report: Report, rows: RowsOfSubjects) -> list[Bar]:
    """Return the worst of each limit that is passed, then the tightest of each that holds; the worst first."""
    broken: dict[str, Bar] = {}
    for finding in report.findings:
        bar = None if finding.waived or finding.undecided else _broken(finding, rows)
        if bar is not None and (finding.rule not in broken or bar.share < broken[finding.rule].share):
            broken[finding.rule] = bar
    held = [
        Bar(
            rule=c.tightest.rule,
            subject=str(c.tightest.subject),
            margin=str(c.tightest.margin),
            values=c.values,
            share=100.0 * c.share,
            rows=rows.of_subject(c.tightest.subject),
        )
        for c in closest(report)
    ]
    return [*sorted(broken.values(), key=lambda b: b.share), *held]


def _broken(finding: Finding, rows: RowsOfSubjects) -> Bar | None:
    margin = finding.margin
    if margin is None or margin.dimension is NUMBER or not math.isfinite(margin.low) or margin.low >= 0:
        return None
    return Bar(
        rule=finding.rule,
        subject=str(finding.subject),
        margin=str(margin),
        values=" and ".join(f"{plain_fact(v.name)} {v}" for v in finding.facts[:2]),
        share=100.0 * margin.share,
        rows=rows.of_subject(finding.subject),
    )

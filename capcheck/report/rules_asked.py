"""Which rules were asked, how often each applied, and why one never did: what applies to nothing proves nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.engine import Counts, Rule

_SEARCHED: Final = "pair"
"""The subject of which a board may have none at all: that none was found counts as a pass, and is no application."""


class AskedRule(Struct, frozen=True):
    """A rule with its counts; *never* is why it was not applied to anything, empty where it was."""

    rule: Rule
    counts: Counts
    never: str

    @property
    def told(self) -> str:
        """The counts that are not zero, in words: ``120 pass, 2 undecided, 104 not applicable``."""
        counts = self.counts
        every = (
            (counts.broken, self.rule.outcome),
            (counts.undecided, "undecided"),
            (counts.passed, "pass"),
            (counts.not_applicable, "not applicable"),
        )
        return ", ".join(f"{number} {word}" for number, word in every if number)


def rules_asked(report: Report) -> list[AskedRule]:
    """Return every rule of the run, in the order of its files."""
    answers = report.answers
    lacking = {rule: what for what, rules in answers.skipped.items() for rule in rules}
    broken = dict(answers.broken_rules)
    asked = []
    for rule in answers.rules:
        counts = answers.counts[rule.id]
        if rule.id in broken:
            never = f"it could not be answered: {broken[rule.id]}"
        elif rule.id in lacking:
            never = f"no {lacking[rule.id]} was given"
        else:
            never = _never(rule, counts)
        asked.append(AskedRule(rule, counts, never))
    return asked


def _never(rule: Rule, counts: Counts) -> str:
    """Return why a rule whose inputs are there was not applied, or nothing where it was."""
    found = counts.broken + counts.undecided + counts.passed
    if counts.none_found and rule.subject.name == _SEARCHED:
        found -= counts.passed
    if found:
        return ""
    subject = rule.subject.name
    if not counts.not_applicable:
        return f"there is no {subject} here"
    if rule.for_others:
        return "no other answer waits for what it asks"
    when = " ".join(rule.entry.when.split())
    of = f" (of {counts.not_applicable})" if counts.not_applicable > 1 else ""
    return f"no {subject}{of} for which {when}" if when else f"no {subject}{of} to which it applies"


def never_applied(asked: Sequence[AskedRule]) -> list[tuple[str, list[str]]]:
    """Return the reasons for which rules were never applied, each with the ids of its rules."""
    by_reason: dict[str, list[str]] = {}
    for item in asked:
        if item.never:
            by_reason.setdefault(item.never, []).append(item.rule.id)
    return list(by_reason.items())


def asked_in_short(asked: Sequence[AskedRule]) -> str:
    """Return the numbers as a heading: ``Rules: 123 asked, 98 applied, 25 never applied``."""
    never = sum(bool(item.never) for item in asked)
    return f"Rules: {len(asked)} asked, {len(asked) - never} applied, {never} never applied"

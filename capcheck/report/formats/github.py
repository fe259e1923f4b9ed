"""The findings as workflow commands, which a hosted CI shows beside the lines of the files.

Such a CI shows the first ten of a kind and step; the log holds all of them. The commands are described in the
service's public documentation of workflow commands.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.checking import Report, files_of, names_for_others, renamed
from capcheck.engine import Finding
from capcheck.lexicon import sentence
from capcheck.report.sentences import count_line, line_of_finding
from capcheck.shop import outcome_word
from capcheck.values import visible

HELP: Final = "workflow commands that a hosted CI shows beside the lines of the files"

_MOST: Final = 10
"""So many annotations of a level and step are shown: the service's documentation of workflow commands (from memory)."""
_IN_TEXT: Final = (("%", "%25"), ("\r", "%0D"), ("\n", "%0A"))
_IN_VALUE: Final = (*_IN_TEXT, (":", "%3A"), (",", "%2C"))


def render(report: Report) -> str:
    """Return the worst findings of each level as annotations (waived ones as notices), and a notice with the counts.

    Of a level there are at most ten, of which the last counts those that are left: they follow as lines of the log.
    Findings that wait for another are named by that one.
    """
    names = names_for_others(files_of(report))
    unanswered = [_command("error", {"title": "capcheck: not answered"}, sentence(why)) for why in report.unanswered]
    shown: list[str] = []
    left: list[Finding] = []
    for level, before in (("error", len(unanswered)), ("warning", 0), ("notice", 1)):
        own = sorted((f for f in report.findings if _level(f) == level and f.waits_for is None), key=_gravity)
        room = max(_MOST - before, 1)
        kept = own if len(own) <= room else own[: room - 1]
        shown += [_annotation(finding, names) for finding in kept]
        if rest := own[len(kept) :]:
            shown.append(_command(level, {"title": "capcheck"}, _counted(rest)))
            left += rest
    lines = [*shown, *unanswered, *(renamed(_in_log(finding), names) for finding in left)]
    lines.append(_command("notice", {"title": "capcheck"}, count_line(report)))
    return "".join(f"{line}\n" for line in lines)


def _level(finding: Finding) -> str:
    return "notice" if finding.waived else "error" if finding.outcome == "fail" else "warning"


def _gravity(finding: Finding) -> bool:
    """Return the place among findings of one level: what is violated stands before what is undecided."""
    return finding.undecided


def _counted(rest: Sequence[Finding]) -> str:
    """Return how many are left of a level: ``12 more warnings (3 undecided), in the log of this step``."""
    words = Counter(outcome_word(finding) for finding in rest)
    return f"{len(rest)} more in the log of this step: {', '.join(f'{n} {word}' for word, n in words.items())}"


def _in_log(finding: Finding) -> str:
    """Return a finding as a line that is no command, whatever the customer's texts hold."""
    return f"- {visible(line_of_finding(finding)).replace('##[', '## [')}"


def _annotation(finding: Finding, names: Mapping[str, str]) -> str:
    word = " (waived)" if finding.waived else " (undecided)" if finding.undecided else ""
    values = {"title": f"{finding.rule}{word}"}
    if (place := finding.place) is not None:
        row = {"line": str(place.row)} if place.row else {}
        values = {"file": names.get(place.file, place.file), **row, **values}
    text = f"{finding.message} → {finding.remedy}" if not finding.waived else f"{finding.message} ({finding.waiver})"
    return _command(_level(finding), values, text)


def _command(level: str, values: dict[str, str], text: str) -> str:
    listed = ",".join(f"{key}={_escaped(value, _IN_VALUE)}" for key, value in values.items())
    return f"::{level} {listed}::{_escaped(text, _IN_TEXT)}"


def _escaped(text: str, pairs: tuple[tuple[str, str], ...]) -> str:
    for character, code in pairs:
        text = text.replace(character, code)
    return visible(text)

"""The findings as workflow commands, which a hosted CI shows beside the lines of the files.

Such a CI shows the first ten of a kind and step; the log holds all of them. The commands are described in the
service's public documentation of workflow commands.
"""

from __future__ import annotations

from typing import Final

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.lexicon import sentence
from capcheck.report.sentences import count_line
from capcheck.values import visible

HELP: Final = "workflow commands that a hosted CI shows beside the lines of the files"

_IN_TEXT: Final = (("%", "%25"), ("\r", "%0D"), ("\n", "%0A"))
_IN_VALUE: Final = (*_IN_TEXT, (":", "%3A"), (",", "%2C"))


def render(report: Report) -> str:
    """Return an annotation for each finding (waived ones as notices), and a notice with the counts at the end.

    Findings that wait for another are named by that one.
    """
    lines = [_annotation(finding) for finding in report.findings if finding.waits_for is None]
    lines += [_command("error", {"title": "capcheck: not answered"}, sentence(why)) for why in report.unanswered]
    lines.append(_command("notice", {"title": "capcheck"}, count_line(report)))
    return "".join(f"{line}\n" for line in lines)


def _annotation(finding: Finding) -> str:
    level = "notice" if finding.waived else "error" if finding.outcome == "fail" else "warning"
    word = " (waived)" if finding.waived else " (undecided)" if finding.undecided else ""
    values = {"title": f"{finding.rule}{word}"}
    if (place := finding.place) is not None:
        values = {"file": place.file, **({"line": str(place.row)} if place.row else {}), **values}
    text = f"{finding.message} → {finding.remedy}" if not finding.waived else f"{finding.message} ({finding.waiver})"
    return _command(level, values, text)


def _command(level: str, values: dict[str, str], text: str) -> str:
    listed = ",".join(f"{key}={_escaped(value, _IN_VALUE)}" for key, value in values.items())
    return f"::{level} {listed}::{_escaped(text, _IN_TEXT)}"


def _escaped(text: str, pairs: tuple[tuple[str, str], ...]) -> str:
    for character, code in pairs:
        text = text.replace(character, code)
    return visible(text)

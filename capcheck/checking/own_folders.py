"""Files by the names under which others know them: outputs that leave the shop tell nothing of its own disk."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from capcheck.checking.report import Report
from capcheck.engine import FactValue, Finding
from capcheck.model import Said
from capcheck.values import pattern

_ARCHIVE: Final = pattern(r"\.(zip|7z|tar|tgz|tbz2?|txz|gz|bz2|xz)$")
"""The endings of files that may hold others: a member is named with the archive that it came in."""


def files_of(report: Report) -> set[str]:
    """Return every file that a report may name."""
    board = report.board
    records = (report.notes, report.findings, board.set_aside, board.notes, board.decisions, board.discrepancies)
    places = {record.place.file for some in records for record in some if record.place is not None}
    return {*places, *board.placements.files, *(file.path for file in (*report.inputs, *board.inputs))}


def names_for_others(files: Iterable[str]) -> dict[str, str]:
    """Return each of *files* that would tell of our own disk with a name that does not, the longest first.

    What lies below the working directory is named from there, so that a viewer or a forge finds it; anything else by
    its own name, with as many folders before it as tell it apart from the others.
    """
    names: dict[str, str] = {}
    outside: dict[str, list[str]] = {}
    for file in dict.fromkeys(filter(None, files)):
        way = os.path.normpath(file).replace("\\", "/")
        if Path(way).is_absolute():
            below = os.path.relpath(way).replace("\\", "/")
            way = way if below.startswith("../") else below
        if way.startswith("../") or _is_whole(way):
            outside[file] = [step for step in way.split("/") if step not in {"", ".."}]
        elif way != file:
            names[file] = way
    names |= {file: _tail(steps, list(outside.values())) for file, steps in outside.items()}
    return dict(sorted(names.items(), key=lambda item: -len(item[0])))


def renamed(text: str, names: Mapping[str, str], spelled: Callable[[str], str] = str) -> str:
    """Return a text with the *names* of :func:`names_for_others`; *spelled* writes file and name as the text does."""
    for file, name in names.items():
        text = text.replace(spelled(file), spelled(name))
    return text


def findings_for_others(report: Report) -> Sequence[Finding]:
    """Return the findings of a report whose texts tell nothing of our own disk.

    Where a finding's subject stands stays whole: an editor opens it.
    """
    names = names_for_others(files_of(report))
    return [_for_others(finding, names) for finding in report.findings] if names else report.findings


def _for_others(finding: Finding, names: Mapping[str, str]) -> Finding:
    facts, shown = (tuple(_told(value, names) for value in values) for values in (finding.facts, finding.shown))
    return finding if (facts, shown) == (finding.facts, finding.shown) else replace(finding, facts=facts, shown=shown)


def _told(value: FactValue, names: Mapping[str, str]) -> FactValue:
    text = value.text and renamed(value.text, names)
    source = renamed(value.source, names) if isinstance(value.source, str) else value.source
    note = None if value.note is None else _said(value.note, names)
    changed = (text, source, note) != (value.text, value.source, value.note)
    return replace(value, text=text, source=source, note=note) if changed else value


def _said(said: Said, names: Mapping[str, str]) -> Said:
    return Said(said.key, {key: _within(value, names) for key, value in said.values.items()})


def _within(value: object, names: Mapping[str, str]) -> object:
    if isinstance(value, Said):
        return _said(value, names)
    if isinstance(value, list | tuple):
        return type(value)(_within(one, names) for one in value)
    return renamed(value, names) if isinstance(value, str) else value


def _is_whole(way: str) -> bool:
    return way.startswith("/") or way[1:3] == ":/"


def _tail(steps: list[str], every: list[list[str]]) -> str:
    """Return the last steps of a way: from an archive on, and as many as no other way ends with."""
    packed = next((at for at, step in enumerate(steps[:-1]) if _ARCHIVE.search(step.lower())), len(steps) - 1)
    others = [other for other in every if other != steps]
    least = range(len(steps) - packed, len(steps) + 1)
    count = next((n for n in least if all(other[-n:] != steps[-n:] for other in others)), len(steps))
    return "/".join(steps[-count:])

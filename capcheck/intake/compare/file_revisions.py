"""Whether the files of a board are of one revision, as far as their names and the lines above their tables tell."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from capcheck.lexicon import Words, unaccented, vocabulary
from capcheck.model import Discrepancy, Note, Topic, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.tables import Table


def _any_of(words: Words) -> str:
    """Return a pattern of words behind which a letter may follow at once, as in ``RevB``."""
    return "|".join(map(re.escape, sorted(words.spelt, key=len, reverse=True)))


_REVISION: Final = pattern(
    lambda: (
        rf"(?i)(?<![^\W_])(?:{_any_of(vocabulary().lines.revision)}|({_any_of(vocabulary().lines.issue)}))[\s._:=#-]{{0,3}}"
        r"(\d{1,3}(?:[._]\d{1,3}){0,2}[a-z]?|(?(1)(?-i:[A-Z])|[a-z])\d{0,2})(?![^\W_])"
    )
)
"""After "issue", an ordinary word too, a letter must be a capital: ``an issue a week before`` names none."""
_VERSION: Final = pattern(r"(?i)(?<![^\W_])(?:v|ver|version)[\s._-]?(\d{1,3}(?:[._]\d{1,3}){0,2})(?![^\W_])")
"""Looked for in names of files only: above a table it is mostly the version of the program that wrote it."""
_DATE: Final = pattern(r"(?<!\d)(20\d\d)-?([01]\d)-?([0-3]\d)(?!\d)")
_MONTH_DAYS: Final = 31


def _mentions(files: Iterable[str], tables: Sequence[Table]) -> Iterator[tuple[str, str]]:
    """Yield file and text of each place that may name a revision: the files' names and what stands above tables."""
    for file in files:
        yield file, PurePath(file).stem
    for table in tables:
        for _, text in table.preamble:
            yield table.file, text


def different_revisions(files: Iterable[str], tables: Sequence[Table]) -> list[Discrepancy]:
    """Return one record of revisions that differ between the files; none where fewer than two are named."""
    mentions = list(_mentions(files, tables))
    if len({file for file, _ in mentions}) < 2:
        return []
    revisions: dict[str, dict[str, None]] = defaultdict(dict)
    versions: dict[str, dict[str, None]] = defaultdict(dict)
    for file, text in mentions:
        for match in _REVISION.finditer(unaccented(text)):
            revisions[_plain(match[2])][file] = None
        if text == PurePath(file).stem:
            for match in _VERSION.finditer(text):
                versions[_plain(match[1])][file] = None
    differing = []
    for key, named in (("compare.revisions", revisions), ("compare.versions", versions)):
        if len(named) > 1 and len({file for at in named.values() for file in at}) > 1 and not _shared(named):
            shown = [
                say("compare.named in", value=value, files=[PurePath(file).name for file in at])
                for value, at in named.items()
            ]
            differing.append(Discrepancy(Topic.REVISION, say(key, shown=shown)))
    return differing


def split_revision(name: str) -> tuple[str, tuple[tuple[int, str], ...]]:
    """Return the name of a file without its revision or version, and that as a key by which the later is greater."""
    stem = unaccented(PurePath(name).stem)
    match, group = next(
        ((m, g) for found, g in ((_REVISION, 2), (_VERSION, 1)) if (m := found.search(stem)) is not None), (None, 0)
    )
    if match is None:
        return _without_marks(stem), ()
    parts = tuple((int(part), "") if part.isdigit() else (0, part) for part in _plain(match[group]).split("."))
    return _without_marks(stem[: match.start()] + stem[match.end() :]), parts


def _without_marks(stem: str) -> str:
    return re.sub(r"[\W_]+", "", stem).casefold()


def _plain(value: str) -> str:
    """Return a revision without what spelling adds: ``01`` is 1, ``1.0`` is 1, ``b`` is B."""
    parts = [part.lstrip("0") or "0" for part in value.upper().replace("_", ".").split(".")]
    while len(parts) > 1 and parts[-1] == "0":
        parts.pop()
    return ".".join(parts)


def _shared(named: dict[str, dict[str, None]]) -> bool:
    """Whether all files name one revision in common, besides which some name another, such as their own."""
    files = {file for at in named.values() for file in at}
    return any(set(at) == files for at in named.values())


def dates_apart(files: Iterable[str], tables: Sequence[Table]) -> list[Note]:
    """Return a note where the files carry dates more than a month apart; the form year, month, day only is certain."""
    dated: dict[str, str] = {}
    for file, text in _mentions(files, tables):
        for year, month, day in _DATE.findall(text):
            if 1 <= int(month) <= 12 and 1 <= int(day) <= _MONTH_DAYS:
                dated[file] = max(dated.get(file, ""), f"{year}-{month}-{day}")
    if len(dated) < 2 or not _far_apart(min(dated.values()), max(dated.values())):
        return []
    by_date = sorted(dated.items(), key=lambda d: d[1])
    shown = [say("compare.file and date", file=PurePath(file).name, date=date) for file, date in by_date]
    return [Note(say("compare.dates apart", shown=shown))]


def _far_apart(one: str, two: str) -> bool:
    days = [int(d[:4]) * 372 + int(d[5:7]) * _MONTH_DAYS + int(d[8:]) for d in (one, two)]
    return days[1] - days[0] > _MONTH_DAYS

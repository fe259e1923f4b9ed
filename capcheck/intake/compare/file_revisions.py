"""Whether the files of a board are of one revision, as far as their names and the lines above their tables tell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import plain_revision, revisions_in, versions_in
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Discrepancy, Note, Said, SetAside, Topic, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.tables import Table


_DATE: Final = pattern(r"(?<!\d)(20\d\d)-?([01]\d)-?([0-3]\d)(?!\d)")
_LETTER: Final = r"[^\W_\u3040-\u30ff\u3400-\u9fff\uac00-\ud7a3]"
"""A letter or a figure of a script that parts its words; in Chinese, Japanese and Korean one stands beside another."""
_PROVISIONAL: Final = pattern(lambda: rf"(?<!{_LETTER}){vocabulary().lines.provisional}(?!{_LETTER})")
_BOARD: Final = pattern(lambda: rf"[#;/*\s]*{vocabulary().lines.board_name}\s*[:=：]\s*(?P<name>[^\W\d_].{{1,80}})")
_OF_A_SHEET: Final = "bom.row of a sheet"
"""Rows of a sheet that lists no parts: what it says of drafts is the history of the list."""
_MONTH_DAYS: Final = 31
_FEW_WORDS: Final = 6
_LONGEST_LINE: Final = 200


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
        for stated in revisions_in(text):
            revisions[plain_revision(stated)][file] = None
        for stated in versions_in(text) if text == PurePath(file).stem else ():
            versions[plain_revision(stated)][file] = None
    differing = []
    for key, named in (("compare.revisions", revisions), ("compare.versions", versions)):
        if len(named) > 1 and len({file for at in named.values() for file in at}) > 1 and not _shared(named):
            shown = [
                say("compare.named in", value=value, files=[PurePath(file).name for file in at])
                for value, at in named.items()
            ]
            differing.append(Discrepancy(Topic.REVISION, say(key, shown=shown)))
    return differing + _different_boards(tables)


def _different_boards(tables: Sequence[Table]) -> list[Discrepancy]:
    """Return one record of the boards that lines above the tables name, where no name holds the other."""
    named: dict[str, str] = {}
    for table in tables:
        for _, text in table.preamble:
            if found := _BOARD.match(fold(text)):
                named.setdefault(table.file, found["name"])
    plain = {file: _letters(_without_revisions(name)) for file, name in named.items()}
    names = sorted({name for name in plain.values() if name}, key=len)
    if all(name.startswith(names[0]) for name in names):
        return []
    shown = [say("compare.named in", value=name.strip(), files=[PurePath(file).name]) for file, name in named.items()]
    return [Discrepancy(Topic.REVISION, say("compare.board names", shown=shown))]


def _without_revisions(name: str) -> str:
    """Return a name up to the revision behind it."""
    for revision in revisions_in(name):
        name = name[: name.rfind(revision)]
    return name


def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, text))


def _shared(named: dict[str, dict[str, None]]) -> bool:
    """Whether all files name one revision in common, besides which some name another, such as their own."""
    files = {file for at in named.values() for file in at}
    return any(set(at) == files for at in named.values())


def _says_provisional(folded: str) -> bool:
    return vocabulary().lines.provisional.may_stand_in(folded) and _PROVISIONAL.search(folded) is not None


def begins_provisional(text: str) -> bool:
    """Whether a line begins by saying that something is not to be built from yet: ``Superseded by revision C``.

    A line of a few words may end so too, ``Data not released``, and one without blanks says so anywhere.
    """
    folded = fold(text[:_LONGEST_LINE].lstrip(" #*=-_>!"))
    if not vocabulary().lines.provisional.may_stand_in(folded):
        return False
    bare = folded.rstrip(" .!)")
    words = len(bare.split())
    said = _PROVISIONAL.finditer(bare) if words <= _FEW_WORDS else ()
    return any(words == 1 or m.end() == len(bare) for m in said) or _PROVISIONAL.match(folded) is not None


def provisional(files: Iterable[str], tables: Sequence[Table], set_aside: Iterable[SetAside]) -> list[Discrepancy]:
    """Return one record of the files that say by name, or beside their rows, that they are not to be built from yet."""
    mentions = [
        *_mentions(files, tables),
        *((table.file, table.sheet) for table in tables if table.sheet),
        *(
            (row.place.file, row.text)
            for row in set_aside
            if not (isinstance(row.reason, Said) and row.reason.key == _OF_A_SHEET)
        ),
    ]
    said = {(file, text): None for file, text in mentions if _says_provisional(fold(text.replace("_", " ")))}
    if not said:
        return []
    told = say(
        "compare.provisional",
        texts=list(dict.fromkeys(text for _, text in said)),
        files=list(dict.fromkeys(PurePath(file).name for file, _ in said)),
    )
    return [Discrepancy(Topic.REVISION, told)]


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

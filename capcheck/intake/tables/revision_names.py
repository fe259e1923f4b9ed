"""Which of two names is that of the newer file or sheet: by revision, version, date, or a word such as "old"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePath
from typing import Final

from capcheck.lexicon import Words, fold, unaccented, vocabulary
from capcheck.values import pattern


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
_PART: Final = pattern(r"(\d*)([A-Z]*)")
_DATES: Final = (
    pattern(r"(?<!\d)(?P<y>20\d\d)(?P<s>[-._]?)(?P<m>0[1-9]|1[0-2])(?P=s)(?P<d>[0-2]\d|3[01])(?!\d)"),
    pattern(r"(?<!\d)(?P<d>[0-2]\d|3[01])\.(?P<m>0[1-9]|1[0-2])\.(?P<y>20\d\d)(?!\d)"),
    pattern(r"(?<![^\W_])(?P<y>2\d)(?P<m>0[1-9]|1[0-2])(?P<d>[0-2]\d|3[01])(?![^\W_])"),
)
_OLD: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().lines.old}(?![0-9a-z])")
_NEW: Final = pattern(lambda: f"(?<![0-9a-z]){vocabulary().lines.new}(?![0-9a-z])")
_Key = tuple[tuple[int, str], ...]


def revisions_in(text: str) -> list[str]:
    """Return the revisions that a text names, as it writes them."""
    return [match[2] for match in _REVISION.finditer(unaccented(text))]


def versions_in(name: str) -> list[str]:
    """Return the versions that the name of a file or sheet names."""
    return [match[1] for match in _VERSION.finditer(name)]


def plain_revision(value: str) -> str:
    """Return a revision without what spelling adds: ``01`` is 1, ``1.0`` is 1, ``b`` is B."""
    parts = [part.lstrip("0") or "0" for part in value.upper().replace("_", ".").split(".")]
    while len(parts) > 1 and parts[-1] == "0":
        parts.pop()
    return ".".join(parts)


def newer(one: str, two: str) -> int:
    """Return 1 where *one* names a newer thing than *two*, −1 where an older one, 0 where the names do not tell.

    Numbers are not compared with letters, nor a name that states something with one that does not; where revision and
    date contradict each other, the names tell nothing.
    """
    votes = {
        *(_order(_key(of(one)), _key(of(two))) for of in (revisions_in, versions_in)),
        _order(_date(one), _date(two)),
        _order(((_age(one), ""),), ((_age(two), ""),)),
    } - {0}
    return votes.pop() if len(votes) == 1 else 0


def newest(names: Sequence[str]) -> int | None:
    """Return which of *names* is newer than all others; None where none is for certain."""
    for k, name in enumerate(names):
        if all(newer(name, other) > 0 for i, other in enumerate(names) if i != k):
            return k
    return None


def without_revision(name: str) -> str:
    """Return the letters and digits of a file's name without its ending, revision, version and date."""
    stem = unaccented(PurePath(name).stem)
    for form in (_REVISION, _VERSION, *_DATES):
        stem = form.sub("", stem)
    return "".join(filter(str.isalnum, stem)).casefold()


def names_a_revision(name: str) -> bool:
    """Whether a name says of which revision a list is: ``Revision B``, but not ``Revision history``."""
    return bool(revisions_in(name) or versions_in(name))


def _order(one: _Key, two: _Key) -> int:
    if not one or not two or [bool(letters) for _, letters in one[:1]] != [bool(letters) for _, letters in two[:1]]:
        return 0
    ranked = [[(number, len(letters), letters) for number, letters in key] for key in (one, two)]
    return (ranked[0] > ranked[1]) - (ranked[0] < ranked[1])


def _key(stated: Sequence[str]) -> _Key:
    """Return the last of the revisions that a name states, in an order: ``1.10`` after ``1.9``, ``AA`` after ``Z``."""
    if not stated:
        return ()
    parts = [_PART.fullmatch(part) for part in plain_revision(stated[-1]).split(".")]
    return tuple((int(part[1] or 0), part[2]) for part in parts if part is not None)


def _date(name: str) -> _Key:
    for form in _DATES:
        if found := [*form.finditer(name)]:
            last = found[-1]
            return tuple((int(last[k]) % 100, "") for k in ("y", "m", "d"))
    return ()


def _age(name: str) -> int:
    folded = fold(name)
    return (_NEW.search(folded) is not None) - (_OLD.search(folded) is not None)

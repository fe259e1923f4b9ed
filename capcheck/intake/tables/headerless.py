"""Columns without titles, told by what they hold."""

from __future__ import annotations

from collections.abc import Mapping

from capcheck.intake.tables.content import Content
from capcheck.intake.tables.header_words import Role
from capcheck.lexicon import fold, is_ideographic, vocabulary

_MOST = 0.8


def by_content(columns: Mapping[int, Content], *, placements: bool) -> dict[Role, int]:
    """Return the column of each role that the content shows, for columns that no title explains."""
    found: dict[Role, int] = {}
    _reference(columns, found)
    free = {i: c for i, c in columns.items() if i not in set(found.values())}
    if placements:
        _coordinates(free, found)
        _sides(free, found)
    else:
        whole = [i for i, c in free.items() if c.number >= _MOST and all(t.isdigit() for t in c.texts)]
        if len(whole) == 1:
            found[Role.QUANTITY] = whole[0]
    taken = set(found.values())
    _texts({i: c for i, c in free.items() if i not in taken and c.number < _MOST and c.texts}, found)
    return found


def _reference(columns: Mapping[int, Content], found: dict[Role, int]) -> None:
    fitting = [
        (c.distinct >= _MOST, c.reference_list, -i)
        for i, c in columns.items()
        if c.reference_list >= _MOST
        and c.number < _MOST
        and c.distinct >= 0.5
        and c.filled >= 0.5
        # Letters alone may be any word, such as BOM; of references one at least has a figure.
        and any(any(map(str.isdigit, text)) for text in c.texts)
    ]
    if fitting:
        found[Role.REF] = -max(fitting)[2]


def _coordinates(columns: Mapping[int, Content], found: dict[Role, int]) -> None:
    """Tell coordinates from angles: angles are multiples of 15 degrees; the first two other columns are x and y."""
    numeric = [i for i, c in columns.items() if c.number >= 0.95 and c.filled >= 0.9]
    if len(numeric) > 2:
        angles = [(columns[i].angle, -columns[i].distinct, i) for i in numeric if columns[i].angle >= _MOST]
        if angles:
            turned = max(angles)[2]
            found[Role.ROTATION] = turned
            numeric.remove(turned)
    # Counts and layer numbers repeat; coordinates hardly do.
    spread = [i for i in numeric if columns[i].distinct > 0.2 or len(columns[i].texts) < 10] or numeric
    if len(spread) == 2 or (len(spread) > 2 and spread[1] == spread[0] + 1):
        found[Role.X] = spread[0]
        found[Role.Y] = spread[1]


def _sides(columns: Mapping[int, Content], found: dict[Role, int]) -> None:
    for i, c in columns.items():
        if not c.texts or (c.distinct > 0.5 and len(c.texts) > 4) or c.number >= _MOST:
            continue
        words = {fold(text) for text in c.texts}
        if words <= {"m"} or (c.mirror == 1.0 and _are_answers(words)):
            found.setdefault(Role.LAYER_MIRROR, i)
        elif c.side >= 0.95:
            found.setdefault(Role.SIDE, i)


def _are_answers(words: set[str]) -> bool:
    """Whether some of *words* say yes or no in a word, or in a letter where both stand there."""
    answers = vocabulary().answers
    yes, no = words & answers.yes.spelt, words & answers.no.spelt
    return bool(yes and no) or any(len(word) > 1 or is_ideographic(word) for word in yes | no)


def _texts(columns: Mapping[int, Content], found: dict[Role, int]) -> None:
    likely = [(c.footprint, i) for i, c in columns.items() if c.footprint >= 0.3]
    if likely:
        column = max(likely)[1]
        found[Role.FOOTPRINT] = column
    values = [(c.value, -i) for i, c in columns.items() if i != found.get(Role.FOOTPRINT, -1) and c.value >= 0.2]
    if values:
        found[Role.VALUE] = -max(values)[1]

"""Columns without titles, told by what they hold."""

from __future__ import annotations

from collections.abc import Mapping

from capcheck.intake.tables.content import Content
from capcheck.intake.tables.header_words import Role

_MOST = 0.8


def by_content(columns: Mapping[int, Content], *, placements: bool) -> dict[Role, tuple[int, str]]:
    """Return the column of each role that the content shows, with the reason, for columns that no title explains."""
    found: dict[Role, tuple[int, str]] = {}
    _reference(columns, found)
    free = {i: c for i, c in columns.items() if i not in {column for column, _ in found.values()}}
    if placements:
        _coordinates(free, found)
        _sides(free, found)
    else:
        whole = [i for i, c in free.items() if c.number >= _MOST and all(t.isdigit() for t in c.texts)]
        if len(whole) == 1:
            found[Role.QUANTITY] = (whole[0], "it holds whole numbers")
    taken = {column for column, _ in found.values()}
    _texts({i: c for i, c in free.items() if i not in taken and c.number < _MOST and c.texts}, found)
    return found


def _reference(columns: Mapping[int, Content], found: dict[Role, tuple[int, str]]) -> None:
    fitting = [
        (c.distinct >= _MOST, c.reference_list, -i)
        for i, c in columns.items()
        if c.reference_list >= _MOST and c.number < _MOST and c.distinct >= 0.5 and c.filled >= 0.5
    ]
    if fitting:
        found[Role.REF] = (-max(fitting)[2], "its cells are reference designators")


def _coordinates(columns: Mapping[int, Content], found: dict[Role, tuple[int, str]]) -> None:
    """Tell coordinates from angles: angles are multiples of 15 degrees; the first two other columns are x and y."""
    numeric = [i for i, c in columns.items() if c.number >= 0.95 and c.filled >= 0.9]
    if len(numeric) > 2:
        angles = [(columns[i].angle, -columns[i].distinct, i) for i in numeric if columns[i].angle >= _MOST]
        if angles:
            turned = max(angles)[2]
            found[Role.ROTATION] = (turned, "its numbers are angles")
            numeric.remove(turned)
    # Counts and layer numbers repeat; coordinates hardly do.
    spread = [i for i in numeric if columns[i].distinct > 0.2 or len(columns[i].texts) < 10] or numeric
    if len(spread) == 2 or (len(spread) > 2 and spread[1] == spread[0] + 1):
        found[Role.X] = (spread[0], "it is the first column of spread numbers")
        found[Role.Y] = (spread[1], "it is the second column of spread numbers")


def _sides(columns: Mapping[int, Content], found: dict[Role, tuple[int, str]]) -> None:
    for i, c in columns.items():
        if not c.texts or (c.distinct > 0.5 and len(c.texts) > 4) or c.number >= _MOST:
            continue
        words = {text.lower() for text in c.texts}
        if words <= {"m"} or (c.mirror == 1.0 and words & {"yes", "no", "y", "n"}):
            found.setdefault(Role.LAYER_MIRROR, (i, "its cells mark mirrored parts"))
        elif c.side >= 0.95:
            found.setdefault(Role.SIDE, (i, "its cells name sides"))


def _texts(columns: Mapping[int, Content], found: dict[Role, tuple[int, str]]) -> None:
    likely = [(c.footprint, i) for i, c in columns.items() if c.footprint >= 0.3]
    if likely:
        column = max(likely)[1]
        found[Role.FOOTPRINT] = (column, "its cells look like names of footprints")
    values = [
        (c.value, -i) for i, c in columns.items() if i != found.get(Role.FOOTPRINT, (-1, ""))[0] and c.value >= 0.2
    ]
    if values:
        found[Role.VALUE] = (-max(values)[1], "its cells look like values")

"""Units in a title that do not fit its column: of another quantity, or none that capcheck reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import zip_longest
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables.header_words import Role, read_title, unit_of
from capcheck.lexicon import units
from capcheck.values import ANGLE, LENGTH, MASS, Dimension, Place, Problems, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.columns import Columns
    from capcheck.intake.tables.table import Table

_BRACKETED: Final = pattern(r"[(\[{<（［]\s*([^\W\d_]{1,20})\.?\s*[)\]}>）］]")
_FACTOR: Final = pattern(r"[(\[{<（［]\s*(\d+(?:\s*/\s*\d+|[.,]\d+)?)\s*[*x×]?\s*([^\W\d_]{1,6})\s*[)\]}>）］]")
"""A number before the unit: ``[1/10 mm]`` counts in tenths, and must not be read as mm."""
_MEASURED: Final[Mapping[Role, Dimension]] = {
    Role.X: LENGTH,
    Role.Y: LENGTH,
    Role.ROTATION: ANGLE,
    Role.LENGTH: LENGTH,
    Role.WIDTH: LENGTH,
    Role.HEIGHT: LENGTH,
    Role.SIZE: LENGTH,
    Role.PITCH: LENGTH,
    Role.MASS: MASS,
}
_WRONG_WITHOUT: Final[Mapping[Role, str]] = {
    Role.X: "every part would lie in the wrong place",
    Role.Y: "every part would lie in the wrong place",
    Role.ROTATION: "every part would be turned wrongly",
    Role.MASS: "its mass cannot be known",
}


def titles_with_units(titles: Sequence[str], below: Sequence[str]) -> list[str] | None:
    """Return the titles with the units of the row below them, as in ``X [mm]``; None where that row is another."""
    cells = [cell.strip() for cell in below]
    filled = [cell for cell in cells if cell.strip("-–—_/ ")]
    if len(filled) < 2 or not all(map(unit_of, filled)):
        return None
    return [
        f"{title} [{unit_of(cell)}]" if title and unit_of(cell) else title
        for title, cell in zip_longest(titles, cells[: len(titles)], fillvalue="")
    ]


def refuse_units(table: Table, columns: Columns, problems: Problems, *, placed: bool = True) -> frozenset[Role]:
    """Add a problem for each column whose title names a unit that is not read, or one of another quantity.

    Returns the roles of these columns, whose cells then need no further word. Without *placed* the unit of x and y is
    known otherwise, and their titles are left alone.
    """
    refused: set[Role] = set()
    for role, dimension in _MEASURED.items():
        column = columns.index.get(role)
        if column is None or column >= len(table.header) or (not placed and role in {Role.X, Role.Y}):
            continue
        title = table.header[column]
        what, why = _fault(title, role, dimension)
        if what:
            remedy = (
                'state the unit in board.toml: units = "mm"'
                if role in {Role.X, Role.Y}
                else (
                    f'correct the title, such as "{role} [{_known(dimension)[0]}]", '
                    "or name the right column in board.toml"
                )
            )
            problems.add(Place(table.file, table.header_row, title, table.sheet), what, why, remedy)
            refused.add(role)
    if placed:
        _refuse_two_units(table, columns, problems)
    return frozenset(refused)


def _refuse_two_units(table: Table, columns: Columns, problems: Problems) -> None:
    x, y = columns.units.get(Role.X), columns.units.get(Role.Y)
    if x and y and x != y:
        titles = [table.header[columns.index[role]] for role in (Role.X, Role.Y)]
        problems.add(
            Place(table.file, table.header_row, None, table.sheet),
            f'"{titles[0]}" and "{titles[1]}" name two units',
            "one of the two is scaled wrongly",
            'correct the titles, or state the unit in board.toml: units = "mm"',
        )


def _fault(title: str, role: Role, dimension: Dimension) -> tuple[str, str]:
    known = ", ".join(units().unit[name].shown or name for name in _known(dimension))
    why = _WRONG_WITHOUT.get(role, "its size cannot be known")
    unread = unread_unit(title, dimension)
    if unread is not None:
        quantity = "coordinates" if role in {Role.X, Role.Y} else f"{dimension}"
        return f'"{unread}" is no known unit of {quantity} (known: {known})', why
    named = read_title(title).units
    if named and not any(unit in _known(dimension) for unit in named):
        return f'"{named[0]}" is no unit of {dimension}, and the column was taken for the {role}', why
    return "", ""


def _known(dimension: Dimension) -> list[str]:
    return [name for name, unit in units().unit.items() if unit.measures == dimension.name and unit.in_titles]


@lru_cache(maxsize=256)
def unread_unit(title: str, dimension: Dimension = LENGTH) -> str | None:
    """Return the unit of *dimension* that *title* names and that is none of capcheck's, or None.

    pint's own list of units, and nothing of its arithmetic, says which word in brackets is a unit of length.
    """
    read = read_title(title)
    if not read.claims:
        return None
    factor = _FACTOR.search(title) if any(map(str.isdigit, title)) else None
    if factor is not None and factor[1] != "1" and (factor[2] in _known(dimension) or _is_length(factor[2])):
        return f"{factor[1]} {factor[2]}"
    if read.units:
        return None
    not_read = next(words for measure, words in units().not_read.items() if measure == dimension.name)
    for word in _BRACKETED.findall(title):
        if word in not_read or (dimension is LENGTH and word.casefold() not in {"pin", "m"} and _is_length(word)):
            return str(word)
    *others, last = read.words or ("",)
    return last if others and last in not_read else None


def _is_length(word: str) -> bool:
    import pint  # costs 0.2 s, and few titles hold a word in brackets that is no unit

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    spellings = {word, word.lower()} if len(word) > 1 else {word}
    return any(registry.parse_unit_name(s) and registry.get_dimensionality(s) == {"[length]": 1} for s in spellings)

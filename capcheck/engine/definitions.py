"""What the rules of one file share: constants, sets, tables of limits, and facts made of other facts.

A table stands in the rule file or in a CSV beside it. Its columns that bear the name of a fact are looked up, the
others are limits: ``part.package_family, tallest``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field

from capcheck.engine.limit_tables import EVERY, LimitTable, RowsByKey, TableRow, fits
from capcheck.engine.limits import ExpressionError, Limit, read_limit
from capcheck.engine.text_tests import folded, hardly_a_value
from capcheck.facts import Catalogue, UnknownFactError
from capcheck.values import Dimension, InputError, Place, Problem, line_of, lines_of_items, nearest, pattern, read_text

KEYS: Final = ("constants", "sets", "tables", "fact")
"""The keys of a rule file beside ``rule``."""
_NAME: Final = pattern(r"[a-z][a-z0-9_]{0,39}")
_MOST_ROWS: Final = 20_000
_TOO_MANY_ROWS: Final = f"a table of limits has at most {_MOST_ROWS} rows"
_FEW: Final = 16


class Definitions(Struct, frozen=True, eq=False):
    """What the rules of a file may name beside facts and their own limits."""

    constants: Mapping[str, Limit] = field(default_factory=dict)
    sets: Mapping[str, tuple[str | float, ...]] = field(default_factory=dict)
    tables: Mapping[str, LimitTable] = field(default_factory=dict)
    files: tuple[Path, ...] = ()
    """The CSV files that tables were read from."""

    def changed(self, name: str, by: float) -> Definitions:
        """Return the definitions with ``constants.NAME`` or a column ``tables.NAME.COLUMN`` changed by *by*."""
        kind, own, *column = name.split(".")
        if kind == "constants":
            old = self.constants[own]
            return Definitions({**self.constants, own: Limit(old.value + by, old.dimension)}, self.sets, self.tables)
        return Definitions(self.constants, self.sets, {**self.tables, own: self.tables[own].shifted(column[0], by)})


NOTHING_SHARED: Final = Definitions()


def read_definitions(
    data: Mapping[str, Any], path: Path, text: str, catalogue: Catalogue
) -> tuple[Definitions, list[Problem]]:
    """Return what a rule file defines, and all that is wrong with it, each with its line."""
    problems: list[Problem] = []
    tables: dict[str, dict[str, Any]] = {}
    for kind in ("constants", "sets", "tables"):
        found = data.get(kind, {})
        tables[kind] = found if isinstance(found, dict) else {}
        if tables[kind] is not found:
            problems.append(Problem(_at(path, text, kind), f"[{kind}] is a table of names", remedy=f"write [{kind}]"))
        for name in [n for n in tables[kind] if not _NAME.fullmatch(n)]:
            del tables[kind][name]
            problems.append(
                Problem(
                    _at(path, text, kind, name),
                    f'"{name}" is not a name that an expression can use',
                    remedy="write it in small letters, digits and _, a letter first",
                )
            )
    constants, sets, read, files = {}, {}, {}, []
    for name, value in tables["constants"].items():
        try:
            constants[name] = read_limit(value)
        except ExpressionError as error:
            problems.append(Problem(_at(path, text, "constants", name), str(error)))
    for name, value in tables["sets"].items():
        try:
            sets[name] = _set(value)
        except ExpressionError as error:
            problems.append(Problem(_at(path, text, "sets", name), str(error)))
    for name, value in tables["tables"].items():
        try:
            found = _rows(value, path, text, name)
            read[name] = _table(name, found, catalogue)
            files += [found.file] if found.file is not None else []
        except InputError as error:
            problems += error.problems
    return Definitions(constants, sets, read, tuple(files)), problems


def _set(value: object) -> tuple[str | float, ...]:
    if not isinstance(value, list) or not value or not all(_is_plain(item) for item in value):
        raise ExpressionError('is not a list of texts or numbers; write ["a", "b"]')
    for item in value:
        _ = item if isinstance(item, str) else read_limit(item)
    return tuple(value)


def _is_plain(value: object) -> bool:
    return isinstance(value, str | int | float) and not isinstance(value, bool)


def _at(path: Path, text: str, *keys: str | int) -> Place:
    return Place(str(path), line_of(text, keys), ".".join(map(str, keys)))


class _Row(Struct, frozen=True):
    cells: Mapping[str, object]
    place: Place


class _Rows(Struct, frozen=True):
    """The rows of a table as written, where its titles stand, and the CSV that it was read from."""

    rows: list[_Row]
    head: Place
    file: Path | None = None


def _rows(value: object, path: Path, text: str, name: str) -> _Rows:
    """Return the rows of a table: a list of inline tables, ``{ rows = […] }``, or ``{ file = "…csv" }``."""
    here = _at(path, text, "tables", name)
    if isinstance(value, dict) and set(value) == {"file"} and isinstance(value["file"], str):
        file = path.parent / value["file"]
        if not file.resolve().is_relative_to(path.parent.resolve()):
            raise InputError.at(here, f'"{value["file"]}" lies outside the rule file\'s folder', remedy="put it beside")
        return _rows_of_csv(file, here)
    items = value.get("rows") if isinstance(value, dict) and set(value) == {"rows"} else value
    if not isinstance(items, list) or not items or not all(isinstance(item, dict) for item in items):
        raise InputError.at(
            here,
            "is no table of limits",
            remedy=f'write {name} = [{{ "part.package_family" = "soic", most = "2 mm" }}, …] or '
            f'{name} = {{ file = "limits.csv" }}',
        )
    if len(items) > _MOST_ROWS:
        raise InputError.at(here, _TOO_MANY_ROWS)
    keys = ("tables", name, "rows") if items is not value else ("tables", name)
    lines = lines_of_items(text, keys)
    places = [Place(str(path), line, f"tables.{name}.{at}") for at, line in enumerate(lines)]
    places += [here] * (len(items) - len(places))
    rows = [_Row(item, place) for item, place in zip(items, places, strict=False)]
    return _Rows(rows, rows[0].place)


def _rows_of_csv(file: Path, named: Place) -> _Rows:
    if not file.is_file():
        raise InputError.at(named, f'there is no file "{file.name}" beside the rules', remedy="check its name")
    text = read_text(file, "table of limits")
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    reader = csv.reader(io.StringIO(text), delimiter=";" if first.count(";") > first.count(",") else ",")
    titles: list[str] = []
    rows: list[_Row] = []
    head = Place(str(file))
    for cells in reader:
        where = Place(str(file), reader.line_num)
        stated = [cell.strip() for cell in cells]
        if not any(stated) or stated[0].startswith("#"):
            continue
        if not titles:
            titles, head = stated, where
            _tell_apart(titles, head)
            continue
        if len(stated) != len(titles):
            raise InputError.at(
                where,
                f"has {len(stated)} cells, the titles are {len(titles)}",
                remedy="a cell with a comma stands in double quotes; write decimals with a point: 1.2 mm",
            )
        rows.append(_Row(dict(zip(titles, stated, strict=True)), where))
        if len(rows) > _MOST_ROWS:
            raise InputError.at(where, _TOO_MANY_ROWS)
    if not rows:
        raise InputError.at(
            str(file), "holds no limits", remedy="the first line has titles, like part.package_family,most"
        )
    return _Rows(rows, head, file)


def _tell_apart(titles: Sequence[str], head: Place) -> None:
    """Refuse columns that have no title, or one that another has too: of two of them one would be lost."""
    for number, title in enumerate(titles, 1):
        if not title:
            raise InputError.at(head, f"column {number} has no title", remedy="give it one, or take the column out")
        if title in titles[: number - 1]:
            raise InputError.at(
                head, f'two columns have the title "{title}"', "only one of them could count", "rename or remove one"
            )


def _table(name: str, found: _Rows, catalogue: Catalogue) -> LimitTable:
    rows, head = found.rows, found.head
    titles = list(rows[0].cells)
    facts = tuple(title for title in titles if "." in title)
    columns = [title for title in titles if "." not in title]
    problems = [*_of_titles(name, facts, columns, catalogue, head)]
    is_sound = not problems
    dimensions: dict[str, Dimension] = {}
    read: list[TableRow] = []
    wide = RowsByKey(facts)
    earlier: dict[tuple[str, ...], TableRow] = {}
    for row in rows:
        if list(row.cells) != titles and set(row.cells) != set(titles):
            odd = sorted(set(row.cells) ^ set(titles))
            problems.append(Problem(row.place, f"has other columns than the first row: {', '.join(odd)}"))
            continue
        limits: dict[str, float | None] = {}
        for column in columns:
            try:
                limits[column] = _limit(row.cells[column], column, dimensions)
            except ExpressionError as error:
                problems.append(Problem(row.place, f"{column}: {error}"))
        told = [row.cells[fact] for fact in facts if not isinstance(row.cells[fact], str)]
        problems += [Problem(row.place, f"{cell} is no text", remedy='write it in quotes: "…"') for cell in told]
        if told:
            continue
        keys = tuple(str(row.cells[fact]) or EVERY for fact in facts)
        if is_sound:
            problems += _of_keys(keys, facts, catalogue, row.place)
            problems += _never_reached(TableRow(keys, limits, row.place), earlier, read, wide, facts)
        read.append(TableRow(keys, limits, row.place))
        if any(EVERY in key for key in keys):
            wide.add(len(read) - 1, keys)
        earlier.setdefault(tuple(map(folded, keys, facts)), read[-1])
    if problems:
        raise InputError(problems[:_FEW])
    return LimitTable(name, facts, dimensions, tuple(read))


def _never_reached(
    row: TableRow,
    earlier: Mapping[tuple[str, ...], TableRow],
    read: Sequence[TableRow],
    wide: RowsByKey,
    facts: Sequence[str],
) -> Iterator[Problem]:
    """Yield a problem where an *earlier* row, or a *wide* one of those *read*, takes all that a row is for."""
    same = earlier.get(tuple(map(folded, row.keys, facts)))
    may = (read[number] for number in wide.that_may_fit(row.keys))
    before = same or next((w for w in may if all(map(fits, w.keys, row.keys, facts))), None)
    if before is not None:
        yield Problem(
            row.place,
            f"is never reached: the row on {before.place} fits first",
            "the first row that fits counts",
            "put the narrower row first, or remove one",
        )


def _of_titles(
    name: str, facts: Sequence[str], columns: Sequence[str], catalogue: Catalogue, place: Place
) -> Iterator[Problem]:
    if not facts:
        yield Problem(
            place,
            f"tables.{name} looks nothing up",
            "a column with the name of a text fact says what its rows are found by",
            "add one, such as part.package_family, part.part_number or board.customer",
        )
    if not columns:
        yield Problem(place, f"tables.{name} has no limits", remedy="add a column, such as most")
    for fact in facts:
        try:
            found = catalogue[fact]
        except UnknownFactError as error:
            yield Problem(place, str(error), f"tables.{name} is looked up by it")
            continue
        if found.kind != "text":
            yield Problem(
                place, f"{fact} is a {found.kind_text}", "a table is looked up by texts", "use a fact that is a text"
            )
    for column in columns:
        if not _NAME.fullmatch(column):
            yield Problem(
                place, f'"{column}" is not a name that an expression can use', remedy="such as most, least_gap"
            )


def _limit(cell: object, column: str, dimensions: dict[str, Dimension]) -> float | None:
    if cell == "":
        return None
    if isinstance(cell, str) and _NUMBER.fullmatch(cell):
        cell = float(cell)
    limit = read_limit(cell)
    other = dimensions.setdefault(column, limit.dimension)
    if other.exponents != limit.dimension.exponents:
        raise ExpressionError(f'"{cell}" is a {limit.dimension}, the rows above state a {other}')
    return limit.value


_OWN: Final = "for a name that a library of yours gives, write {}*"
_NUMBER: Final = pattern(r"[+-]?\d+(\.\d+)?")


def _of_keys(keys: Sequence[str], facts: Sequence[str], catalogue: Catalogue, place: Place) -> Iterator[Problem]:
    for key, fact in zip(keys, facts, strict=True):
        choices, names = catalogue[fact].choices, catalogue[fact].names
        if names is not None and EVERY not in key and (likely := names.meant(key)) is not None:
            yield Problem(place, hardly_a_value(fact, key, likely, _OWN.format(key)), "its row would never be found")
        elif choices and EVERY not in key and key not in choices:
            every = f"its values: {', '.join(choices)}" if len(choices) <= _FEW else f"see: capcheck explain {fact}"
            hint = nearest(key, choices) or every
            yield Problem(place, f'"{key}" is never a value of {fact}', "its row would never be found", hint)
        elif choices and EVERY in key and not any(fits(key, choice, fact) for choice in choices):
            yield Problem(place, f'"{key}" fits no value of {fact}', "its row would never be found")

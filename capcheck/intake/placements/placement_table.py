"""A table of placements becomes columns: references, coordinates as written, angles, sides, kinds."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.placements.row_kinds import classify
from capcheck.intake.tables import (
    MM_PER,
    TURNED,
    Coded,
    Columns,
    DimensionColumns,
    FittedColumn,
    Role,
    StatedUnit,
    by_words,
    code,
    code_column,
    code_stems,
    in_metres,
    read_dimensions,
    read_fitted,
    read_mirror_labels,
    read_numbers,
    read_side_labels,
    read_title,
    refuse_units,
    side_from_names,
    sides_by_titles,
    stated_unit,
    texts_say_not_fitted,
)
from capcheck.model import Codes, Decision, Floats, Ints, Note, Said, Side, Topic
from capcheck.values import Place, Problems, pattern, shortened

if TYPE_CHECKING:
    from capcheck.intake.tables import Table

_SHOWN_PROBLEMS: Final = 20
_SAME_CENTRE_MM: Final = 0.05
_DEGREES: Final = frozenset({"", "°", "deg", "deg.", "degree", "degrees", "grad", "º"})


class Known(Struct, frozen=True):
    """What board.toml, or the caller, states about one placement file."""

    units: str | None = None
    decimal: str | None = None
    side: Side | None = None
    kinds: Mapping[str, str] = field(default_factory=dict)
    variant: str | None = None
    paired: tuple[Side, Said | str] | None = None
    """The side that the file's name tells beside the other file's, with the evidence."""


class PlacementColumns(Struct, frozen=True):
    """One table's placements as columns of equal length, coordinates still in the file's own unit and frame.

    *x* and *y* are the body centre as far as the header tells; *other_pairs* are further x/y columns. *stated* is
    None where neither board.toml nor the file names the unit. *reasons* says why a row is set apart.
    """

    table: Table
    columns: Columns
    ref: Sequence[str]
    x: Floats
    y: Floats
    other_pairs: tuple[tuple[Floats, Floats], ...]
    stated: StatedUnit | None
    rotation_deg: Floats
    side: Codes
    kind: Codes
    reasons: Mapping[int, str]
    fitted: FittedColumn
    row: Ints
    stem: tuple[Ints, list[str]]
    """Each reference without its number, as code and distinct texts."""
    texts: Mapping[Role, tuple[Ints, list[str]]]
    """The columns of text likewise: each cell's code, and the distinct texts."""
    dimensions: DimensionColumns
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()

    def __len__(self) -> int:
        return len(self.ref)

    def text(self, role: Role, row: int) -> str:
        """Return the cell of *role* in the row with this index, blank where the table has no such column."""
        if role not in self.texts:
            return ""
        codes, texts = self.texts[role]
        return texts[int(codes[row])]


def read_placement_table(table: Table, columns: Columns, known: Known, problems: Problems) -> PlacementColumns:
    """Return the placements of *table*; cells that cannot be read are added to *problems*, all of them."""
    notes: list[Note] = []
    decisions: list[Decision] = []
    decimal = known.decimal or table.decimal
    index = columns.index
    stated = stated_unit(table, columns, known.units)
    pairs, cell_unit = _read_pairs(table, columns, decimal, stated, problems)
    # A unit in the cells is the nearest evidence there is; board.toml speaks of cells without one.
    stated = cell_unit or stated or in_metres(table, columns, pairs[0], notes)
    notes += _centre_taken(table, columns, pairs, stated)
    refused = refuse_units(table, columns, problems, placed=not (cell_unit or known.units))
    coded = {role: code(table.columns[index[role]]) for role in _TEXT_ROLES if role in index}
    ref = _references(table, index[Role.REF], notes)
    stem = code_stems(ref)
    nothing = (np.zeros(len(ref), dtype=np.int64), [""])
    kind, reasons = classify(ref, stem, coded.get(Role.FOOTPRINT, nothing), coded.get(Role.VALUE, nothing), known.kinds)
    fitted = read_fitted(table, columns, known.variant)
    fitted = _with_words(table, fitted, ref, [coded[r] for r in _SAYING if r in coded])
    turned = _read_rotation(table, columns, decimal, problems, decisions)
    notes += _unread_rotation(table, columns)
    return PlacementColumns(
        table,
        columns,
        ref,
        pairs[0][0],
        pairs[0][1],
        tuple(pairs[1:]),
        stated,
        turned,
        _read_side(table, columns, known, problems, decisions),
        kind,
        reasons,
        fitted,
        _row_numbers(table),
        stem,
        coded,
        read_dimensions(table, columns, decimal, problems, without=refused),
        (*table.notes, *notes, *fitted.notes),
        (*decisions, *fitted.decisions),
    )


def _with_words(table: Table, fitted: FittedColumn, ref: Sequence[str], texts: Sequence[Coded]) -> FittedColumn:
    """Return what is fitted where words such as ``100n DNP`` count too, but for rows whose cell says fitted."""
    said = texts_say_not_fitted(texts)
    if said is None:
        return fitted
    notes = by_words(fitted, said, ref, table.file, table.row_numbers)
    if fitted.stated is None:
        return replace(fitted, fitted=fitted.fitted & ~said, by_word=said)
    against = np.flatnonzero(said & fitted.stated).tolist()
    if against:
        which = shortened([ref[i] for i in against])
        message = f"{which}: a word of the row says not fitted, the fitted column says fitted and is believed"
        notes.append(Note(message, Place(table.file, table.row_numbers[against[0]])))
    off = said & fitted.fitted & ~fitted.stated
    return replace(fitted, fitted=fitted.fitted & ~off, notes=(*fitted.notes, *notes), by_word=off)


def _references(table: Table, column: int, notes: list[Note]) -> Sequence[str]:
    """Return the references; one behind other text and a gap in its cell, as in ``24   J24``, is taken out."""
    cells = table.columns[column]
    if "  " not in "\n".join(cells):
        return cells
    taken = {i: match[1] for i, cell in enumerate(cells) if (match := _BEHIND_A_GAP.fullmatch(cell))}
    if not taken:
        return cells
    first = min(taken)
    many = f"{len(taken)} references stand" if len(taken) > 1 else "one reference stands"
    said = f'{many} behind other text: "{" ".join(cells[first].split())}" is read as {taken[first]}'
    notes.append(Note(said, Place(table.file, table.row_numbers[first])))
    return [taken.get(i, cell) for i, cell in enumerate(cells)]


_BEHIND_A_GAP: Final = pattern(r"\S{1,12}\s{2,}([^\W\d_]{1,4}\d{1,5}[^\W\d_]?)")
_SAYING: Final = (Role.VALUE, Role.COMMENT, Role.DESCRIPTION)
"""Columns in which a row may say that its part stays off the board."""
_TEXT_ROLES: Final = (Role.VALUE, Role.FOOTPRINT, Role.PART_NUMBER, Role.DESCRIPTION, Role.COMMENT, Role.MOUNTING)


def _row_numbers(table: Table) -> Ints:
    numbers = table.row_numbers
    if isinstance(numbers, range):
        return np.arange(numbers.start, numbers.stop, numbers.step, dtype=np.int64)
    return np.asarray(numbers, dtype=np.int64)


def _read_pairs(
    table: Table, columns: Columns, decimal: str | None, stated: StatedUnit | None, problems: Problems
) -> tuple[list[tuple[Floats, Floats]], StatedUnit | None]:
    """Return the x/y pairs, the main one first, and the unit where the cells name one.

    Where cells differ in their unit all are turned to mm, and mm is the unit.
    """
    xs = (columns.index[Role.X], *columns.variants.get(Role.X, ()))
    ys = (columns.index[Role.Y], *columns.variants.get(Role.Y, ()))
    read = [
        (
            _numbers(table, x, decimal, problems if i == 0 else Problems()),
            _numbers(table, y, decimal, problems if i == 0 else Problems()),
        )
        for i, (x, y) in enumerate(zip(xs, ys, strict=False))
    ]
    units = {u for pair in read for _, distinct, _ in pair for u in distinct} - {""}
    bare = any("" in distinct for _, distinct, _ in read[0])
    if not units:
        return [(x[0], y[0]) for x, y in read], None
    if len(units) == 1 and not bare:
        unit = units.pop()
        return [(x[0], y[0]) for x, y in read], StatedUnit(unit, "named in the cells")
    default = stated.factor if stated else (MM_PER[next(iter(units))] if len(units) == 1 else math.nan)
    factors = {**MM_PER, "": default}
    pairs = [tuple(v * np.array([factors[u] for u in cells]) for v, _, cells in pair) for pair in read]
    for cells in (read[0][0][2], read[0][1][2]):
        if math.isnan(default) and "" in cells:
            row = table.row_numbers[cells.index("")]
            problems.add(
                Place(table.file, row, "x/y", table.sheet),
                "has no unit while other cells name different ones",
                "its size cannot be known",
                'write the unit in every cell, or set units = "mm" in board.toml',
            )
            break
    return [(p[0], p[1]) for p in pairs], StatedUnit("mm", f"cells in {' and '.join(sorted(units))}")


def _numbers(table: Table, column: int, decimal: str | None, problems: Problems) -> tuple[Floats, set[str], list[str]]:
    """Return a column's numbers, the distinct units of the cells that hold one, and each cell's unit."""
    cells = table.columns[column]
    values, units = read_numbers(cells, decimal=decimal)
    wrong = np.flatnonzero(~np.isfinite(values))
    bad = [i for i in wrong.tolist() if cells[i].strip()]
    distinct = {units[0]} if units and units.count(units[0]) == len(units) else set(units)
    strange = distinct - set(MM_PER) - {""}
    if strange:
        folded = {u: u.casefold().rstrip(".") for u in strange}
        units = [folded.get(u, u) for u in units]
        unknown = {u for u in folded.values() if u not in MM_PER}
        bad += [i for i, u in enumerate(units) if u in unknown]
        distinct = set(units) - unknown
    if (
        len(wrong)
        and "" in distinct
        and not any(u == "" and math.isfinite(v) for u, v in zip(units, values, strict=True))
    ):
        distinct = distinct - {""}
    _report(table, column, sorted(set(bad)), ("is not a coordinate", "the part's place would be unknown"), problems)
    return values, distinct, units


def _report(table: Table, column: int, rows: Sequence[int], wrong: tuple[str, str], problems: Problems) -> None:
    what, why = wrong
    name = table.header[column] if column < len(table.header) else f"column {column + 1}"
    for i in rows[:_SHOWN_PROBLEMS]:
        where = Place(table.file, table.row_numbers[i], name, table.sheet)
        problems.add(
            where, f'"{table.columns[column][i][:60]}" {what}', why, "write a number, with its unit or without"
        )
    if len(rows) > _SHOWN_PROBLEMS:
        problems.add(
            Place(table.file, None, name, table.sheet),
            f"{len(rows) - _SHOWN_PROBLEMS} more cells {what.replace('is not', 'are not')}",
        )


def _centre_taken(
    table: Table, columns: Columns, pairs: Sequence[tuple[Floats, Floats]], stated: StatedUnit | None
) -> list[Note]:
    """Return a note where other coordinates differ from those taken: a wrong choice moves every large part."""
    x, y = pairs[0]
    apart = []
    for column, (other_x, other_y) in zip(columns.variants.get(Role.X, ()), pairs[1:], strict=False):
        far = np.hypot(other_x - x, other_y - y)
        most = float(far[np.isfinite(far)].max(initial=0.0)) * (stated.factor if stated else 1.0)
        if most > _SAME_CENTRE_MM and column < len(table.header):
            apart.append(f'"{table.header[column]}" up to {most:.3g}{" mm" if stated else ""} away')
    if not apart:
        return []
    taken = " and ".join(f'"{table.header[columns.index[role]]}"' for role in (Role.X, Role.Y))
    said = f"{taken} are taken as the body's centre; {', '.join(apart)}: please confirm, especially for connectors"
    return [Note(said, Place(table.file, table.header_row))]


def _unread_rotation(table: Table, columns: Columns) -> list[Note]:
    """Return a note where a title speaks of the rotation and its cells are no angles: the parts then have none."""
    if Role.ROTATION in columns.index:
        return []
    for name, column in zip(table.header, table.columns, strict=False):
        if Role.ROTATION in read_title(name).claims and any(column):
            shown = next(cell for cell in column if cell)[:30]
            said = f'"{name}" is not read as the rotation: its cells are no angles, such as "{shown}"'
            return [Note(said, Place(table.file, table.header_row))]
    return []


def _read_rotation(
    table: Table, columns: Columns, decimal: str | None, problems: Problems, decisions: list[Decision]
) -> Floats:
    """Return the angles in degrees, 0 up to but not including 360; NaN where the cell is blank."""
    column = columns.index.get(Role.ROTATION)
    if column is None:
        return np.full(len(table), np.nan)
    # Few angles differ: each is read once.
    codes, texts = code(table.columns[column])
    values, units = read_numbers([TURNED.sub("", text, count=1) for text in texts], decimal=decimal)
    distinct = {u.casefold() for u in units}
    bad = {
        k
        for k, (text, value, unit) in enumerate(zip(texts, values.tolist(), units, strict=True))
        if (text.strip() and not math.isfinite(value)) or unit.casefold() not in {*_DEGREES, "rad"}
    }
    if bad:
        rows = np.flatnonzero(np.isin(codes, list(bad))).tolist()
        _report(table, column, rows, ("is not an angle", "the part would be turned wrongly"), problems)
    stated = (columns.units.get(Role.ROTATION) or "").casefold()
    if stated.startswith("rad") or distinct - {""} == {"rad"}:
        values = np.degrees(values)
    elif not stated and not distinct - {""} and looks_like_radians(values[codes]):
        values = np.degrees(values)
        decisions.append(
            Decision(
                Topic.ROTATION,
                "angles are in radians",
                "all are below 2π and fall on eighths of a turn only as radians",
                "degrees",
                'the unit in the header, such as "Rotation (deg)"',
                place=Place(table.file),
            )
        )
    # Rounded to a ten-thousandth, so that 1.5708 rad is 90° and -1e-9° is 0.
    turned = np.round(np.mod(np.round(values, 4), 360.0), 4)
    turned[turned == 360.0] = 0.0
    return np.asarray(turned[codes], dtype=np.float64)


def looks_like_radians(values: Floats) -> bool:
    """Whether angles make sense only as radians: within a turn, some not whole, those on eighths of a turn."""
    known = values[np.isfinite(values)]
    odd = known[known != np.round(known)]
    if not len(odd) or np.abs(known).max() > 2 * math.pi + 0.01:
        return False
    eighths = odd / (math.pi / 4)
    whole = known[known == np.round(known)]
    # 3.14 is a quarter turn to two decimals: half a hundredth of slack. Whole numbers other than 0 are degrees.
    return bool((np.abs(eighths - np.round(eighths)) < 0.008).mean() >= 0.5) and not bool(np.any(whole != 0))


def _read_side(table: Table, columns: Columns, known: Known, problems: Problems, decisions: list[Decision]) -> Codes:
    column = columns.index.get(Role.SIDE)
    mirror = columns.index.get(Role.LAYER_MIRROR)
    if column is None and mirror is None:
        return _side_by_angle(table, columns, known, decisions)
    cells = table.columns[column if column is not None else mirror]  # type: ignore[index]
    numbers_of, labels = code(cells)
    sides = read_side_labels(labels) if column is not None else read_mirror_labels(labels)
    unknown = [label for label, side in sides.items() if side is None]
    name = table.header[column if column is not None else mirror] if table.header else "side"  # type: ignore[index]
    for label in unknown[:_SHOWN_PROBLEMS]:
        first = cells.index(label)
        problems.add(
            Place(table.file, table.row_numbers[first], name, table.sheet),
            f'"{label}" is not a side of the board ({cells.count(label)} rows)',
            "a whole side could stay unbuilt",
            'write top or bottom, or name the column of the side in board.toml: [columns.placements] side = "…"',
        )
    codes = code_column(labels, sides)[numbers_of]
    if np.all(codes == Side.UNKNOWN) and not unknown:
        return _side_without_column(table, known, decisions)
    numbers = sorted(label for label in labels if label.strip() and side_is_number(label))
    if numbers and column is not None:
        meaning = ", ".join(f"{n} = {sides[n]}" for n in numbers if sides[n] is not None)
        decisions.append(Decision(Topic.SIDE, meaning, "sides are numbers", "", "", place=Place(table.file)))
    return codes


def side_is_number(label: str) -> bool:
    """Whether a side label is a bare number."""
    return label.strip().isdigit()


def _side_by_angle(table: Table, columns: Columns, known: Known, decisions: list[Decision]) -> Codes:
    """Return the sides that letters before the angles tell, ``R90`` and ``MR90``; else look for them elsewhere."""
    column = columns.index.get(Role.ROTATION)
    codes, texts = code(table.columns[column]) if column is not None else (np.zeros(0, dtype=np.int64), [])
    marks = [TURNED.match(text) for text in texts]
    if not any(mark and mark[1] for mark in marks) or not all(
        mark or not text for mark, text in zip(marks, texts, strict=True)
    ):
        return _side_without_column(table, known, decisions)
    decisions.append(
        Decision(
            Topic.SIDE,
            "bottom where an angle begins with M",
            "angles are written R90 and MR90",
            place=Place(table.file),
        )
    )
    side = [Side.UNKNOWN if mark is None else Side.BOTTOM if mark[1] else Side.TOP for mark in marks]
    return np.array(side, dtype=np.int8)[codes]


def _side_without_column(table: Table, known: Known, decisions: list[Decision]) -> Codes:
    if known.side is not None:
        return np.full(len(table), int(known.side), dtype=np.int8)
    titled = sides_by_titles(table)
    if titled is not None:
        sides, decision = titled
        decisions.append(decision)
        return sides
    found = side_from_names(table.file, table.sheet, table.preamble) or known.paired
    if found is None:
        decisions.append(
            Decision(
                Topic.SIDE,
                "unknown",
                "no column and no name tells the side",
                "",
                'side = "top"',
                open=True,
                place=Place(table.file),
            )
        )
        return np.full(len(table), int(Side.UNKNOWN), dtype=np.int8)
    side, evidence = found
    decisions.append(
        Decision(Topic.SIDE, f"all rows are {side}", evidence, "", f'side = "{side}"', place=Place(table.file))
    )
    return np.full(len(table), int(side), dtype=np.int8)

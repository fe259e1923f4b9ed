"""The shop's own library of bodies: a CSV or XLSX table, keyed by part number, footprint, value or reference.

The first row names the columns; a size's unit stands in its title (``height [mm]``) or in each cell (``1.2 mm``).
A part number is the same in capitals or small letters, with spaces and hyphens or without. Where a row states none,
its value is a key beside the footprint or the reference. A row with references may name the board that they are of.
Part numbers and footprints may hold wildcards: ``*`` for any text, ``?`` for one character. A reference goes before
all else, an exact key before a pattern, a part number before a footprint, and among patterns the one with more
letters. Empty cells state nothing.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from capcheck.intake import CellError, expand_references, read_measure
from capcheck.model import Basis, LeadStyle, Mounting, Packaging
from capcheck.packages.candidate import Candidate, Column, Trust, sides
from capcheck.packages.library_entries import Entry, Library, build_library, family_named
from capcheck.values import (
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    Dimension,
    InputError,
    Interval,
    Place,
    Problems,
    as_written,
    nearest,
    pattern,
    reading,
    refuse_special,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

MEASURES: Final[dict[str, Dimension]] = {
    "length": LENGTH,
    "width": LENGTH,
    "height": LENGTH,
    "span": LENGTH,
    "pitch": LENGTH,
    "ball diameter": LENGTH,
    "lead width": LENGTH,
    "lead length": LENGTH,
    "force needed": FORCE,
    "force allowed": FORCE,
    "mass": MASS,
    "tape width": LENGTH,
    "tape pitch": LENGTH,
    "pocket depth": LENGTH,
    "reel": LENGTH,
    "parts per reel": NUMBER,
    "lost per thousand": NUMBER,
    "pins": NUMBER,
}
"""Columns that hold a number, with its dimension."""
_MAY_BE_NOTHING: Final = ("lost per thousand",)
"""Those of them that may be 0: of a costly part every one that is lost is found again."""
_YES_OR_NO: Final = ("yes", "no")
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "mounting": tuple(Mounting),
    "lead style": tuple(LeadStyle),
    "supply": tuple(Packaging),
    "family": (),
    "nozzle": (),
    "polarised": _YES_OR_NO,
    "hidden joints": _YES_OR_NO,
    "length along x": _YES_OR_NO,
}
"""The words that a column may hold; any text where none stand here."""
LIBRARY_KEYS: Final = ("part number", "footprint", "value", "reference", "board")
"""Columns by which a part is found."""
_ALONE: Final = ("part number", "footprint", "reference")
"""Those of them that name a part without another."""
STATED_IN_LIBRARY: Final = (*MEASURES, *_WORDS)
"""Columns that state something of a part."""
_FREE: Final = ("used by", "what is missing", "note", "source")
_COLUMNS: Final = (*LIBRARY_KEYS, *STATED_IN_LIBRARY, *_FREE)
_SAME_AS: Final = {
    "mpn": "part number",
    "partnumber": "part number",
    "part no": "part number",
    "package": "footprint",
    "thickness": "height",
    "weight": "mass",
    "reel diameter": "reel",
    "attrition per thousand": "lost per thousand",
    "polarized": "polarised",
    "comment": "note",
    "remark": "note",
}
_TITLE: Final = pattern(r"(?P<name>[^\[(]*[^\[(\s])\s*(?:[\[(]\s*(?P<unit>[A-Za-zµ\"]+)\s*[\])])?")


def load_library(path: str | Path) -> Library:
    """Return the shop's library from a CSV or XLSX file.

    Raises :class:`~capcheck.values.InputError` with every problem of the file: a column it does not know, a cell
    that is no measure, a row without a key, two rows with the same keys that differ.
    """
    with reading(path):
        return _read(Path(path))


def _read(path: Path) -> Library:
    file = str(path)
    rows = _rows(path)
    if not rows:
        raise InputError.at(
            file, "the library is empty", "no part would be found in it", "write a header row and one row a part"
        )
    problems = Problems()
    columns = library_columns(rows[0][1], Place(file, rows[0][0]), problems)
    entries: list[Entry] = []
    seen: dict[tuple[str, ...], Entry] = {}
    for number, cells in rows[1:]:
        entry = _entry(cells, columns, file, number, problems)
        if entry is None:
            continue
        _refuse_twice(entry, seen, Place(file, number), problems)
        entries.append(entry)
    problems.raise_if_any()
    return build_library(file, entries)


def _refuse_twice(entry: Entry, seen: dict[tuple[str, ...], Entry], where: Place, problems: Problems) -> None:
    """Add a problem where a row *seen* before has the keys of *entry* and another body."""
    clash = None
    for reference in entry.references or ("",):
        earlier = seen.setdefault((*entry.key, reference.casefold(), entry.board.casefold()), entry)
        if earlier is not entry and not _same(earlier.candidate, entry.candidate):
            clash = earlier
    if clash is not None:
        called = entry.part_number or entry.footprint or " ".join(entry.references)
        problems.add(
            where,
            f'"{called}" stands in {clash.where} too, with another body',
            "only one of the two can be right",
            "delete one of the rows, or add the footprint that tells them apart",
        )


def _same(one: Candidate, other: Candidate) -> bool:
    return all(
        getattr(one, f) == getattr(other, f)
        for f in ("length", "width", "height", "span", "pitch", "mass", "pins", "lead_style")
    )


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    refuse_special(path)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError.at(
            str(path), f"the library cannot be read: {error.strerror or error}", "", "check the path"
        ) from error
    if data[:4] == b"PK\x03\x04" or data[:4] == b"\xd0\xcf\x11\xe0":
        grid = _sheet(data, path)
    else:
        text = _decoded(data)
        first = text.partition("\n")[0]
        delimiter = max(",;\t", key=first.count)
        grid = [(reader_line, row) for reader_line, row in _numbered(text, delimiter)]
    return [(number, [as_written(c.strip()) for c in cells]) for number, cells in grid if any(c.strip() for c in cells)]


def _decoded(data: bytes) -> str:
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def _numbered(text: str, delimiter: str) -> Iterable[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    start = 1
    for row in reader:
        yield start, row
        start = reader.line_num + 1


def _sheet(data: bytes, path: Path) -> list[tuple[int, list[str]]]:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        sheet = CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_index(0)
        rows = sheet.to_python(skip_empty_area=False)
    except CalamineError as error:
        raise InputError.at(
            str(path), "the library is not a readable workbook", str(error), "save it again, as XLSX or CSV"
        ) from error
    # A typed number comes as a float: 402.0 was written 402, and pins 8.0 are 8.
    return [
        (i + 1, [str(int(c)) if isinstance(c, float) and c.is_integer() else str(c) for c in row])
        for i, row in enumerate(rows)
    ]


def library_columns(header: Sequence[str], where: Place, problems: Problems) -> dict[str, tuple[int, str | None]]:
    """Return where each column of a header stands, with the unit of its cells; what is wrong is added."""
    found: dict[str, tuple[int, str | None]] = {}
    for i, title in enumerate(header):
        match = _TITLE.fullmatch(title)
        if not title or match is None:
            continue
        name = re.sub(r"[\s_-]+", " ", match["name"].strip().casefold())
        unit = match["unit"]
        head, _, last = name.rpartition(" ")
        if unit is None and last in {"mm", "mil", "in", "inch", "g", "mg"}:
            name, unit = head, last
        name = _SAME_AS.get(name, name)
        if name not in _COLUMNS:
            problems.add(
                Place(where.file, where.row, title),
                "is not a column of a library",
                "what it states would be lost without a word",
                nearest(name, _COLUMNS) or f"use one of: {', '.join(_COLUMNS)}",
            )
        elif name in found:
            problems.add(Place(where.file, where.row, title), "stands twice", "", "keep one of the two columns")
        else:
            found[name] = (i, unit)
    if not any(key in found for key in _ALONE):
        problems.add(
            where,
            'has neither a column "part number" nor "footprint" nor "reference"',
            "no part could be found in the library",
            "name one of the three in the first row",
        )
    return found


def _entry(
    cells: Sequence[str], columns: dict[str, tuple[int, str | None]], file: str, row: int, problems: Problems
) -> Entry | None:
    def cell(name: str) -> str:
        at = columns.get(name)
        return cells[at[0]].strip() if at is not None and at[0] < len(cells) else ""

    values: dict[str, Any] = {}
    for name, dimension in MEASURES.items():
        text = cell(name)
        if text:
            value = _measure(text, name, dimension, columns[name][1], where=Place(file, row, name), problems=problems)
            if value is not None:
                values[name.replace(" ", "_")] = value
    values |= _said_in_words(cell, Place(file, row), problems)
    if not values:
        # A row of a template that nobody has filled in yet states nothing; that is no error.
        return None
    if not any(map(cell, _ALONE)):
        problems.add(
            Place(file, row),
            "has neither a part number nor a footprint nor a reference",
            "no part can be found by it",
            "fill in one of the three, or delete the row",
        )
        return None
    if "length" in values and "width" in values and not values.get("oriented"):
        values["length"], values["width"] = sides(values["length"], values["width"])
    where = f"{Path(file).name}:{row}"
    candidate = Candidate(
        Basis.LIBRARY,
        Trust.LIBRARY,
        Column.LIBRARY,
        where,
        family_key=family_named(values.get("family", "")),
        **values,
    )
    part_number = cell("part number")
    beside = "" if part_number else cell("value")
    references = _references(cell("reference"), Place(file, row, "reference"), problems)
    return Entry(part_number, cell("footprint"), candidate, where, beside, references, cell("board"))


def _said_in_words(cell: Callable[[str], str], where: Place, problems: Problems) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, allowed in _WORDS.items():
        text = cell(name)
        if not text:
            continue
        word = next((w for w in allowed if w.casefold() == text.casefold()), None)
        if allowed and word is None:
            problems.add(
                Place(where.file, where.row, name),
                f'"{text}" is not a {name}',
                "rules compare it with words they know",
                nearest(text, allowed) or f"use one of: {', '.join(sorted(allowed))}",
            )
        elif allowed == _YES_OR_NO:
            values["oriented" if name == "length along x" else name.replace(" ", "_")] = word == "yes"
        else:
            values[name.replace(" ", "_")] = word or text
    return values


def _references(text: str, where: Place, problems: Problems) -> tuple[str, ...]:
    references, complaints = expand_references(text)
    for complaint in complaints:
        problems.add(where, complaint, "no part can be found by it", "write it like R1, R3-R5")
    # A reference may look like a list or a range: 47uF 35V, J1-2.
    return tuple(dict.fromkeys((*references, *([text] if text else []))))


def _measure(
    text: str, name: str, dimension: Dimension, unit: str | None, *, where: Place, problems: Problems
) -> Interval | int | None:
    try:
        value = read_measure(text, dimension, unit="" if dimension is NUMBER else unit, decimal=".")
    except CellError as error:
        problems.add(where, error.what, error.why, error.remedy)
        return None
    if value.low < 0:
        problems.add(where, f'"{text}" is negative', f"a {name} is not", f'write it like "{dimension.example}"')
        return None
    if value.high == 0 and name not in _MAY_BE_NOTHING:
        problems.add(
            where, f'"{text}" is nothing', f"no part has a {name} of 0", "leave the cell empty if it is not known"
        )
        return None
    if dimension is not NUMBER:
        return value
    if not value.is_exact or value.low != int(value.low):
        problems.add(where, f'"{text}" is not a whole number', f"{name} are counted", "write a whole number, such as 8")
        return None
    return int(value.low)

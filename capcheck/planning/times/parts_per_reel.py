"""How many parts a reel, tray or stick holds, from a list of the shop: a CSV with a part number and a number a row."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from capcheck.values import InputError, Place, Problems, reading, refuse_special

COLUMNS = ("part number", "parts per container")


def read_containers(path: str | Path) -> dict[str, int]:
    """Return the number of parts on a reel, in a tray or in a stick by part number.

    The file has the columns ``part number`` and ``parts per container``. Raises :class:`InputError` with all that is
    wrong in it.
    """
    with reading(path):
        return _read(Path(path))


def _read(path: Path) -> dict[str, int]:
    where = str(path)
    refuse_special(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8"
        raise InputError.at(where, f"cannot be read: {reason}") from None
    rows = csv.reader(io.StringIO(text))
    header = [cell.strip().lower() for cell in next(rows, [])]
    missing = [name for name in COLUMNS if name not in header]
    if missing:
        what = f"has no column {' and none '.join(missing)}"
        raise InputError.at(Place(where, 1), what, "refills are worked out from both", f"head it {', '.join(COLUMNS)}")
    at, number = (header.index(name) for name in COLUMNS)
    problems = Problems()
    found: dict[str, int] = {}
    for row in rows:
        if not any(cell.strip() for cell in row):
            continue
        place = Place(where, rows.line_num, COLUMNS[1])
        part, cell = (row[k].strip() if k < len(row) else "" for k in (at, number))
        if not part:
            problems.add(
                Place(where, rows.line_num, COLUMNS[0]), "is empty", "it says whose the number is", "name the part"
            )
        elif not cell.isdecimal() or int(cell) < 1:
            problems.add(
                place, f'"{cell}" is not a number of parts', "a reel holds one or more", "write a whole number"
            )
        elif found.setdefault(part, int(cell)) != int(cell):
            problems.add(place, f'"{part}" has {found[part]} in another row', "one of the two is wrong", "keep one")
    problems.raise_if_any()
    return found

"""Rows set apart: those that are bought, or state a size, a number or a package, come back; notes tell of others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.placements.placement_columns import PlacementColumns
from capcheck.intake.placements.row_kinds import Feature, beside_feature, names_no_more, names_no_part
from capcheck.intake.tables import Role
from capcheck.model import BomLine, Kind, Note, Said, say
from capcheck.values import Place, pattern

_SIZES = ("length", "width", "height", "mass")
"""What a row may state of a body; pads of a feature have a number of pins too."""

NamesBody = Callable[[str], bool]
"""Whether a text names a body that is placed: ``SOT-23``, ``R0603``, ``RESC1608X55N``; a higher room knows packages."""
_TEXTS: Final = (Role.VALUE, Role.DESCRIPTION, Role.COMMENT)
"""Where a row names its package beside the footprint."""


class _Back(Struct, frozen=True):
    """Why a row comes back as a part: *name* is what is bought or stated, *where* it stands.

    *doubted* says that a text names a feature all the same.
    """

    name: Said | str
    where: Place
    by_bom: bool
    doubted: bool


def parts_among(
    files: Sequence[PlacementColumns], lines: Sequence[BomLine], names_body: NamesBody
) -> tuple[list[PlacementColumns], list[Note]]:
    """Return the files with those rows as parts that were set apart and are bought by the BOM, or state what they are.

    A fitted line buys a part where its part number or value says more than the name of a feature does; a row states one
    by such a part number, by the size of a body, or by a package where its footprint is none of a feature. Where a text
    names a fiducial, a hole or a test point all the same, or the letters of the reference alone do against a package,
    the part is *doubted*: somebody has to say. What board.toml states stays. A note tells of the others.
    """
    kept: list[PlacementColumns] = []
    notes: list[Note] = []
    for file in files:
        apart = [i for i, told in sorted(file.apart.items()) if not told.stated]
        bought = _lines_of([file.ref[i] for i in apart], lines) if apart else {}
        back = {i: told for i in apart if (told := _back(file, i, bought.get(file.ref[i].upper()), names_body))}
        kept.append(_with_parts(file, back) if back else file)
        notes += _taken_as_parts(file, {i: told for i, told in back.items() if not told.doubted})
    return kept, notes


def _lines_of(refs: Sequence[str], lines: Sequence[BomLine]) -> dict[str, BomLine]:
    """Return the line of each reference that has one, a fitted one before others, by the reference in capitals."""
    wanted = {spelling for ref in refs for spelling in (ref, ref.upper(), ref.lower())}
    found: dict[str, BomLine] = {}
    for line in sorted(lines, key=lambda line: not line.fitted):
        for ref in wanted.intersection(line.refs):
            found.setdefault(ref.upper(), line)
    return found


def _back(file: PlacementColumns, i: int, line: BomLine | None, names_body: NamesBody) -> _Back | None:
    """Return why row *i* is a part after all; None where nothing speaks for it."""
    own = [file.text(role, i) for role in (Role.FOOTPRINT, Role.VALUE)]
    if line is not None and line.fitted and (name := _bought(line)):
        texts = (*own, line.part_number, line.value, line.description, line.package)
        return _Back(name, line.place, by_bom=True, doubted=names_no_part(" ".join(texts)))
    if name := _stated(file, i, own):
        return _Back(name, file.place(i), by_bom=False, doubted=True)
    if line is not None and not line.fitted:
        return None
    if name := _package_named(file, i, names_body):
        return _Back(name, file.place(i), by_bom=False, doubted=True)
    texts = () if line is None else (line.package, line.description)
    name = next((text for text in texts if _is_body(text, names_body)), "")
    return _Back(name, line.place, by_bom=True, doubted=True) if line is not None and name else None


def _package_named(file: PlacementColumns, i: int, names_body: NamesBody) -> str:
    """Return the text of the row by which a body stands there; empty where none does, or its footprint is a feature's.

    What stands on the copper says more than a value: ``TESTPOINT-PAD-1.5`` with the value ``SMA`` is a test point.
    """
    footprint = file.text(Role.FOOTPRINT, i)
    if _is_body(footprint, names_body):
        return footprint
    texts = () if names_no_part(footprint) else (file.text(role, i) for role in _TEXTS)
    return next((text for text in texts if _is_body(text, names_body)), "")


def _is_body(text: str, names_body: NamesBody) -> bool:
    return bool(text) and names_body(beside_feature(text))


def _bought(line: BomLine) -> Said | str:
    """Return what a line buys; empty where it says no more than that a feature of the board stands there."""
    if _is_part_number(line.part_number):
        return line.part_number
    if any(line.dimensions.get(size) for size in _SIZES) or not names_no_more(line.value):
        return say("placements.value and package", value=line.value, package=line.package)
    return "" if line.part_number or line.value or names_no_more(line.description) else line.description


def _stated(file: PlacementColumns, i: int, own: Sequence[str]) -> Said | str:
    """Return what the row states of a part: a number of its own, the size of a body, or its value or footprint.

    A number that is put together from footprint and value, as some programs write it, says nothing of its own.
    """
    number = file.text(Role.PART_NUMBER, i)
    composed = number not in own and any(own) and all(text.casefold() in number.casefold() for text in own if text)
    if not composed and _is_part_number(number):
        return number
    sizes = file.dimensions.of_row(i)
    stated = [size for size in _SIZES if size in sizes and sizes[size][0].high > 0]
    if stated:
        return say("placements.sizes", sizes=stated)
    if not file.apart[i].against_letters:
        return ""
    # The letters stand for a part: whatever feature one text names, the other may say what is placed.
    value, footprint = file.text(Role.VALUE, i), file.text(Role.FOOTPRINT, i)
    if not names_no_more(value):
        return value
    return "" if names_no_part(footprint) or names_no_more(footprint) else footprint


def _is_part_number(text: str) -> bool:
    """Whether parts can be ordered by a text: ``5019`` and ``P-77``, not ``Fiducial``, ``TP-1.0`` and item 12."""
    if not any(map(str.isdigit, text)) or names_no_part(text):
        return not names_no_more(text)
    return not _BARE_NUMBER.fullmatch(text)


_BARE_NUMBER: Final = pattern(
    r"(?i)\W*(?:(?:tp[a-z]?|fid|mh|nt|sj)[-_ ]?)?(?:\d{1,2}(?:[-_.,]\d{1,2})?|\d{1,3})(?:mm)?\W*"
)
"""Class letters with a size or a number, and numbers as lists count their items."""


def _with_parts(file: PlacementColumns, back: Mapping[int, _Back]) -> PlacementColumns:
    kind = file.kind.copy()
    kind[list(back)] = Kind.PART
    doubted = {i: _question(file, i, told) for i, told in back.items() if told.doubted}
    return replace(file, kind=kind, apart={i: told for i, told in file.apart.items() if i not in back}, doubted=doubted)


def _question(file: PlacementColumns, i: int, told: _Back) -> Said:
    key = "placements.part by the BOM" if told.by_bom else "placements.part by its row"
    return say(key, name=told.name, feature=say(file.apart[i].feature, rows=1), evidence=file.apart[i].evidence)


def _taken_as_parts(file: PlacementColumns, rows: Mapping[int, _Back]) -> Iterator[Note]:
    """Yield a note on each line of the BOM that makes rows parts."""
    by_line: dict[Place, list[int]] = defaultdict(list)
    for i, told in rows.items():
        by_line[told.where].append(i)
    for same in by_line.values():
        refs = [file.ref[i] for i in same]
        said = say("placements.bought", refs=refs, name=rows[same[0]].name, evidence=file.apart[same[0]].evidence)
        yield Note(said, file.place(same[0]))


def set_apart_by_kind(files: Sequence[PlacementColumns]) -> Iterator[Note]:
    """Yield a note for each file and each feature that lists the rows set apart: fiducials, holes, test points."""
    for file in files:
        rows_of: dict[Feature, list[int]] = defaultdict(list)
        for row, told in sorted(file.apart.items()):
            rows_of[told.feature].append(row)
        for feature in Feature:
            if rows := rows_of[feature]:
                said = say(
                    "placements.set apart",
                    rows=len(rows),
                    feature=say(feature, rows=len(rows)),
                    refs=[file.ref[row] for row in rows],
                    evidence=file.apart[rows[0]].evidence,
                )
                yield Note(said, file.place(rows[0]))

"""Which files of a folder are the placements, the bill of materials and the outline: told by content, not by name."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct, field

from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.outline import is_outline_file
from capcheck.intake.tables import Role, read_tables, read_title, recognise, score
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Decision, Note, Topic
from capcheck.values import InputError, Place, Problem, pattern, shortened

if TYPE_CHECKING:
    from capcheck.intake.tables import Table

PURPOSES: Final[tuple[Literal["placements"], Literal["bom"]]] = ("placements", "bom")
_MOST_FILES: Final = 400
_LEAST_SCORE: Final = 0.4
_HEAD: Final = 64 * 1024
_NO_INPUT: Final = frozenset(
    {
        ".toml",
        ".md",
        ".pdf",
        ".png",
        ".jpg",
        ".jpeg",
        ".svg",
        ".zip",
        ".gz",
        ".py",
        ".json",
        ".step",
        ".stp",
        ".doc",
        ".docx",
    }
)
"""Ends of names that are not worth opening; everything else is judged by content."""
_OUTLINE_NAME: Final = pattern(lambda: rf"{vocabulary().layers.outline}|border|dimension|\.(?:gko|gm1|oln)$")


class Found(Struct, frozen=True):
    """The files chosen, with why; *tables* holds what was read on the way, by path."""

    placements: tuple[Path, ...] = ()
    bom: Path | None = None
    outline: Path | None = None
    decisions: tuple[Decision, ...] = ()
    notes: tuple[Note, ...] = ()
    tables: dict[Path, list[Table]] = field(default_factory=dict)


def find_inputs(folder: Path) -> Found:
    """Return the placement files, the BOM and the outline among the files of *folder* (not of folders in it).

    Raises :class:`InputError` if the folder cannot be read or nothing in it looks like placements.
    """
    try:
        files = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith("."))
    except OSError as error:
        raise InputError.at(str(folder), f"cannot be read: {error.strerror}", remedy="check the path") from error
    if len(files) > _MOST_FILES:
        raise InputError.at(
            str(folder),
            f"holds {len(files)} files",
            "opening them all would take long",
            "name the files with --placements",
        )
    drawings: list[tuple[Path, str]] = []
    tables: dict[Path, list[Table]] = {}
    refused: dict[Path, Problem] = {}
    for file in files:
        if file.suffix.lower() in _NO_INPUT:
            continue
        kind = _drawing(file)
        if kind is not None:
            drawings.append((file, kind))
            continue
        try:
            tables[file] = read_tables(file)
        except InputError as error:
            refused[file] = error.problems[0]
    scores = {f: (_best(t, "placements"), _best(t, "bom")) for f, t in tables.items()}
    candidates = [f for f, (p, b) in scores.items() if p >= _LEAST_SCORE and p >= b]
    placements, decisions = _one_a_side(candidates, tables, scores)
    if not placements:
        seen = ", ".join(f.name for f in files[:10]) or "nothing"
        raise InputError.at(
            str(folder),
            "no file looks like placement data (references with x and y)",
            f"seen: {seen}",
            'name it with --placements, or in board.toml: placements = "…"',
        )
    boms = sorted(
        (f for f, (p, b) in scores.items() if b >= _LEAST_SCORE and f not in candidates), key=lambda f: -scores[f][1]
    )
    if not boms:
        boms = [f for f in placements if _lists_parts_too(tables[f])]
    if boms:
        others = ", ".join(f.name for f in boms[1:])
        decisions.append(
            Decision(
                Topic.BOM,
                boms[0].name,
                "recognised by its columns",
                others,
                f'bom = "{boms[0].name}"',
                open=bool(others),
            )
        )
    outline, more = _outline(drawings)
    told = " ".join(f"{d.choice} {d.evidence} {d.runner_up}" for d in decisions)
    spoken_of = {*placements, *boms} | {f for f in tables if f.name in told}
    unread = [
        Note(f"not read: {problem.what}", Place(str(file), problem.where.row)) for file, problem in refused.items()
    ]
    unused = (*unread, *_unused({f: t for f, t in tables.items() if f not in spoken_of}))
    return Found(tuple(placements), boms[0] if boms else None, outline, (*decisions, *more), unused, tables)


def _unused(tables: dict[Path, list[Table]]) -> Iterator[Note]:
    """Yield why tables of the folder are not read: what is ambiguous in one, and the names of the others."""
    others = []
    for file, sheets in tables.items():
        open_ = [problem for table in sheets for problem in _ambiguities(table)]
        yield from (Note(f"not used: {p.what} ({p.why}); {p.remedy}", Place(str(file), p.where.row)) for p in open_)
        if not open_:
            others.append(file.name)
    if others:
        yield Note(f"not used, as neither placements nor a bill of materials: {', '.join(others)}")


def _ambiguities(table: Table) -> list[Problem]:
    found: dict[str, Problem] = {}
    for purpose in PURPOSES:
        try:
            recognise(table, purpose)
        except InputError as error:
            found |= {p.what: p for p in error.problems if " may be the " in p.what}
    return list(found.values())


def _drawing(file: Path) -> str | None:
    try:
        with file.open("rb") as stream:
            return is_outline_file(stream.read(_HEAD))
    except OSError:
        return None


def _best(tables: list[Table], purpose: str) -> float:
    return max((score(t, "placements" if purpose == "placements" else "bom") for t in tables), default=0.0)


def _lists_parts_too(tables: list[Table]) -> bool:
    """Whether a workbook with placements has a sheet that lists parts without coordinates."""
    return len(tables) > 1 and any(
        score(t, "bom") >= _LEAST_SCORE and score(t, "placements") < _LEAST_SCORE for t in tables
    )


def _references(tables: list[Table]) -> tuple[frozenset[str], int]:
    """Return the references with coordinates, and in how many roles the columns are understood.

    A title over the references counts for most: without one, nets or test points may stand in their place.
    """
    refs: set[str] = set()
    roles = 0
    for table in tables:
        try:
            columns = recognise(table, "placements")
        except InputError:
            continue
        refs.update(table.columns[columns.index[Role.REF]])
        column = columns.index[Role.REF]
        titled = not table.header or Role.REF in read_title(table.header[column]).claims
        roles = max(roles, len(columns.index) if titled else 0)
    return frozenset(refs), roles


def _one_a_side(
    candidates: list[Path], tables: dict[Path, list[Table]], scores: dict[Path, tuple[float, float]]
) -> tuple[list[Path], list[Decision]]:
    """Return the placement files that go together: those whose references the better ones do not hold already."""
    understood = {f: _references(tables[f]) for f in candidates}
    refs = {f: found for f, (found, _) in understood.items() if found}
    # Of two copies the one that says more: a side, a value.
    ordered = sorted(refs, key=lambda f: (-len(refs[f]), -understood[f][1], -scores[f][0], f.name))
    chosen: list[Path] = []
    spare: list[Path] = []
    taken: set[str] = set()
    known = any(understood[file][1] for file in ordered)
    for file in ordered:
        if len(refs[file] & taken) > len(refs[file]) / 2 or (known and not understood[file][1]):
            spare.append(file)
            continue
        chosen.append(file)
        taken |= refs[file]
    names = ", ".join(f.name for f in chosen)
    if not chosen:
        return [], []
    quoted = ", ".join(f'"{f.name}"' for f in chosen)
    settle = f"placements = [{quoted}]" if len(chosen) > 1 else f"placements = {quoted}"
    evidence = f"{len(taken)} references with coordinates"
    places = places_of([table for file in chosen for table in tables[file]]) if spare else {}
    moved = {file: elsewhere(places, places_of(tables[file])) for file in spare}
    copies = [file for file, refs in moved.items() if refs == []]
    if copies:
        evidence += f"; {', '.join(f.name for f in copies)} {'has' if len(copies) == 1 else 'have'} the same places"
    for file, found in moved.items():
        if found:
            evidence += f"; in {file.name} {len(found)} lie elsewhere: {shortened(found)}"
    others = [file for file in spare if file not in copies]
    return sorted(chosen), [
        Decision(Topic.PLACEMENTS, names, evidence, ", ".join(f.name for f in others), settle, open=bool(others))
    ]


def _outline(drawings: list[tuple[Path, str]]) -> tuple[Path | None, list[Decision]]:
    """Return the drawing that is the contour: by its own words, else by its name; DXF before Gerber."""
    ranked = sorted(
        drawings,
        key=lambda d: (not _says_profile(d[0]), not _OUTLINE_NAME.search(fold(d[0].name)), d[1] != "dxf", d[0].name),
    )
    gerbers = [d for d in ranked if d[1] == "gerber"]
    if not ranked:
        return None, []
    best = ranked[0][0]
    named = _says_profile(best) or bool(_OUTLINE_NAME.search(fold(best.name)))
    if not named and ranked[0][1] == "gerber" and len(gerbers) > 1:
        return None, [
            Decision(
                Topic.OUTLINE,
                "none",
                f"{len(gerbers)} Gerber files, and none says that it is the contour",
                "",
                'outline = "…"',
                open=True,
            )
        ]
    others = ", ".join(d[0].name for d in ranked[1:4])
    return best, [
        Decision(
            Topic.OUTLINE,
            best.name,
            "recognised by content",
            others,
            f'outline = "{best.name}"',
            open=bool(others) and not named,
        )
    ]


def _says_profile(file: Path) -> bool:
    with file.open("rb") as stream:
        return re.search(rb"TF\.FileFunction,\s*Profile", stream.read(_HEAD)) is not None

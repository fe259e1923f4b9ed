"""Which files of a folder are the placements, the bill of materials and the outline: told by content, not by name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct, field

from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.outline import HEAD_BYTES, Likeness, OutlineForm, likeliest_form
from capcheck.intake.tables import Role, read_tables, read_title, recognise, score
from capcheck.model import Decision, Note, Topic
from capcheck.values import InputError, Place, Problem, pattern, shortened

if TYPE_CHECKING:
    from capcheck.intake.tables import Table

PURPOSES: Final[tuple[Literal["placements"], Literal["bom"]]] = ("placements", "bom")
_MOST_FILES: Final = 400
_LEAST_SCORE: Final = 0.4
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
_OUTLINE_NAME: Final = pattern(r"(?i)outline|edge|profile|contour|kontur|umriss|border|dimension|\.gko$|\.gm1$|\.oln$")


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
    drawings: list[_Drawing] = []
    tables: dict[Path, list[Table]] = {}
    refused: dict[Path, Problem] = {}
    for file in files:
        if file.suffix.lower() in _NO_INPUT:
            continue
        drawing = _drawing(file)
        if drawing is not None:
            drawings.append(drawing)
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


class _Drawing(Struct, frozen=True):
    """A file that may be the outline; its content or its name may say that it is."""

    file: Path
    form: OutlineForm
    says_so: bool
    named_so: bool


def _drawing(file: Path) -> _Drawing | None:
    try:
        with file.open("rb") as stream:
            form, likeness = likeliest_form(stream.read(HEAD_BYTES))
    except OSError:
        return None
    if likeness < Likeness.OUTLINE:
        return None
    return _Drawing(file, form, likeness == Likeness.SAYS_OUTLINE, bool(_OUTLINE_NAME.search(file.name)))


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


def _outline(drawings: list[_Drawing]) -> tuple[Path | None, list[Decision]]:
    """Return the drawing that is the contour: by its own words, else by its name; forms with all layers first."""
    ranked = sorted(drawings, key=lambda d: (not d.says_so, not d.named_so, d.form.file_a_layer, d.file.name))
    if not ranked:
        return None, []
    best, *others = ranked
    told = best.says_so or best.named_so
    layers = [d for d in ranked if d.form.file_a_layer]
    if not told and best.form.file_a_layer and len(layers) > 1:
        return None, [
            Decision(
                Topic.OUTLINE,
                "none",
                f"{len(layers)} {best.form.name} files, and none says that it is the contour",
                "",
                'outline = "…"',
                open=True,
            )
        ]
    return best.file, [
        Decision(
            Topic.OUTLINE,
            best.file.name,
            "recognised by content",
            ", ".join(d.file.name for d in others[:3]),
            f'outline = "{best.file.name}"',
            open=bool(others) and not told,
        )
    ]

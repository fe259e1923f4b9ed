"""Which files of a folder are the placements, the bill of materials and the outline: told by content, not by name."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.files import as_named, leads_inside
from capcheck.intake.folder.file_kinds import NO_INPUT, Drawing, sorted_out
from capcheck.intake.folder.found import Found
from capcheck.intake.folder.no_board import NoPlacementsError, SeveralBoardsError
from capcheck.intake.folder.not_read import damage_of_list, not_read
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.tables import Purpose, Recognised, Role, read_title
from capcheck.lexicon import fold, vocabulary
from capcheck.model import NOTHING, Decision, Discrepancy, Note, Said, Topic, say
from capcheck.values import InputError, Place, Problem, UnreadableError, in_toml, pattern

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

_PURPOSES: Final[tuple[Purpose, ...]] = ("placements", "bom")
_MOST_FILES: Final = 400
_MOST_SECONDS: Final = 20.0
_LEAST_SCORE: Final = 0.4
_CERTAIN: Final = 0.6
"""A score that no text in sentences reaches by chance."""
_CUT_NAME: Final = pattern(lambda: str(vocabulary().layers.cut_out))


def find_inputs(
    folder: Path,
    opened: OpenedFiles,
    further: Sequence[Path] = (),
    *,
    only: Sequence[Path] | None = None,
    netlists: bool = False,
) -> Found:
    """Return the placement files, the BOM and the outline among the files of *folder* and *further* ones.

    With *only* those are looked at alone: they are of one board. With *netlists* these place the parts, where no other
    file may be meant to. Raises :class:`InputError` if the folder cannot be read or nothing in it looks like
    placements, :class:`SeveralBoardsError` where lists of several boards lie there.
    """
    from capcheck.intake.said_beside import said_beside
    from capcheck.intake.size_lists import size_tables

    files: list[Path] = [*(_files_of(folder) if only is None else only), *further]
    notes: list[Note] = []
    asked: list[Discrepancy] = []
    tables: dict[Path, list[Recognised]] = {}
    unread: list[Problem] = []
    kinds = sorted_out(files)
    end = time.monotonic() + _MOST_SECONDS
    for file in kinds.others:
        if time.monotonic() > end:
            raise UnreadableError.at(
                str(folder),
                f"reading its files takes more than {_MOST_SECONDS:.0f} s",
                "no package of a board takes a tenth of that",
                "take out what is not of the board, or name the files in board.toml",
            )
        try:
            tables[file] = opened.tables(file)
        except InputError as error:
            if isinstance(error, UnreadableError):
                raise _hides_parts(error, file) from None
            problem = error.problems[0]
            unread += error.problems
            if damage_of_list(file):
                asked.append(not_read(file, problem.what))
            else:
                notes.append(Note(say("find.not read", what=problem.what), Place(str(file), problem.where.row)))
    lists = _placed_by(kinds.fabrication, tables, opened, unread, netlists=netlists)
    if lists is None:
        raise _no_placements(folder, files, tables, unread, kinds.fabrication)
    decisions = [lists.decision()]
    if only is None and len(lists.references_of) > 1:
        from capcheck.intake.folder.lists_apart import boards_side_by_side, parts_listed_apart

        if boards := boards_side_by_side(lists.references_of, tables, kinds, files):
            raise SeveralBoardsError.side_by_side(folder, boards)
        if parts_listed_apart(lists.references_of, tables):
            evidence = say("find.parts listed apart", evidence=decisions[0].evidence)
            decisions = [replace(decisions[0], evidence=evidence, runner_up=say("find.a board each"), open=True)]
    boms = _boms(tables, lists)
    if len(boms) == 1:
        decisions.append(
            Decision(
                topic=Topic.BOM,
                choice=_names(boms[:1]),
                evidence=say("find.by its columns"),
                settle=f"bom = {in_toml(as_named(boms[0]))}",
            )
        )
    outlines, more = _outlines(kinds.drawings)
    spoken_of = {*lists.chosen, *lists.spare, *boms}
    listed = {f: size_tables(t) for f, t in tables.items()}
    listed = {f: found for f, found in listed.items() if found}
    notes += [Note(say("find.sizes by part number"), Place(str(file))) for file in listed]
    unused = {f: t for f, t in tables.items() if f not in spoken_of and f not in listed}
    notes += _unused(unused)
    return Found(
        placements=tuple(sorted(lists.chosen)),
        bom=boms[0] if boms else None,
        further_boms=tuple(boms[1:]),
        outlines=outlines,
        drills=tuple(kinds.drills),
        fabrication=tuple(kinds.fabrication),
        layers=tuple(kinds.layers),
        repeats={str(file): refs for file, refs in lists.moved.items() if refs is not None},
        unlike=tuple(str(file) for file, refs in lists.moved.items() if refs is None),
        size_lists=tuple(chain.from_iterable(listed.values())),
        beside=said_beside(unused, [f for f in (*kinds.others, *_notes_among(files)) if f not in tables]),
        decisions=(*decisions, *more),
        notes=tuple(notes),
        discrepancies=tuple(asked),
    )


def _placed_by(
    fabrication: Sequence[tuple[Path, Form]],
    tables: dict[Path, list[Recognised]],
    opened: OpenedFiles,
    unread: list[Problem],
    *,
    netlists: bool,
) -> _Lists | None:
    """Return the files that place the parts; lists of files of fabrication that are looked at are added to *tables*."""
    lists = _choose_placements(tables)
    if lists is None and (listing := _listing_themselves(fabrication, opened, unread)):
        tables |= listing
        lists = _choose_placements(tables)
    if lists is None and netlists and not unread and not any(_may_place(found) for found in tables.values()):
        tables |= _listing_themselves(fabrication, opened, unread, by_lands=True)
        lists = _choose_placements(tables)
    return lists


def _listing_themselves(
    fabrication: Sequence[tuple[Path, Form]], opened: OpenedFiles, unread: list[Problem], *, by_lands: bool = False
) -> dict[Path, list[Recognised]]:
    """Return the lists that files of fabrication hold themselves: they count where no table places the parts.

    Those *by_lands* name lands alone. Raises :class:`InputError` where one of a form cannot be read, of which others
    list parts: those of one side alone would be a board without the other's.
    """
    from capcheck.intake.exchange import LISTING, NAMING

    opened.read_beside(fabrication)
    found: dict[Path, list[Recognised]] = {}
    failed: dict[Form, list[Problem]] = {}
    for file, form in fabrication:
        if form in (NAMING if by_lands else LISTING):
            try:
                found[file] = opened.tables(file)
            except InputError as error:
                failed.setdefault(form, []).extend(error.problems)
    if missing := [one for file, form in fabrication if file in found for one in failed.get(form, ())]:
        raise InputError(list(dict.fromkeys(missing)))
    unread += chain.from_iterable(failed.values())
    return found


def _may_place(tables: list[Recognised]) -> bool:
    """Whether a file may be meant to place parts, though its columns are not understood."""
    return _best(tables, "placements") >= _LEAST_SCORE or any(_ambiguities(table) for table in tables)


def _notes_among(files: Iterable[Path]) -> Iterator[Path]:
    """Yield the texts that list nothing, and may speak of parts all the same."""
    return (file for file in files if file.suffix.lower() == ".md")


def _no_placements(
    folder: Path,
    files: Sequence[Path],
    tables: dict[Path, list[Recognised]],
    unread: Sequence[Problem],
    fabrication: Sequence[tuple[Path, Form]],
) -> NoPlacementsError:
    """Return the error of a folder in which nothing looks like placements."""
    from capcheck.intake.exchange import NAMING

    nothing = Problem(
        Place(str(folder)),
        "no file looks like placement data (references with x and y)",
        f"seen: {', '.join(f.name for f in files[:10]) or 'nothing'}",
        'name it with --placements, or in board.toml: placements = "…"',
    )
    error = NoPlacementsError([nothing, *unread])
    error.holds_parts = any(_best(found, "bom") >= _CERTAIN for found in tables.values())
    error.holds_netlist = any(form in NAMING for _, form in fabrication)
    return error


def _hides_parts(error: UnreadableError, file: Path) -> UnreadableError:
    """Return the error of a file that may list parts or draw the board, which is not judged without it."""
    problem = error.problems[0]
    remedy = f"{problem.remedy}; or take {file.name} out of the folder, if it says nothing of the board"
    return UnreadableError(replace(problem, remedy=remedy))


def holds_placements(folder: Path) -> bool:
    """Whether a folder is a board's: something in it looks like placement data, or it cannot be told."""
    try:
        return bool(find_inputs(folder, OpenedFiles()).placements)
    except (UnreadableError, SeveralBoardsError):
        return True
    except InputError:
        return False


def _files_of(folder: Path) -> list[Path]:
    """Return the files of a folder; links that leave it are not followed."""
    try:
        found = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith("."))
    except OSError as error:
        raise InputError.at(str(folder), f"cannot be read: {error.strerror}", remedy="check the path") from error
    if sum(file.suffix.lower() not in NO_INPUT for file in found) > _MOST_FILES:
        raise UnreadableError.at(
            str(folder),
            f"holds {len(found)} files",
            "opening them all would take long",
            "name the files with --placements",
        )
    return [file for file in found if not file.is_symlink() or leads_inside(file, folder)]


def _names(files: list[Path]) -> Said:
    return say("find.files", names=[file.name for file in files]) if files else NOTHING


def looks_like(tables: list[Recognised]) -> Purpose | None:
    """Return what a file's tables look like."""
    scores = {purpose: _best(tables, purpose) for purpose in _PURPOSES}
    best = max(_PURPOSES, key=lambda purpose: scores[purpose])
    return best if scores[best] >= _LEAST_SCORE else None


def _best(tables: list[Recognised], purpose: Purpose) -> float:
    return max((table.score(purpose) for table in tables), default=0.0)


class _Lists(Struct):
    """The placement files that go together, and those that repeat what they hold."""

    candidates: list[Path]
    chosen: list[Path]
    spare: list[Path]
    references: int
    moved: dict[Path, list[str] | None]
    """The references of each spare file that lie elsewhere there; None where the two have nothing in common."""
    references_of: dict[Path, frozenset[str]]
    """The references of each file whose columns are understood as far as those of the others are."""

    def decision(self) -> Decision:
        """Return the choice with its evidence; it is open where a spare file is no copy."""
        copies = [as_named(file) for file, refs in self.moved.items() if refs == []]
        evidence = say("find.copies" if copies else "find.references", count=self.references, copies=copies)
        for file, refs in self.moved.items():
            if refs:
                evidence = say("find.moved", evidence=evidence, file=file.name, count=len(refs), refs=refs)
        others = [file for file in self.spare if as_named(file) not in copies]
        quoted = ", ".join(in_toml(as_named(file)) for file in self.chosen)
        return Decision(
            topic=Topic.PLACEMENTS,
            choice=_names(self.chosen),
            evidence=evidence,
            runner_up=_names(others),
            settle=f"placements = [{quoted}]" if len(self.chosen) > 1 else f"placements = {quoted}",
            open=bool(others),
        )


def _choose_placements(tables: dict[Path, list[Recognised]]) -> _Lists | None:
    """Return the placement files that go together: those whose references the better ones do not hold already."""
    scores = {f: (_best(t, "placements"), _best(t, "bom")) for f, t in tables.items()}
    candidates = [f for f, (placed, listed) in scores.items() if placed >= _LEAST_SCORE and placed >= listed]
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
    if not chosen:
        return None
    places = places_of([table for file in chosen for table in tables[file]]) if spare else {}
    moved = {file: elsewhere(places, places_of(tables[file])) for file in spare}
    of_each = {file: refs[file] for file in ordered if understood[file][1] or not known}
    return _Lists(candidates, chosen, spare, references=len(taken), moved=moved, references_of=of_each)


def _references(tables: list[Recognised]) -> tuple[frozenset[str], int]:
    """Return the references with coordinates, and in how many roles the columns are understood.

    A title over the references counts for most: without one, nets or test points may stand in their place.
    """
    refs: set[str] = set()
    roles = 0
    for recognised in tables:
        table = recognised.table
        try:
            columns = recognised.columns("placements")
        except InputError:
            continue
        column = columns.index[Role.REF]
        refs.update(table.columns[column])
        titled = not table.header or Role.REF in read_title(table.header[column]).claims
        roles = max(roles, len(columns.index) if titled else 0)
    return frozenset(refs), roles


def _boms(tables: dict[Path, list[Recognised]], lists: _Lists) -> list[Path]:
    """Return the files that look like a bill of materials, best first; else workbooks with placements that hold one."""
    scores = {f: _best(t, "bom") for f, t in tables.items() if f not in lists.candidates}
    boms = sorted((f for f, score in scores.items() if score >= _LEAST_SCORE), key=lambda f: -scores[f])
    return boms or [f for f in sorted(lists.chosen) if _lists_parts_too(tables[f])]


def _lists_parts_too(tables: list[Recognised]) -> bool:
    """Whether a workbook with placements has a sheet that lists parts without coordinates."""
    return len(tables) > 1 and any(
        t.score("bom") >= _LEAST_SCORE and t.score("placements") < _LEAST_SCORE for t in tables
    )


def _unused(tables: dict[Path, list[Recognised]]) -> Iterator[Note]:
    """Yield why tables of the folder are not read: what is ambiguous in one, and the names of the others."""
    others = []
    for file, sheets in tables.items():
        ambiguous = [problem for table in sheets for problem in _ambiguities(table)]
        for problem in ambiguous:
            said = say("find.not used", what=problem.what, why=problem.why, remedy=problem.remedy)
            yield Note(said, Place(str(file), problem.where.row))
        if not ambiguous:
            others.append(file.name)
    if others:
        yield Note(say("find.neither", names=others))


def _ambiguities(table: Recognised) -> list[Problem]:
    return list({p.what: p for purpose in _PURPOSES for p in table.ambiguities(purpose)}.values())


def _outlines(drawings: list[Drawing]) -> tuple[tuple[Path, ...], list[Decision]]:
    """Return what may be the contour: by its own words, else by its name; forms with all layers in a file first."""
    ranked = sorted(drawings, key=lambda d: (not d.says_so, not d.named_so, d.form.file_a_layer, d.file.name))
    if not ranked:
        return (), []
    best, *others = ranked
    told = best.says_so or best.named_so
    layers = [d for d in ranked if d.form.file_a_layer]
    if not told and best.form.file_a_layer and len(layers) > 1:
        return (), [
            Decision(
                topic=Topic.OUTLINE,
                choice=say("find.no outline"),
                evidence=say("find.several layers", count=len(layers), form=best.form.name),
                settle='outline = "…"',
                open=True,
            )
        ]
    # Of a form with a file a layer only a file that says so is worth a try: a layer of copper closes contours as well.
    tried = [
        d.file
        for d in ranked
        if not d.form.file_a_layer or d.says_so or d.named_so or d is best or _CUT_NAME.search(fold(d.file.stem))
    ]
    return tuple(tried), [
        Decision(
            topic=Topic.OUTLINE,
            choice=_names([best.file]),
            evidence=say("find.outline by content"),
            runner_up=_names([d.file for d in others[:3]]),
            settle=f"outline = {in_toml(as_named(best.file))}",
            open=bool(others) and not told,
        )
    ]

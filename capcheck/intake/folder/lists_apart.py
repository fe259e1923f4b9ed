"""Whether placement lists side by side in a folder are of one board or of several, and what goes with each.

Lists of several boards place the same references in ways that have nothing to do with each other, or some of them, and
each goes with a bill of materials of its own name that lists its parts alone. A copy, a revision and the other side are
of one board. Where it cannot be told of each list whose it is, the folder is read as one board, and the choice is a
question; and so it is where lists of other references go with lists of parts of their own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.folder.file_kinds import SortedOut
from capcheck.intake.folder.no_board import BoardFiles
from capcheck.intake.tables import (
    Recognised,
    Role,
    expand_references,
    newer,
    read_side_labels,
    side_from_names,
    sides_by_pair,
)
from capcheck.lexicon import fold
from capcheck.model import Floats, Side
from capcheck.values import InputError, pattern

_FEWEST: Final = 5
_OF_ONE: Final = 0.7
"""Share of the spread of the places in one list that follows from those in the other, from which they may be of one
board. Of boards that have nothing in common it is about nothing, of revisions nearly all. Common practice, no
source."""
_ALIKE: Final = 0.5
"""Share of references at the same places from which lists are of one board, whatever became of the others."""
_OWN: Final = 0.5
"""Share of a list's parts that its bill of materials has at least, and that of another board has not."""
_SOME: Final = 4
"""References, more than the fiducials that the lists of two sides may both have. Common practice, no source."""
_TOKEN: Final = pattern(r"[^\W_]+")
_BOARD_FILE: Final = "board.toml"


class _List(Struct):
    """A placement list, with what is compared of it."""

    file: Path
    places: Mapping[str, tuple[float, float]]
    """As written; a reference that stands twice is left out."""
    refs: frozenset[str]


def boards_side_by_side(
    placed: Mapping[Path, frozenset[str]],
    tables: Mapping[Path, list[Recognised]],
    kinds: SortedOut,
    files: Sequence[Path],
) -> dict[Path, BoardFiles]:
    """Return the boards whose lists lie side by side in one folder, by the first list of each; none for one board.

    *placed* are the placement lists among the *tables* with their references; *kinds* are *files* by what they are.
    """
    folders = {file.parent for file in placed}
    found: dict[Path, BoardFiles] = {}
    for folder in sorted(folders):
        own = {file: refs for file, refs in placed.items() if file.parent == folder}
        if len(own) > 1 and not (folder / _BOARD_FILE).exists():
            found |= _boards(own, tables, kinds, [file for file in files if file.parent == folder])
    return found


def parts_listed_apart(placed: Mapping[Path, frozenset[str]], tables: Mapping[Path, list[Recognised]]) -> bool:
    """Whether each of several placement lists goes with a bill of materials of its own: that may be a board each."""
    lists = [_List(file, {}, refs) for file, refs in sorted(placed.items())]
    if len(lists) < 2 or len({one.file.parent for one in lists}) > 1:
        return False
    boms = _boms(placed, tables)
    return all(_listed_apart(a, b, boms, tables) for a, b in combinations(lists, 2))


def _boms(placed: Mapping[Path, frozenset[str]], tables: Mapping[Path, list[Recognised]]) -> dict[Path, frozenset[str]]:
    """Return the references of each table that lists some as a bill of materials does."""
    found = {file: _listed(sheets) for file, sheets in tables.items() if file not in placed}
    return {file: refs for file, refs in found.items() if refs}


def _boards(
    placed: Mapping[Path, frozenset[str]],
    tables: Mapping[Path, list[Recognised]],
    kinds: SortedOut,
    files: Sequence[Path],
) -> dict[Path, BoardFiles]:
    lists = [_List(file, places_of(tables[file]), refs) for file, refs in sorted(placed.items())]
    boms = {file: refs for file, refs in _boms(placed, tables).items() if file in files}
    apart = {
        frozenset((a.file, b.file))
        for a, b in combinations(lists, 2)
        if _placed_apart(a, b) or (_some_apart(a, b) and _listed_apart(a, b, boms, tables))
    }
    groups = _grouped(lists, apart)
    if len(groups) < 2:
        return {}
    names = _telling(groups)
    owner = {file: k for k, group in enumerate(groups) for file in group}
    loose = [file for file in files if file not in owner]
    for file in loose:
        k = _named(file, names, table=file in tables)
        k = _by_parts(boms[file], groups, placed) if k is None and file in boms else k
        if k is not None:
            owner[file] = k
    usable = {*kinds.others, *(d.file for d in kinds.drawings if d.says_so or d.named_so or not d.form.file_a_layer)}
    read = {*usable, *(file for file in loose if file.suffix.lower() == ".md")}
    outlines = {drawing.file for drawing in kinds.drawings}
    known = {*read, *outlines, *kinds.drills, *(f for f, _ in kinds.fabrication), *(one.file for one in kinds.layers)}
    found = {}
    for k, group in enumerate(groups):
        own = [file for file in files if owner.get(file) == k]
        drawn, listed = any(file in outlines for file in own), any(file in boms for file in own)
        shared = [
            file
            for file in loose
            if file not in owner and file in read and not (drawn and file in outlines) and not (listed and file in boms)
        ]
        left = [file for file in loose if file not in owner and file in known and file not in shared]
        others = [file for other in groups if other is not group for file in other]
        found[group[0]] = BoardFiles((*own, *shared), tuple(shared), tuple(left), tuple(others))
    return found


def _placed_apart(one: _List, other: _List) -> bool:
    """Whether two lists share many references, and place them in ways that have nothing to do with each other."""
    shared = [ref for ref in one.places if ref in other.places]
    if len(shared) < max(_FEWEST, min(len(one.places), len(other.places)) / 2) or newer(one.file.name, other.file.name):
        return False
    here, there = (np.array([lists.places[ref] for ref in shared]) for lists in (one, other))
    known = np.isfinite(here).all(axis=1) & np.isfinite(there).all(axis=1)
    same = np.isclose(here[known], there[known]).all(axis=1)
    if known.sum() < _FEWEST or same.mean() >= _ALIKE or _followed(here[known], there[known]) >= _OF_ONE:
        return False
    return elsewhere(one.places, {ref: other.places[ref] for ref in shared}) is None


def _followed(here: Floats, there: Floats) -> float:
    """Return the share of the spread of *there* that any straight mapping of *here* explains, less what chance does."""
    count = len(here)
    columns = np.column_stack([here - here.mean(axis=0), np.ones(count)])
    fitted, *_ = np.linalg.lstsq(columns, there, rcond=None)
    spread = ((there - there.mean(axis=0)) ** 2).sum()
    if spread == 0:
        return 1.0
    return float(1 - ((there - columns @ fitted) ** 2).sum() / spread * (count - 1) / (count - 3))


def _some_apart(one: _List, other: _List) -> bool:
    """Whether some references stand in both lists, at other places: a board has each once."""
    shared = [ref for ref in one.places if ref in other.places]
    return sum(one.places[ref] != other.places[ref] for ref in shared) >= _SOME


def _listed_apart(
    one: _List, other: _List, boms: Mapping[Path, frozenset[str]], tables: Mapping[Path, list[Recognised]]
) -> bool:
    """Whether two lists each go with a bill of materials of their name that has their parts and not the other's."""
    names = _telling([[one.file], [other.file]])
    owned: list[list[frozenset[str]]] = [[], []]
    for file, refs in boms.items():
        if (k := _named(file, names, table=True)) is not None:
            owned[k].append(refs)
    if not all(owned):
        return False
    mine, theirs = (frozenset().union(*refs) for refs in owned)
    if min(_share(one.refs, mine), _share(other.refs, theirs)) < _OWN:
        return False
    if max(_share(other.refs, mine), _share(one.refs, theirs)) >= _OWN:
        return False
    if sides_by_pair([str(one.file), str(other.file)]):
        return False
    here, there = _sides_of(one, tables), _sides_of(other, tables)
    return not (here and there and here.isdisjoint(there))


def _share(refs: frozenset[str], listed: frozenset[str]) -> float:
    return len(refs & listed) / len(refs) if refs else 0.0


def _sides_of(one: _List, tables: Mapping[Path, list[Recognised]]) -> set[Side]:
    """Return the sides that a list places parts on, as its column or its name says."""
    found: set[Side] = set()
    for recognised in tables[one.file]:
        table = recognised.table
        try:
            index = recognised.columns("placements").index
        except InputError:
            continue
        if Role.SIDE in index:
            found |= {
                side for side in read_side_labels(set(table.columns[index[Role.SIDE]])).values() if side is not None
            }
        elif (told := side_from_names(table.file, table.sheet, table.preamble)) is not None:
            found.add(told[0])
    return found - {Side.UNKNOWN}


def _listed(tables: Sequence[Recognised]) -> frozenset[str]:
    """Return the references that tables list as a bill of materials does."""
    refs: set[str] = set()
    for recognised in tables:
        try:
            cells = recognised.columns("bom").references(recognised.table)
        except InputError:
            continue
        for cell in cells:
            refs.update(expand_references(cell)[0])
    return frozenset(refs)


def _grouped(lists: Sequence[_List], apart: set[frozenset[Path]]) -> list[list[Path]]:
    """Return the lists of each board; none where it cannot be told of each list whose it is."""
    seeds: list[_List] = []
    for one in sorted(lists, key=lambda one: (-len(one.refs), one.file)):
        if all(frozenset((one.file, seed.file)) in apart for seed in seeds):
            seeds.append(one)
    if len(seeds) < 2:
        return []
    groups = [[seed.file] for seed in seeds]
    names = _telling(groups)
    for one in lists:
        if any(one is seed for seed in seeds):
            continue
        may = [k for k, seed in enumerate(seeds) if frozenset((one.file, seed.file)) not in apart]
        like = [k for k in may if 2 * len(one.refs & seeds[k].refs) > len(one.refs)]
        named = _named(one.file, names, table=True)
        whose = like[0] if len(like) == 1 else named if named in may else None
        if whose is None:
            return []
        groups[whose].append(one.file)
    if any(frozenset(pair) in apart for group in groups for pair in combinations(group, 2)):
        return []
    return sorted(sorted(group) for group in groups)


def _by_parts(
    listed: frozenset[str], groups: Sequence[Sequence[Path]], placed: Mapping[Path, frozenset[str]]
) -> int | None:
    """Return the board whose parts a bill of materials lists, and no other's."""
    refs = [frozenset().union(*(placed[file] for file in group)) for group in groups]
    fitting = [k for k, own in enumerate(refs) if min(_share(own, listed), _share(listed, own)) >= _OWN]
    exact = [k for k in fitting if listed == refs[k]]
    return exact[0] if len(exact) == 1 else fitting[0] if len(fitting) == 1 else None


def _telling(groups: Sequence[Sequence[Path]]) -> list[set[str]]:
    """Return the words of each board's names that stand in no other board's."""
    words = [{word for file in group for word in _words(file)} for group in groups]
    return [own - {word for k, more in enumerate(words) if k != i for word in more} for i, own in enumerate(words)]


def _words(file: Path) -> Iterator[str]:
    return iter(_TOKEN.findall(fold(file.stem)))


def _named(file: Path, names: Sequence[set[str]], *, table: bool) -> int | None:
    """Return the board that the name of a file names, and that alone; a mere number tells whose a *table* is."""
    stem = fold(file.stem)
    found = {
        k: longest
        for k, words in enumerate(names)
        if (longest := max((word for word in words if _stands_in(word, stem, table=table)), key=len, default=""))
    }
    if not found:
        return None
    best = max(found, key=lambda k: len(found[k]))
    return (
        best if all(k == best or (word in found[best] and word != found[best]) for k, word in found.items()) else None
    )


def _stands_in(word: str, stem: str, *, table: bool) -> bool:
    """Whether a word stands in a name, with neither its letters nor its digits going on."""
    if not table and (len(word) < 2 or word.isdigit()):
        return False
    before, after = (r"\d" if end.isdigit() else r"[^\W\d_]" for end in (word[0], word[-1]))
    return re.search(f"(?<!{before}){re.escape(word)}(?!{after})", stem) is not None

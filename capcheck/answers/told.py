"""What answers change, in words and as data: by what becomes of them, each with its row in the list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from capcheck.answers.destinations import Planned, Told
from capcheck.answers.figures import unit_of
from capcheck.answers.outcome import State
from capcheck.packages import CellChange
from capcheck.values import Place, counted, cut

SCHEMA: Final = "capcheck-answers/1"
_LONGEST: Final = 160
_LACKING: Final = {
    "library": "figures of parts have no library to go to: name one with --library FILE, or in capcheck.toml",
    "configuration": "no configuration is in force, which would hold waivers and what was answered:"
    " capcheck init makes one, --config names one",
}
_OF_WAIVERS: Final = ("rule", "part", "margin", "until")


def answers_as_text(planned: Planned, library: str, board: Path | None, without_key: Sequence[Place] = ()) -> list[str]:
    """Return a line for each answer and each change; those that change something first."""
    lines: list[str] = []
    for state in State:
        same = [one for one in planned.told if one.settled.state is state]
        if same:
            lines += [f"{state} ({len(same)})"]
            lines += [line for one in same for line in _lines(one, library, board)]
            lines += [""]
    if without_key:
        rows = ", ".join(map(str, without_key[:5])) + (" …" if len(without_key) > 5 else "")
        lines += [f"{counted(len(without_key), 'filled row')} without a key, from which nothing is read: {rows}", ""]
    lines += [_LACKING[name] for name in planned.lacking]
    return lines


def _lines(told: Told, library: str, board: Path | None) -> Iterator[str]:
    one = told.settled
    yield f"  {one.about}   ({_row(one.place)}): {cut(one.answer, _LONGEST)}"
    by_part: dict[str, list[CellChange]] = {}
    for cell in told.cells:
        by_part.setdefault(str(cell.key), []).append(cell)
    for part, cells in by_part.items():
        yield f"      {library}: {part}: {', '.join(map(_cell, cells))}"
    for entry in told.entries:
        was = f" (was {entry.old})" if entry.old else ""
        yield f"      {board}: {'.'.join(entry.path)} = {cut(entry.new, _LONGEST)}{was}"
    for waiver in told.waivers:
        named = ", ".join(f"{name} {waiver[name]}" for name in _OF_WAIVERS if name in waiver)
        yield f"      waiver: {named}"
    if one.state is State.WRITTEN and not (told.entries or told.waivers or any(c.kind != "same" for c in told.cells)):
        yield "      nothing changes: it is there already, or has no place to go"
    if one.state is State.WRITTEN:
        yield from (
            f"      {each.figure} “{cut(each.text, _LONGEST)}”: is no figure, and stays open" for each in one.in_words
        )
    for doubt in one.doubts:
        taken = "taken all the same: " if one.state is not State.DOUBTED else ""
        yield f"      {taken}{doubt.figure} “{cut(doubt.text, _LONGEST)}”: {doubt.why}"
    if one.state is State.DOUBTED and all(doubt.may_be_taken for doubt in one.doubts):
        yield f"      if it is right all the same: --take {one.key}"
    if one.told:
        yield f"      by {one.told['by']}, on {one.told['on']}"


def _cell(cell: CellChange) -> str:
    was = {"new": "", "same": " (is there already)", "other": f" (was {cell.old})"}[cell.kind]
    return f"{cell.column} {cell.new} {unit_of(cell.column)}".rstrip() + was


def _row(place: Place) -> str:
    sheet = f" [{place.sheet}]" if place.sheet else ""
    return f"{Path(place.file).name}{sheet} row {place.row}"


def answers_as_data(planned: Planned, without_key: Sequence[Place] = ()) -> dict[str, object]:
    """Return the same as data: for each answer its key, state, changes and doubts."""
    return {
        "schema": SCHEMA,
        "answers": [
            {
                "key": one.settled.key,
                "about": one.settled.about,
                "answer": one.settled.answer,
                "state": one.settled.state.name.lower(),
                "file": one.settled.place.file,
                "sheet": one.settled.place.sheet,
                "row": one.settled.place.row,
                "library": [
                    {"part": str(c.key), "figure": c.column, "old": c.old, "new": c.new, "kind": c.kind}
                    for c in one.cells
                ],
                "board": [{"entry": ".".join(e.path), "old": e.old, "new": e.new} for e in one.entries],
                "waivers": [{name: str(value) for name, value in waiver.items()} for waiver in one.waivers],
                "doubts": [{"figure": d.figure, "text": d.text, "why": d.why} for d in one.settled.doubts],
                "closes": one.settled.closes,
            }
            for one in planned.told
        ],
        "rows_without_key": [str(place) for place in without_key],
        "files": sorted(map(str, planned.files)),
        "lacking": list(planned.lacking),
    }

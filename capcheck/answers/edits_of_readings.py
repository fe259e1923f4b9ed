"""What an answer to "did we read it so rightly?" writes: the reading's own line of board.toml, or the other one's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import tomli
from msgspec.structs import replace

from capcheck.answers.outcome import Edit
from capcheck.report import Question

_OPEN: Final = "…"


def edits_of_line(line: str) -> tuple[Edit, ...]:
    """Return the entries that a line of board.toml makes; none where it leaves something open, or is none."""
    try:
        stated = tomli.loads(line) if line and _OPEN not in line else {}
    except tomli.TOMLDecodeError:
        return ()
    return tuple(_flat(stated))


def _flat(stated: Mapping[str, object], *above: str) -> Iterator[Edit]:
    """Yield the entries of a line that may be a table: ``outline = { file = "edge.dxf", unit = "mm" }``."""
    for key, value in stated.items():
        if isinstance(value, str):
            yield Edit((*above, key), value)
        elif isinstance(value, dict):
            yield from _flat(value, *above, key)


def edits_of_other(question: Question) -> tuple[Edit, ...]:
    """Return the entries of a reading's own line, for the other file, sheet or unit; none where there is no other."""
    name, _, sheet = str(question.values.get("other", "")).partition(" [")
    others = {"unit": str(question.values.get("other_unit", "")), "bom_sheet": sheet.removesuffix("]")}
    named = {"bom": name, "placements": name, "outline": name, **others}
    edits = edits_of_line(question.settle)
    changed = [edit for edit in edits if edit.path[-1] in named]
    if len(changed) != 1 or not named[changed[0].path[-1]] or "," in name:
        return ()
    return tuple(replace(e, value=named[e.path[-1]]) if e is changed[0] else e for e in edits)

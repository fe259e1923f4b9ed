"""What an answer does, as data: one effect for each box of each type of question."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import msgspec
import tomli
from msgspec import Struct

if TYPE_CHECKING:
    from capcheck.report import Question

_TABLE: Final = Path(__file__).with_name("effects.toml")
_CONFIRMS: Final = frozenset({"settle", "holds"})
"""What a box does that leaves the reading as it is."""


class Effect(Struct, frozen=True, forbid_unknown_fields=True):
    """What one box does, as the head of ``effects.toml`` says."""

    does: Literal["noted", "holds", "waits", "settle", "settle other", "accept", "write"] = "write"
    board: Mapping[str, str] = {}
    refs: Literal["", "fitted", "not_fitted", "provided", "bought"] = ""
    of: Literal["all", "named", "but named"] = "all"
    rest: Literal["", "fitted", "not_fitted", "bought"] = ""
    table: Literal["", "mounting", "kinds", "part_numbers"] = ""
    as_: str = msgspec.field(default="", name="as")
    body: Mapping[str, str] = {}


@cache
def effects() -> Mapping[str, tuple[Effect, ...]]:
    """Return the effects of each type's boxes."""
    table = tomli.loads(_TABLE.read_text(encoding="utf-8"))
    whole = {
        type_: [{"does": entry} if isinstance(entry, str) else entry for entry in boxes]
        for type_, boxes in table.items()
    }
    return msgspec.convert(whole, dict[str, tuple[Effect, ...]])


def filled_in(template: str, values: Mapping[str, object], fills: Sequence[str] = ()) -> str:
    """Return a text of an effect with the question's values and with what was filled in, which are 1, 2, ….

    Its numbers are plain ones, as a file has them: no minus sign and no decimal comma of a text. Raises
    :class:`IndexError` for a blank that was not filled in and :class:`KeyError` for a value that is not there.
    """
    return template.format("", *fills, **values)


def confirming_box(question: Question) -> str:
    """Return the box of a question that confirms what was read; empty where none does."""
    every = effects().get(question.type, ())
    for number, box in zip(question.numbers, question.boxes, strict=True):
        if number < len(every) and every[number].does in _CONFIRMS:
            return box
    return ""

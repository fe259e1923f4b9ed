"""Answers held against one another: one row answered in two ways, entries of the whole board that differ."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from msgspec.structs import replace

from capcheck.answers.figures import Doubt
from capcheck.answers.outcome import Edit, Settled, State
from capcheck.packages import Statement
from capcheck.report import Question


def told_one_way(found: Sequence[Settled]) -> list[Settled]:
    """Return the answers, those doubted that answer one row in two ways."""
    by_key: dict[str, set[str]] = {}
    for one in found:
        by_key.setdefault(one.key, set()).add(one.answer)
    out = []
    for one in found:
        others = by_key[one.key] - {one.answer}
        if others and one.state not in {State.BEFORE, State.NO_MORE, State.UNKNOWN, State.CHANGED}:
            why = f"the list answers this twice: {' / '.join(sorted(by_key[one.key]))}"
            one = doubted(one, Doubt("answer", one.answer, why, may_be_taken=False))  # noqa: PLW2901 - now doubted
        out.append(one)
    return out


def of_one_mind(
    found: Sequence[Settled],
    asked: Mapping[str, Question],
    of_parts: Mapping[str, Callable[[Edit], Sequence[Statement]]],
    taken: Collection[str] = (),
) -> list[Settled]:
    """Return the answers, none with an entry that holds for the whole board while another answer says otherwise.

    An answer beside one part speaks for the board only where it is given beside each part of the question. Else it
    changes what *of_parts* makes of the entry, by the answer's key, for its parts alone; where that is nothing, it is
    doubted, unless it alone of those that differ is among the keys *taken*.
    """
    said: dict[tuple[str, ...], dict[str, str]] = {}
    for one in found:
        for edit in one.edits:
            if isinstance(edit.value, str):
                said.setdefault(edit.path, {})[one.key] = edit.value
    out = []
    for one in found:
        now = asked.get(one.key)
        for edit in one.edits:
            if not isinstance(edit.value, str) or now is None or one.state is State.DOUBTED:
                continue
            others = {key for key, value in said[edit.path].items() if value != edit.value}
            why = _why_not_of_all(one, edit, now, said[edit.path], others)
            if not why:
                continue
            doubt = Doubt("answer", one.answer, why)
            if own := of_parts[one.key](edit):
                one = _of_parts(one, edit, own)  # noqa: PLW2901 - the same answer, of its parts alone
            elif one.key in taken and others.isdisjoint(taken):
                one = replace(one, doubts=(*one.doubts, doubt))  # noqa: PLW2901
            else:
                one = doubted(one, doubt)  # noqa: PLW2901
        out.append(one)
    return out


def _why_not_of_all(one: Settled, edit: Edit, now: Question, said: Collection[str], others: Collection[str]) -> str:
    entry = ".".join(edit.path)
    if others:
        return f"{entry} holds for the whole board, and the list answers otherwise elsewhere"
    of_one_part = one.key != now.key and len(edit.path) == 1 and now.key not in said
    if of_one_part and not {row.key for row in now.rows} <= set(said):
        return f"{entry} would hold for the whole board, and other parts of the question are not answered so"
    return ""


def _of_parts(one: Settled, edit: Edit, own: Sequence[Statement]) -> Settled:
    """Return an answer that changes its parts instead of the board; figures that it states itself count first."""
    filled = {name for statement in one.statements for name in statement.values}
    kept = [replace(each, values={k: v for k, v in each.values.items() if k not in filled}) for each in own]
    return replace(
        one,
        edits=tuple(each for each in one.edits if each is not edit),
        statements=(*one.statements, *(each for each in kept if each.values)),
    )


def doubted(one: Settled, *doubts: Doubt) -> Settled:
    """Return an answer of which nothing is written, for these reasons beside its own."""
    return Settled(one.key, one.asked, one.about, one.answer, State.DOUBTED, one.place, doubts=(*one.doubts, *doubts))

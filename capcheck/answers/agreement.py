"""Answers held against one another: one row answered in two ways, entries of the whole board that differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from capcheck.answers.figures import Doubt
from capcheck.answers.outcome import Settled, State
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
            one = doubted(one, Doubt("answer", one.answer, why))  # noqa: PLW2901 - the same answer, now doubted
        out.append(one)
    return out


def of_one_mind(found: Sequence[Settled], asked: Mapping[str, Question]) -> list[Settled]:
    """Return the answers, those doubted whose entry holds for the whole board while another one says otherwise.

    An answer beside one part speaks for the board only where it is given beside each part of the question.
    """
    values: dict[tuple[str, ...], set[object]] = {}
    rows: dict[tuple[str, tuple[str, ...]], set[str]] = {}
    for one in found:
        for edit in one.edits:
            if isinstance(edit.value, str):
                values.setdefault(edit.path, set()).add(edit.value)
                rows.setdefault((one.key.partition(":")[0], edit.path), set()).add(one.key)
    out = []
    for one in found:
        for edit in one.edits:
            now = asked.get(one.key)
            if not isinstance(edit.value, str) or now is None or one.state is State.DOUBTED:
                continue
            entry = ".".join(edit.path)
            if len(values[edit.path]) > 1:
                why = f"{entry} holds for the whole board, and the list answers otherwise elsewhere"
                one = doubted(one, Doubt("answer", one.answer, why))  # noqa: PLW2901
            elif one.key != now.key and len(edit.path) == 1:
                every, said = {row.key for row in now.rows}, rows[one.key.partition(":")[0], edit.path]
                if now.key not in said and not every <= said:
                    why = f"{entry} would hold for the whole board, and other parts of the question are not answered so"
                    one = doubted(one, Doubt("answer", one.answer, why))  # noqa: PLW2901
        out.append(one)
    return out


def doubted(one: Settled, *doubts: Doubt) -> Settled:
    """Return an answer of which nothing is written, for these reasons beside its own."""
    return Settled(one.key, one.asked, one.about, one.answer, State.DOUBTED, one.place, doubts=(*one.doubts, *doubts))

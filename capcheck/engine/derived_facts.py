"""Facts that a rule file makes of other facts: ``[[fact]]`` with a name, an expression and a help."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from itertools import chain
from typing import Final

import numpy as np

from capcheck.engine.aggregates import names_members_of_a_pair
from capcheck.engine.definitions import Definitions
from capcheck.engine.expression import read_value
from capcheck.engine.fact_entry import FactEntry
from capcheck.engine.gap_reach import reach_of_members
from capcheck.engine.limits import ExpressionError
from capcheck.engine.named_lengths import lengths_of
from capcheck.engine.nodes import NumberNode, TruthNode, every_fact_of, facts_of
from capcheck.engine.pair_symmetry import is_symmetric
from capcheck.engine.rules import needs_of_members
from capcheck.engine.subjects import Subject
from capcheck.engine.view import View
from capcheck.facts import Catalogue, Column, Fact, Numbers, Session, Truths
from capcheck.values import NUMBER

_BESIDE_SIDES: Final = frozenset({"side"})
SUBJECTS: Final = {
    s.name: s
    for s in (
        Subject("board", None, None),
        Subject("line", None, None),
        Subject("side", "side", None),
        Subject("part", "part", None, _BESIDE_SIDES),
        Subject("pair", "pair", None, _BESIDE_SIDES),
        Subject("fiducial", "fiducial", None, _BESIDE_SIDES),
        Subject("bom", "bom", None),
        Subject("data", "data", None),
        Subject("machine", "machine", None),
        Subject("head", "head", None),
    )
}
"""The scopes that a derived fact may have, as what is worked out there."""


def derived_fact(entry: FactEntry, catalogue: Catalogue, shared: Definitions, where: str) -> Fact:
    """Return the fact of an entry. Raises :class:`ExpressionError` for one that cannot be worked out."""
    scope = entry.name.split(".", 1)[0]
    if scope not in SUBJECTS:
        raise ExpressionError(f'"{entry.name}" begins with no scope of facts; scopes are {", ".join(SUBJECTS)}')
    if entry.name in catalogue:
        raise ExpressionError(f'there is a fact named "{entry.name}" already; choose another name')
    subject = SUBJECTS[scope]
    node = read_value(entry.expression, catalogue, {}, shared=shared, subject=subject)
    for name in facts_of(node):
        if name.split(".", 1)[0] not in subject.scopes:
            seen = ", ".join(sorted(subject.scopes))
            raise ExpressionError(f"{entry.name} does not see {name}; a fact of a {scope} sees those of: {seen}")
    if names_members_of_a_pair(node) and not is_symmetric(node):
        raise ExpressionError(
            f'"{entry.expression}" depends on which of the pair is the first, and that is chance; '
            "write it so that both count alike, with min, max or abs, or say it in the rule, which is asked both ways"
        )
    reach_of_members(node)  # or it is told that pairs are counted that have no end
    is_number = isinstance(node, NumberNode)
    used = tuple(dict.fromkeys(n for name in every_fact_of(node) for n in (name, *catalogue[name].uses)))
    return Fact(
        name=entry.name,
        kind="number" if is_number else "flag",
        dimension=node.dimension if isinstance(node, NumberNode) else NUMBER,
        help=entry.help,
        provider=_provider(node, subject),
        needs=next(
            chain((n for name in used if (n := catalogue[name].needs) is not None), needs_of_members(node)), None
        ),
        where=where,
        text_of=" ".join(entry.expression.split()),
        uses=used,
        tree=node,
        lengths=(*lengths_of(node), *(mm for name in used for mm in catalogue[name].lengths)),
    )


def not_yet_made(items: Sequence[Mapping[str, object]], index: int) -> str:
    """Return why the entry at *index* cannot name a fact that it names: itself, or one below it; blank where none."""
    names = [str(item.get("name")) for item in items]
    own = names[index]

    def named(at: int) -> list[int]:
        told = str(items[at].get("expression"))
        return [n for n, name in enumerate(names) if re.search(rf"(?<![\w.]){re.escape(name)}(?![\w.])", told)]

    ways = {to: [own, names[to]] for to in named(index) if to >= index}
    if index in ways:
        return f"{own} is made of itself, so it has no value; make it of other facts"
    waiting = list(ways)
    for at in waiting:
        for to in named(at):
            if to == index:
                circle = " of ".join((*ways[at], own))
                return f"these facts are made of each other, so none has a value: {circle}; make one of other facts"
            if to not in ways:
                ways[to] = [*ways[at], names[to]]
                waiting.append(to)
    if not ways:
        return ""
    below = names[waiting[0]]
    return f"{below} is made below; a fact is made of those that stand above it: move {own} below {below}"


def _provider(node: NumberNode | TruthNode, subject: Subject) -> Callable[[Session], Column]:
    def provide(session: Session) -> Column:
        count = View.count(session, subject.rows)
        column = node.evaluate(View(session, subject))
        if isinstance(column, Numbers):
            low, high = (np.broadcast_to(ends, (count,)) for ends in (column.low, column.high))
            return Numbers(low, high)
        return Truths(np.broadcast_to(column.yes, (count,)), np.broadcast_to(column.no, (count,)))

    return provide

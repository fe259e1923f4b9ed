"""What an expression may name, and how a message names what it found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.engine.definitions import Definitions
from capcheck.engine.limits import Limit
from capcheck.engine.nodes import FlagFact, Node, NumberFact, NumberNode, SetNode, TextNode, TruthNode
from capcheck.values import Dimension, nearest

if TYPE_CHECKING:
    from capcheck.engine.subjects import Subject
    from capcheck.facts import Catalogue, Fact

FEW: Final = 16
"""So many values of a fact are listed where a text is none of them."""


class Vocabulary(Struct, frozen=True):
    """All that an expression may name."""

    catalogue: Catalogue
    limits: Mapping[str, Limit]
    shared: Definitions
    subject: Subject | None
    values: Mapping[str, Node]


def never_a_value(fact: str, choices: Sequence[str], value: str) -> str:
    """Return the sentence on a text that a fact never has: the nearest it has, else all of them where they are few."""
    every = f"it is one of: {', '.join(choices)}" if len(choices) <= FEW else f"its values: capcheck explain {fact}"
    return f'"{value}" is never a value of {fact}; {nearest(value, choices) or every}'


def fact_node(fact: Fact) -> Node:
    """Return the node that asks for *fact*."""
    match fact.kind:
        case "number":
            return NumberFact(fact.dimension, fact.name, fact.name)
        case "flag":
            return FlagFact(fact.name, fact.name)
        case "set":
            return SetNode(fact.name, fact.choices)
    return TextNode(fact.name, fact.choices)


def with_article(dimension: Dimension) -> str:
    """Return a dimension as a sentence names it: ``a length``, ``an angle``."""
    return f"{'an' if dimension.name[0] in 'aeiou' else 'a'} {dimension}"


def kind_of(node: Node) -> str:
    """Return what *node* is, with its text: ``a length (part.height)``."""
    if isinstance(node, NumberNode):
        return f"{with_article(node.dimension)} ({node.text})"
    if isinstance(node, TruthNode):
        return f"true or false ({node.text})"
    return f"a text ({node.text})" if isinstance(node, TextNode) else f"a set of texts ({node.text})"

"""Expressions of rules: text to a checked tree. A small language of its own, read with ``ast``; nothing is ever run.

Allowed are comparisons, ``and``/``or``/``not``, ``+ - * /``, ``min``, ``max``, ``abs``, ``x if c else y``, ``in``,
``starts with``/``ends with``/``contains``/``matches``, ``is_known(fact)``, what is asked of many
(``count(part, where …)``, ``sum``, ``least``, ``greatest``, ``any``, ``all``), facts (``part.height``), limits and the
rule's own values (``limits.NAME``, ``values.NAME``), what its file shares (``constants.NAME``, ``sets.NAME``,
``tables.NAME.COLUMN``), numbers, and texts. A text that begins with a number is a quantity (``'3 mm'``). Names and
dimensions are checked here, before any board is read.
"""

from __future__ import annotations

import ast
import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from capcheck.engine.definitions import NOTHING_SHARED, Definitions
from capcheck.engine.limits import ExpressionError, Limit
from capcheck.engine.nodes import Node, NumberNode, TruthNode
from capcheck.engine.reader import Reader
from capcheck.engine.refusals import compared
from capcheck.engine.vocabulary import Vocabulary
from capcheck.engine.wording import as_python, may_slip, slip, spelled
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.engine.subjects import Subject
    from capcheck.facts import Catalogue

_BARE_UNIT: Final = pattern(r"""(?<!['"\w.])\d+(?:\.\d+)? ?(?!(?:and|or|if|else|in|is|not)\b)[A-Za-zµ°]+""")
"""A number with a word behind it that is none of the language's: a unit, known or not."""
MAX_LENGTH: Final = 2000


def read_expression(
    text: str,
    catalogue: Catalogue,
    limits: Mapping[str, Limit],
    *,
    shared: Definitions = NOTHING_SHARED,
    subject: Subject | None = None,
    values: Mapping[str, Node] | None = None,
) -> TruthNode:
    """Return the checked tree of an expression that must be true or false.

    *shared* is what the rule's file defines, *values* what the rule has names for; *subject* says what an aggregate
    counts on, the board where it is None. Raises :class:`ExpressionError` for a construct that is not allowed, a name
    that does not exist (with the nearest), and for operands whose dimensions do not fit (with both dimensions).
    """
    node = read_node(text, catalogue, limits, shared=shared, subject=subject, values=values)
    if not isinstance(node, TruthNode):
        raise ExpressionError(f'"{spelled(text)}" is not true or false; {compared(node)}')
    return node


def read_value(
    text: str,
    catalogue: Catalogue,
    limits: Mapping[str, Limit],
    *,
    shared: Definitions = NOTHING_SHARED,
    subject: Subject | None = None,
    values: Mapping[str, Node] | None = None,
) -> NumberNode | TruthNode:
    """Return the checked tree of an expression that is a number, or true or false. Raises :class:`ExpressionError`."""
    node = read_node(text, catalogue, limits, shared=shared, subject=subject, values=values)
    if not isinstance(node, NumberNode | TruthNode):
        raise ExpressionError(f'"{spelled(text)}" is a text; only a number, or true or false, can be worked out')
    return node


def read_node(
    text: str,
    catalogue: Catalogue,
    limits: Mapping[str, Limit],
    *,
    shared: Definitions,
    subject: Subject | None,
    values: Mapping[str, Node] | None,
) -> Node:
    """Return the checked tree of any expression. Raises :class:`ExpressionError`."""
    if len(text) > MAX_LENGTH:
        raise ExpressionError(f"an expression has at most {MAX_LENGTH} characters, this one has {len(text)}")
    if "\0" in text:  # Python's own words for it are another in each version
        raise ExpressionError("an expression holds no NUL character: take it out")
    text = spelled(text)
    if may_slip(text) and (found := slip(text)):
        raise ExpressionError(f'"{text}": {found}')
    try:
        with warnings.catch_warnings(action="ignore"):  # on 1and or '\\d': the error says more
            tree = ast.parse(as_python(text), mode="eval")
    except SyntaxError as error:
        if found := slip(text):
            raise ExpressionError(f'"{text}": {found}') from None
        hint = "; quantities stand in quotes, like '2 mm', or among the limits" if _BARE_UNIT.search(text) else ""
        raise ExpressionError(f'"{text}" is not an expression: {error.msg}{hint}') from None
    except (MemoryError, RecursionError, ValueError):
        raise ExpressionError("this expression cannot be read: it is nested too deep") from None
    return Reader(text, Vocabulary(catalogue, limits, shared, subject, values or {})).node(tree.body, 0)

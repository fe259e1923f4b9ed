"""Tests of texts, read: a text that its fact never has is refused, since it would never occur and pass for ever."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from capcheck.engine.limits import ExpressionError
from capcheck.engine.nodes import Node, TextNode, TruthNode
from capcheck.engine.text_tests import PatternError, SameText, TextIs, TextTest, folded, hardly_a_value, holds, matcher

if TYPE_CHECKING:
    from capcheck.facts import UsualNames


_OWN: Final = "for a name that a library of yours gives, write matches '{}'"


def text_is(
    subject: TextNode, texts: tuple[str, ...], text: str, never: Callable[[str, Sequence[str], str], str]
) -> TruthNode:
    """Return whether a text fact is one of *texts*. Raises :class:`ExpressionError` for one that it never is."""
    for value in texts:
        if subject.choices and value not in subject.choices:
            raise ExpressionError(never(subject.name, subject.choices, value))
        if subject.names is not None and (likely := subject.names.meant(value)) is not None:
            raise ExpressionError(hardly_a_value(subject.name, value, likely, _OWN.format(value)))
    return TextIs(text, subject, texts)


def text_test(subject: Node, test: str, texts: tuple[str, ...], text: str) -> TruthNode:
    """Return whether a text fact begins or ends with, contains or matches one of *texts*."""
    if not isinstance(subject, TextNode):
        raise ExpressionError(f'"{text[:80]}": only a text {test} a text; {subject.text} is none')
    for value in texts:
        if not value:
            raise ExpressionError(f'"{text[:80]}": every text {test} a blank one; write what it is to hold')
        try:
            _ = matcher(value) if test == "matches" else None
        except PatternError as error:
            raise ExpressionError(str(error)) from None
        if subject.choices and not any(holds(test, choice, (value,), subject.name) for choice in subject.choices):
            raise ExpressionError(
                f'no value of {subject.name} {test} "{value}": it would never hold; '
                f"its values: {', '.join(subject.choices[:16])}{', …' if len(subject.choices) > 16 else ''}"
            )
        if test == "starts with" and subject.names is not None:
            _check_beginning(subject.name, subject.names, value)
    return TextTest(text, subject, test, texts)


def _check_beginning(fact: str, names: UsualNames, value: str) -> None:
    """Refuse a beginning that comes near to that of a name. Raises :class:`ExpressionError`."""
    begun = folded(value, fact)
    if any(begun.startswith(name) or name.startswith(begun) for name in (folded(n, fact) for n in names.every())):
        return
    if likely := names.meant(value):
        raise ExpressionError(hardly_a_value(fact, value, likely, _OWN.format(f"{value}*")))


def same_text(first: TextNode, second: Node, text: str, kind_of: Callable[[Node], str]) -> TruthNode:
    """Return whether two text facts are the same text."""
    if not isinstance(second, TextNode):
        raise ExpressionError(f"the rule compares {kind_of(first)} with {kind_of(second)}")
    if first.name == second.name:
        raise ExpressionError(f'"{text}" compares {first.name} with itself: it comes out the same everywhere')
    if first.choices and second.choices and not set(first.choices) & set(second.choices):
        raise ExpressionError(f'"{text}": {first.name} and {second.name} have no value in common')
    return SameText(text, first, second)

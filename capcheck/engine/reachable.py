"""Conditions that can never hold, by what they say themselves: such a rule would pass for ever."""

from __future__ import annotations

import math

from msgspec import Struct, field

from capcheck.engine.choices import NumberIn, operands_of
from capcheck.engine.nodes import And, Comparison, Constant, FlagFact, Not, NumberNode, Or, TruthNode
from capcheck.engine.text_tests import TextIs


class _Demands(Struct):
    """What a conjunction asks of each thing that it names, by its text."""

    low: dict[str, tuple[float, bool, str]] = field(default_factory=dict)
    high: dict[str, tuple[float, bool, str]] = field(default_factory=dict)
    texts: dict[str, tuple[frozenset[str], str]] = field(default_factory=dict)
    flags: dict[str, bool] = field(default_factory=dict)


def why_never(when: TruthNode) -> str:
    """Return why a condition can never hold, with the two pieces that exclude one another; empty where it can."""
    reasons = [_contradiction(case) for case in operands_of(when, Or)]
    if all(reasons):
        return (
            f'"{when.text}" can never hold, so that the rule would never be applied: {reasons[0]}; '
            "mend one of them, or join them with or"
        )
    return ""


def _contradiction(node: TruthNode) -> str:
    seen = _Demands()
    return next(filter(None, (_against(one, seen) for one in operands_of(node, And))), "")


def _against(node: TruthNode, seen: _Demands) -> str:
    """Return what *node* contradicts among what was *seen*, and add what it asks."""
    match node:
        case Comparison(left=left, right=right, operation=operation):
            return _of_numbers(node, left, right, operation, seen)
        case TextIs(subject=subject, texts=texts):
            wanted, other = seen.texts.get(subject.name, (frozenset(texts), node.text))
            left_over = wanted & frozenset(texts)
            seen.texts[subject.name] = (left_over, node.text)
            return "" if left_over else f'"{node.text}" excludes "{other}"'
        case Not(operand=FlagFact(name=name)):
            return _of_flag(name, seen, wanted=False)
        case FlagFact(name=name):
            return _of_flag(name, seen, wanted=True)
        case NumberIn(subject=subject, values=values):
            low, high = _ends(subject, seen)
            if not any(low <= value <= high for value in values):
                return f'"{node.text}" lies outside the bounds stated beside it'
    return ""


def _of_flag(name: str, seen: _Demands, *, wanted: bool) -> str:
    other = seen.flags.setdefault(name, wanted)
    return "" if other is wanted else f'it asks for "{name}" and for "not {name}"'


def _ends(node: NumberNode, seen: _Demands) -> tuple[float, float]:
    none = (math.inf, True, "")
    return seen.low.get(node.text, (-math.inf, True, ""))[0], seen.high.get(node.text, none)[0]


def _of_numbers(node: Comparison, left: NumberNode, right: NumberNode, operation: str, seen: _Demands) -> str:
    if isinstance(left, Constant) and isinstance(right, Constant):
        holds = {
            "<=": left.value <= right.value,
            "<": left.value < right.value,
            ">=": left.value >= right.value,
            ">": left.value > right.value,
            "==": left.value == right.value,
        }[operation]
        return "" if holds else f'"{node.text}" compares two fixed numbers'
    if isinstance(left, Constant):
        left, right = right, left
        operation = {"<=": ">=", "<": ">", ">=": "<=", ">": "<"}.get(operation, operation)
    if not isinstance(right, Constant):
        return ""
    with_limit = operation in {"<=", ">=", "=="}
    if operation in {"<=", "<", "=="}:
        known = seen.high.get(left.text)
        if known is None or (right.value, with_limit) < known[:2]:
            seen.high[left.text] = (right.value, with_limit, node.text)
    if operation in {">=", ">", "=="}:
        known = seen.low.get(left.text)
        if known is None or (right.value, not with_limit) > (known[0], not known[1]):
            seen.low[left.text] = (right.value, with_limit, node.text)
    low, high = seen.low.get(left.text), seen.high.get(left.text)
    if low is None or high is None:
        return ""
    if low[0] > high[0] or (low[0] == high[0] and not (low[1] and high[1])):
        return f'"{low[2]}" excludes "{high[2]}"'
    return ""

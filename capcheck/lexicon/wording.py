"""Statements as English sentences: the templates stand in ``lexicon/sentences``, one TOML file a theme.

A template is a format string over the values of its statement, with a few formats of its own:

=========================  ===================================================================
``{refs:refs}``            references, shortened: ``C1–C4, C20 and 12 more``; ``:refs 4`` shows four
``{names:list}``           texts with commas between them
``{names:list ; 4}``       with semicolons, the first four ``and 3 more``; ``:list and`` has the word between them
``{names:quoted}``         the same, each in quotes
``{kind:a}``               the text with its article: ``a chip``, ``an inch code``
``{texts:joined}``         texts or statements with nothing between them, or what follows the word and a blank
``{rows:?row|rows}``       the first word for one, for a list of one or for yes; else the second
``{rows:count row}``       ``1 row``, ``3 rows``; a plural of its own follows a bar: ``count entry|entries``
``{choice:beside topic}``  a decision without its topic, which stands beside it
=========================  ===================================================================

A number below zero has a minus sign. An interval stands there as its value, or as ``0.3 to 0.5``, each end in the
format given.
A value that is a statement or a decision itself stands there as its sentence.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

from capcheck.lexicon.fact_names import plain_fact
from capcheck.model import Decision, Said
from capcheck.values import Interval, counted, own_table, shortened, signed

_FOLDER: Final = Path(__file__).with_name("sentences")


def sentence(said: Said | str) -> str:
    """Return a statement as its sentence. Raises KeyError for a statement without template, or without a value."""
    if isinstance(said, str):
        return said
    if not said.key:
        return ""
    theme, _, key = said.key.partition(".")
    return _filled(templates(theme)[key], said.values)


_IN_SHORT: Final = ", in short"


def in_short(said: Said) -> Said:
    """Return a statement without its grounds, where the catalogue has a sentence that leaves them out."""
    if not said.key:
        return said
    theme, _, key = said.key.partition(".")
    short = f"{key}{_IN_SHORT}" if f"{key}{_IN_SHORT}" in templates(theme) else key
    values = {name: _without_grounds(value) for name, value in said.values.items()}
    return Said(f"{theme}.{short}", values)


def _without_grounds(value: object) -> object:
    if isinstance(value, Said):
        return in_short(value)
    return [_without_grounds(one) for one in value] if isinstance(value, list | tuple) else value


def _filled(template: str, values: Mapping[str, Any]) -> str:
    if "{" not in template:
        return template
    filled = []
    for text, name, how in _pieces(template):
        filled.append(text)
        if name is not None:
            value = values[name]
            filled.append(value if not how and isinstance(value, str) else _written(value, _filled(how, values)))
    return "".join(filled)


@cache
def _pieces(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """Return a template as texts, each with the name and the format of the value behind it."""
    return tuple((text, name, how or "") for text, name, how, _ in string.Formatter().parse(template))


def sentence_of_decision(decision: Decision) -> str:
    """Return a decision as one sentence: the choice, its evidence, the next best, and what settles it."""
    return f"{decision.topic}: {_beside_topic(decision)}"


def _beside_topic(decision: Decision) -> str:
    text = f"{sentence(decision.choice)} ({sentence(decision.evidence)})"
    if runner_up := sentence(decision.runner_up):
        text += f"; next best: {runner_up}"
    if settle := sentence(decision.settle):
        text += f"; {'please confirm, or set' if decision.open else 'to confirm, write'} {settle}"
    return text


@cache
def templates(theme: str) -> Mapping[str, str]:
    """Return the templates of one theme by key."""
    return own_table(_FOLDER / f"{theme}.toml")


def _written(value: object, how: str) -> str:
    if isinstance(value, str) and not how:
        return value
    if isinstance(value, Said):
        return sentence(value)
    if isinstance(value, Decision):
        return _beside_topic(value) if how == "beside topic" else sentence_of_decision(value)
    if isinstance(value, Interval):
        low, high = (_written(end, how) for end in (value.low, value.high))
        return low if value.is_exact else f"{low} to {high}"
    if how.startswith("?"):
        one, _, many = how[1:].partition("|")
        return one if _number_of(value) == 1 else many
    word, _, rest = how.partition(" ")
    written = _FORMATS.get(word)
    if written is not None:
        return written(value, rest)
    return signed(format(value, how)) if isinstance(value, int | float) else format(value, how)


def _number_of(value: Any) -> int:  # noqa: ANN401  a number, or whatever can be counted
    return value if isinstance(value, int) else len(value)


def _listed(texts: Sequence[str], how: str) -> str:
    mark, _, most = how.partition(" ")
    shown = texts[: int(most or len(texts))]
    more = f" and {len(texts) - len(shown)} more" if len(texts) > len(shown) else ""
    return (f" {mark} " if mark.isalpha() else f"{mark or ','} ").join(shown) + more


_FORMATS: Final[Mapping[str, Callable[[Any, str], str]]] = {
    "refs": lambda refs, most: shortened(refs, int(most or 10)),
    "list": lambda texts, how: _listed([sentence(text) for text in texts], how),
    "quoted": lambda texts, how: _listed([f'"{text}"' for text in texts], how),
    "facts": lambda names, how: _listed(list(dict.fromkeys(map(plain_fact, names))), how),
    "joined": lambda texts, mark: mark.join(map(sentence, texts)),
    "count": lambda value, words: counted(_number_of(value), *words.split("|")),
    "a": lambda text, _: f"{'an' if text[0] in 'aeiou' else 'a'} {text}",
}

"""Statements as English sentences: the templates stand in ``lexicon/sentences``, one TOML file a theme.

A template is a format string over the values of its statement, with a few formats of its own:

=====================  ===================================================================
``{refs:refs}``        references, shortened: ``C1–C4, C20 and 12 more``; ``:refs 4`` shows four
``{names:list}``       texts with commas between them
``{names:quoted}``     the same, each in quotes
``{names:join; }``     texts with what follows *join* between them; ``:join`` alone puts nothing
``{rows:?row|rows}``   the first word for one, for a list of one or for yes; else the second
``{rows:count row}``   ``1 row``, ``3 rows``; a plural of its own follows a bar: ``count entry|entries``
=====================  ===================================================================

A value that is a statement itself stands there as its sentence.
"""

from __future__ import annotations

import string
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import tomli

from capcheck.model import Decision, Said
from capcheck.values import shortened

_FOLDER: Final = Path(__file__).with_name("sentences")


def sentence(said: Said | str) -> str:
    """Return a statement as its sentence. Raises KeyError for a statement without template, or without a value."""
    if isinstance(said, str):
        return said
    if not said.key:
        return ""
    theme, _, key = said.key.partition(".")
    return _WRITER.vformat(templates(theme)[key], (), said.values)


def sentence_of_decision(decision: Decision) -> str:
    """Return a decision as one sentence: the choice, its evidence, the next best, and what settles it."""
    text = f"{decision.topic}: {sentence(decision.choice)} ({sentence(decision.evidence)})"
    if runner_up := sentence(decision.runner_up):
        text += f"; next best: {runner_up}"
    if settle := sentence(decision.settle):
        text += f"; {'please confirm, or set' if decision.open else 'to state it:'} {settle}"
    return text


@cache
def templates(theme: str) -> Mapping[str, str]:
    """Return the templates of one theme by key."""
    return tomli.loads((_FOLDER / f"{theme}.toml").read_text(encoding="utf-8"))


class _Writer(string.Formatter):
    """Fills templates with the values of a statement."""

    def format_field(self, value: Any, format_spec: str) -> str:  # noqa: ANN401  whatever stands in a statement
        word, _, rest = format_spec.partition(" ")
        if isinstance(value, Said):
            return sentence(value)
        if format_spec.startswith("?"):
            one, _, many = format_spec[1:].partition("|")
            return one if _is_one(value) else many
        if word == "count":
            one, _, many = rest.partition("|")
            number = value if isinstance(value, int) else len(value)
            return f"{number} {one if number == 1 else many or f'{one}s'}"
        if word == "refs":
            return shortened(value, int(rest or 10))
        if format_spec.startswith("join"):
            return format_spec[4:].join(map(sentence, value))
        if word in {"list", "quoted"}:
            return ", ".join(f'"{text}"' if word == "quoted" else sentence(text) for text in value)
        return str(super().format_field(value, format_spec))


def _is_one(value: bool | float | Sequence[object]) -> bool:
    number = len(value) if isinstance(value, Sequence) else value
    return number == 1


_WRITER: Final = _Writer()

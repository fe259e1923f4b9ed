"""The words of what goes to a customer, one file a language in ``lexicon/questions``; a file more is a language more.

A template is a format string over the values of its question. Its formats, each after a colon:

==================  =========================================================================
``{refs}``          a list of texts, with the language's comma between them
``{sides:word}``    each text as the language's word for it, from ``[words]``
``{shown:said}``    statements by the templates of ``[phrases]``, which bear their keys
``{n:?part|parts}`` the form that the language takes for the number: as many as it has
``{x:.3g}``         a number, with a minus sign and the language's decimal mark; else as ``:g``
==================  =========================================================================
"""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from capcheck.model import Said
from capcheck.values import own_table, signed

_FOLDER: Final = Path(__file__).with_name("questions")
_LANGUAGE: ContextVar[str] = ContextVar("_LANGUAGE", default="en")
_FORMS: Final[Mapping[str, Sequence[int]]] = {"one-other": (1,), "other": ()}
"""For each kind of plural the numbers that have a form of their own; the last form is for all others."""


class Wording(Struct, frozen=True, forbid_unknown_fields=True):
    """A question's templates: the question, what can be ticked, and what is done until an answer comes."""

    ask: str
    otherwise: str
    boxes: tuple[str, ...] = ()


class Catalogue(Struct, frozen=True, forbid_unknown_fields=True):
    """All that is said to a customer in one language."""

    decimal: str
    comma: str
    plural: str
    paper: Mapping[str, str]
    """Headings and fixed texts."""
    words: Mapping[str, str]
    phrases: Mapping[str, str]
    """Templates of statements that stand within a question, or beside a part, by their key."""
    questions: Mapping[str, Wording]
    """By the name of the type."""

    def filled(self, template: str, values: Mapping[str, object]) -> str:
        """Return a template with its values. Raises KeyError for a value, a word or a phrase that is not there."""
        return "".join(
            text if name is None else text + self._written(values[name], self.filled(how, values))
            for text, name, how in template_fields(template)
        )

    def phrase(self, said: Said) -> str:
        """Return a statement by its template; empty for one that has none."""
        return self.filled(self.phrases[said.key], said.values) if said.key in self.phrases else ""

    def _written(self, value: object, how: str) -> str:
        if how == "word":
            return self.comma.join(self.words[str(text)] for text in _listed(value))
        if how == "said":
            return self.comma.join(
                self.phrase(text) if isinstance(text, Said) else str(text) for text in _listed(value)
            )
        if how.startswith("?"):
            forms, alone = how[1:].split("|"), _FORMS[self.plural]
            return forms[alone.index(value)] if isinstance(value, int) and value in alone else forms[-1]
        if isinstance(value, float):
            return signed(format(value, how or "g").replace(".", self.decimal))
        return self.comma.join(map(str, _listed(value)))


def _listed(value: object) -> Sequence[object]:
    return value if isinstance(value, list | tuple) else (value,)


@cache
def template_fields(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """Return a template as texts, each with the name and the format of the value behind it."""
    return tuple((text, name, how or "") for text, name, how, _ in string.Formatter().parse(template))


@contextmanager
def customers_language(language: str) -> Iterator[None]:
    """Ask the customer in the language of one of the catalogues as long as the context lasts."""
    token = _LANGUAGE.set(language)
    try:
        yield
    finally:
        _LANGUAGE.reset(token)


def customers_catalogue() -> Catalogue:
    """Return the words of the language in which the customer is asked; English where none was chosen."""
    return _catalogue(_LANGUAGE.get())


@cache
def _catalogue(language: str) -> Catalogue:
    return msgspec.convert(own_table(_FOLDER / f"{language}.toml"), Catalogue)

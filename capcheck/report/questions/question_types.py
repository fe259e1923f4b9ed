"""The types of questions to a customer as data: what raises each, what makes questions of their own, its group."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from capcheck.model import Said, Severity
from capcheck.values import own_table

_TABLE: Final = Path(__file__).with_name("question_types.toml")
NOBODY: Final = "nobody"
"""The type of what no customer is asked; the table gives the reason for each."""
FIGURES: Final = ("length", "width", "height", "pitch", "pins", "lead style", "mounting", "ball diameter", "mass")
"""The columns of a package library that a customer may be asked to fill in, in their order."""
OTHER: Final = "other"
"""The type of what a shop's own rules and facts raise, in the shop's words."""


class QuestionType(Struct, frozen=True, forbid_unknown_fields=True):
    """One type, as the head of ``question_types.toml`` says."""

    group: Severity | None = None
    by: tuple[str, ...] = ()
    confirm: bool = False
    rows: bool = False
    reasons: bool = False
    pairs: bool = False
    covers: tuple[str, ...] = ()
    needs: str = ""
    figures: tuple[str, ...] = ()
    usual: Mapping[str, float] = {}

    @property
    def listed(self) -> bool:
        """Whether the parts are listed in rows of their own."""
        return self.rows or self.reasons or self.pairs


class Nobody(Struct, frozen=True, forbid_unknown_fields=True):
    """What no customer is asked about, each with the reason; *sentences* by key, of notes that take a thing so."""

    sentences: Mapping[str, str]
    topics: Mapping[str, str]
    rules: Mapping[str, str]
    facts: Mapping[str, str]


class QuestionTypes(Struct, frozen=True, forbid_unknown_fields=True):
    """Every type by its name, and the name for each key of a sentence, topic, rule and fact."""

    types: Mapping[str, QuestionType]
    said: Mapping[str, str]
    topics: Mapping[str, str]
    bodies: str
    rules: Mapping[str, str]
    facts: Mapping[str, str]
    missing: Mapping[str, str]
    """For a fact about a part, or a rule that goes by an estimate, the key of the phrase that names it to customers."""
    figures: Mapping[str, tuple[str, ...]]
    """For such a fact or rule, or such a phrase, the columns of a package library that state it."""
    nobody: Nobody

    def of_record(self, said: Said | str, topic: str) -> str:
        """Return the type of a record of this topic that says this."""
        key = said.key if isinstance(said, Said) else ""
        return self.said.get(key) or self.topics.get(topic, OTHER)

    def of_rule(self, rule: str) -> str:
        """Return the type of a rule that is decided and does not pass."""
        return NOBODY if rule in self.nobody.rules else self.rules.get(rule, OTHER)

    def of_fact(self, fact: str) -> str:
        """Return the type of a fact of the customer's that is missing."""
        return NOBODY if fact in self.nobody.facts else self.facts.get(fact, OTHER)


@cache
def question_types() -> QuestionTypes:
    """Return the table."""
    return msgspec.convert(own_table(_TABLE), QuestionTypes)


def type_of_rule(rule: str) -> str:
    """Return the type of question to which a rule leads that is decided and does not pass."""
    return question_types().of_rule(rule)

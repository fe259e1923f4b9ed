"""The parts of a question that are answered one by one, each with a key that stays and the hash of what is asked."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from capcheck.lexicon import Catalogue
from capcheck.model import PartName, Said
from capcheck.report.questions.causes import Cause
from capcheck.report.questions.question_types import FIGURES, QuestionType, question_types
from capcheck.values import first_circuit, in_ranges, number_of

KEY_DIGITS: Final = 5
ASKED_DIGITS: Final = 10
_MOUNTING: Final = "mounting"
"""Asked beside the body, whose question covers that of the mounting."""


class Row(Struct, frozen=True):
    """A part of a question that is answered by itself: what it is called, its package, and its designators."""

    key: str
    name: str
    package: str
    refs: tuple[str, ...]
    detail: str = ""
    asked: str = ""
    """The same in every run that asks the same of the same part: an answer to anything else is refused."""
    figures: tuple[str, ...] = ()
    """The columns of a package library that would answer it, those that are missing first."""
    every: tuple[str, ...] = ()
    """The designators one by one."""
    rules: tuple[str, ...] = ()
    """The rules whose findings raise it."""

    @property
    def code(self) -> str:
        """Its key with the version of what is asked, for a text that comes back."""
        return f"{self.key}/{self.asked}"


class Parts(Struct, frozen=True):
    """How the data call the part at each designator."""

    every: frozenset[str]
    names: Mapping[str, PartName]
    unmounted: frozenset[str] = frozenset()
    """The designators of which nobody says how they are mounted."""

    def first(self, refs: Iterable[str]) -> tuple[str, ...]:
        """Return designators as the customer writes them, without those of further circuits."""
        return tuple(dict.fromkeys(first_circuit(ref, self.every) for ref in refs))

    def name(self, ref: str) -> str:
        """Return part number, value or footprint; the designator where the data give none."""
        named = self.names.get(ref)
        return (named.part_number or named.value or named.footprint or ref) if named else ref

    def package(self, ref: str) -> str:
        """Return the footprint or package that the data name; empty where they give none."""
        named = self.names.get(ref)
        return (named.footprint or named.bom_package) if named else ""


class _Listed(Struct):
    """What is gathered of one part of a question."""

    identity: str = ""
    package: str = ""
    refs: dict[str, None] = field(default_factory=dict)
    details: dict[str, None] = field(default_factory=dict)
    said: dict[str, None] = field(default_factory=dict)
    figures: dict[str, None] = field(default_factory=dict)
    rules: dict[str, None] = field(default_factory=dict)
    every: dict[str, None] = field(default_factory=dict)

    def add(self, cause: Cause, kind: QuestionType) -> None:
        """Add what a cause says of the part beside its names."""
        if cause.said is not None:
            self.said[identity(cause.said)] = None
            figures = question_types().figures
            self.figures |= dict.fromkeys(figures.get(cause.fact or cause.said.key, ()))
        self.figures |= dict.fromkeys(kind.figures)
        self.rules |= dict.fromkeys([cause.rule] if cause.rule else [])


def identity(value: object) -> str:
    """Return a value as a text that is the same in every run."""
    if isinstance(value, Said):
        return f"{value.key}({', '.join(f'{name}={identity(own)}' for name, own in sorted(value.values.items()))})"
    return "|".join(map(identity, value)) if isinstance(value, list | tuple) else str(value)


def short_hash(*texts: str, digits: int = KEY_DIGITS) -> str:
    """Return a few digits that stand for these texts."""
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:digits]


def part_rows(
    key: str, type_: str, causes: Sequence[Cause], wanted: Mapping[str, None], *, catalogue: Catalogue, parts: Parts
) -> tuple[Row, ...]:
    """Return the parts one a row, or one reason or pairs with one part in common; that with most designators first."""
    kind, listed = question_types().types[type_], dict[str, _Listed]()
    called: dict[str, str] = {}
    often = Counter(ref for cause in causes for ref in parts.first(cause.refs)) if kind.pairs else Counter()
    for cause in causes:
        refs = tuple(ref for ref in parts.first(cause.refs) if ref in wanted)
        if kind.pairs:
            _add_pair(listed, often, refs).add(cause, kind)
            continue
        detail = catalogue.phrase(cause.said) if cause.said is not None else ""
        own = detail if kind.reasons or not refs else ""
        for ref in refs or ("",):
            # A record may call the part by what another one leaves out: it stays one row.
            name = own or cause.part or called.get(ref) or parts.name(ref)
            called.setdefault(ref, name)
            # A reason is put in the customer's language, and its key is the same in each.
            same = identity(cause.said) if own and cause.said is not None else name
            row = listed.setdefault(name, _Listed(same, "" if own else parts.package(ref)))
            row.refs |= dict.fromkeys([ref] if ref else [])
            row.details |= dict.fromkeys([detail] if detail and detail != name else [])
            row.every |= dict.fromkeys([ref] if ref else [])
            row.add(cause, kind)
            if ref in parts.unmounted and type_ == question_types().bodies:
                row.figures[_MOUNTING] = None
    rows = [
        Row(
            f"{key}:{short_hash(row.identity)}",
            name,
            row.package if row.package != name else "",
            tuple(in_ranges(ref for ref in row.refs if ref != name)),
            catalogue.comma.join(sorted(row.details, key=_order_in(catalogue))),
            asked=short_hash(
                type_,
                row.identity,
                row.package,
                *sorted(row.every, key=number_of),
                *sorted(row.said),
                digits=ASKED_DIGITS,
            ),
            figures=tuple(name for name in FIGURES if name in row.figures),
            every=tuple(sorted(row.every, key=number_of)),
            rules=tuple(sorted(row.rules)),
        )
        for name, row in listed.items()
    ]
    return tuple(sorted(rows, key=lambda row: (-len(listed[row.name].refs), number_of(row.name))))


def _order_in(catalogue: Catalogue) -> Callable[[str], int]:
    """Return a key that sorts the phrases of a row as the catalogue lists them, and before them what has values."""
    order = {phrase: at for at, phrase in enumerate(catalogue.phrases.values())}
    return lambda detail: order.get(detail, -1)


def _add_pair(listed: dict[str, _Listed], often: Mapping[str, int], refs: Sequence[str]) -> _Listed:
    """Add a pair to the row of that of its parts which is in more pairs, and return the row."""
    hub = max(refs, key=lambda ref: often[ref])
    row = listed.setdefault(hub, _Listed(hub))
    row.refs |= dict.fromkeys(ref for ref in refs if ref != hub)
    row.every |= dict.fromkeys(refs)
    return row

"""The catalogue of facts: what rules may ask for by name, and the session that works facts out once, on demand.

A provider is a function whose parameters name what it needs: another fact (``part_height`` asks for ``part.height``)
or one of the session's inputs (:data:`INPUTS`). Nothing is worked out that no rule in use asks for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Final, Literal, Protocol, TypeVar, cast

import numpy as np
from msgspec import Struct, field

from capcheck.facts.columns import Column, Numbers, Sets, Texts, Truths, expected
from capcheck.machines import Line
from capcheck.model import Board, Codes
from capcheck.values import NUMBER, Dimension, counted, nearest

FactKind = Literal["number", "text", "flag", "set"]
Provider = Callable[..., Column | Sequence[Column]]
"""What works a fact out: one column; for a fact of two scopes (a part on a head) one for each machine or head."""
Choices = tuple[str, ...] | Callable[[], tuple[str, ...]]
Declared = TypeVar("Declared", bound=Provider)
Result = TypeVar("Result")

SCOPES: Final[dict[str, str]] = {
    "board": "the board as a whole",
    "side": "a side of the board, top or bottom",
    "part": "a fitted part of the placement data",
    "pair": "two neighbouring bodies on one side",
    "fiducial": "a fiducial mark",
    "bom": "a line of the bill of materials",
    "data": "a disagreement in the customer's files",
    "machine": "a placement machine of the line",
    "head": "a placement head",
    "transport": "the board on the conveyor of one machine, in the direction chosen for it",
    "passage": "a side of the board, facing up, in one machine",
    "placing": "a part on a head",
    "passing": "a part passing through one machine, whether or not it is placed there",
    "line": "the line as a whole",
}

KINDS: Final[dict[FactKind, type[Column]]] = {"number": Numbers, "text": Texts, "flag": Truths, "set": Sets}

INPUTS: Final = ("board", "line", "product_class", "stencil_thickness", "customer", "reach", "able", "session")
"""What a provider may ask for beside facts: the board as read, the line, the class of product (1 to 3, or None), the
stencil's thickness in mm (or None), whom the board is built for (blank where that is not stated), how far in mm the
rules in use look for neighbours, what the heads are able to place (or None), and the session itself."""


class UnknownFactError(LookupError):
    """No fact has this name; the message suggests the nearest."""


class FactError(TypeError):
    """What a shop's provider returned is no column of its fact; the message names its file and line."""


class UsualNames(Struct, frozen=True):
    """The names that a text usually has, where a shop's library may give others."""

    every: Callable[[], tuple[str, ...]]
    """Gives them all, for a reader; pins and sizes may stand behind them."""
    meant: Callable[[str], str | None]
    """Gives the name that a text is likely meant for, a blank where there is none; None for a text that is one."""


class Fact(Struct, frozen=True):
    """A fact that rules may ask for.

    *needs* names a whole input (``outline``, ``bom``) without which the fact is not worked out at all.
    """

    name: str
    kind: FactKind
    dimension: Dimension
    help: str
    provider: Provider
    given: tuple[str, ...] | Callable[[], tuple[str, ...]] = ()
    needs: str | None = None
    names: UsualNames | None = None
    """Of a text that may be any: the names that it usually has."""
    where: str = ""
    """File and line of a shop's own fact, which is held to what it declares; blank for those that ship."""
    text_of: str = ""
    """The expression that a derived fact is worked out by; blank for all others."""
    uses: tuple[str, ...] = ()
    """The facts that a derived one is made of, and those that they are made of."""
    tree: object = None
    """The expression as it was read, for what is asked of examples."""
    lengths: tuple[float, ...] = ()
    """The lengths in mm that its expression names."""

    @property
    def choices(self) -> tuple[str, ...]:
        """The texts that a text or a set may have; none where it may have any."""
        return self.given() if callable(self.given) else self.given

    @property
    def scope(self) -> str:
        """The part of the name before the dot."""
        return self.name.split(".", 1)[0]

    @property
    def kind_text(self) -> str:
        """What the fact's values are, for a reader: ``length in mm``, ``text``, ``yes or no``."""
        if self.kind == "number":
            unit = self.dimension.unit.replace("**2", "²").replace("**3", "³")
            return "number" if self.dimension is NUMBER else f"{self.dimension} in {unit}"
        return {"text": "text", "flag": "yes or no", "set": "set of texts"}[self.kind]


Family = Callable[["Catalogue", str], Fact | None]
"""Makes the fact of a name, or None for a name that is none of the family's."""


class _Register(Protocol):
    """Keeps the provider that it decorates, and returns it as it is."""

    def __call__(self, provider: Declared, /) -> Declared: ...


class Catalogue:
    """All facts by name."""

    def __init__(self) -> None:
        self._facts: dict[str, Fact] = {}
        self._families: list[Family] = []

    def family(self, made: Family) -> Family:
        """Declare facts that are made when they are asked for, since there are too many to list."""
        self._families.append(made)
        return made

    def number(self, name: str, dimension: Dimension, text: str, *, needs: str | None = None) -> _Register:
        """Declare a numeric fact; the decorated provider returns :class:`~capcheck.facts.columns.Numbers`."""
        return self._register(name, "number", dimension, text, needs=needs)

    def flag(self, name: str, text: str, *, needs: str | None = None) -> _Register:
        """Declare a yes-or-no fact; the decorated provider returns :class:`~capcheck.facts.columns.Truths`."""
        return self._register(name, "flag", NUMBER, text, needs=needs)

    def text(
        self,
        name: str,
        text: str,
        *,
        choices: Choices = (),
        needs: str | None = None,
        names: UsualNames | None = None,
    ) -> _Register:
        """Declare a text fact; *choices* are its possible values, or make them, where it may not have any text.

        Where it may, *names* are those that it usually has.
        """
        return self._register(name, "text", NUMBER, text, choices=choices, needs=needs, names=names)

    def set_of(self, name: str, text: str, *, choices: tuple[str, ...] = ()) -> _Register:
        """Declare a fact whose values are sets of texts."""
        return self._register(name, "set", NUMBER, text, choices=choices)

    def _register(
        self,
        name: str,
        kind: FactKind,
        dimension: Dimension,
        text: str,
        *,
        choices: Choices = (),
        needs: str | None = None,
        names: UsualNames | None = None,
    ) -> _Register:
        def keep(provider: Declared, /) -> Declared:
            self.add(
                Fact(
                    name=name,
                    kind=kind,
                    dimension=dimension,
                    help=text,
                    provider=provider,
                    given=choices,
                    needs=needs,
                    names=names,
                )
            )
            return provider

        return keep

    def add(self, fact: Fact) -> None:
        """Add a fact. Raises ValueError for a name that is taken or has no known scope."""
        if fact.name in self._facts:
            raise ValueError(f'there are two facts named "{fact.name}"')
        if fact.scope not in SCOPES:
            raise ValueError(f'"{fact.name}" has no known scope; scopes are {", ".join(SCOPES)}')
        self._facts[fact.name] = fact

    def include(self, other: Catalogue) -> None:
        """Add all facts of another catalogue."""
        for fact in other:
            self.add(fact)
        self._families += other._families

    def copy(self) -> Catalogue:
        """Return a catalogue to which a shop's facts can be added without changing this one."""
        other = Catalogue()
        other._facts, other._families = dict(self._facts), list(self._families)
        return other

    def __getitem__(self, name: str) -> Fact:
        fact = self._find(name)
        if fact is None:
            hint = nearest(name, self._facts)
            raise UnknownFactError(f'there is no fact "{name}"' + (f"; {hint}" if hint else ""))
        return fact

    def _find(self, name: str) -> Fact | None:
        return self._facts.get(name) or next((f for made in self._families if (f := made(self, name))), None)

    def __contains__(self, name: object) -> bool:
        try:
            return isinstance(name, str) and self._find(name) is not None
        except UnknownFactError:
            return False

    def __iter__(self) -> Iterator[Fact]:
        return iter(sorted(self._facts.values(), key=lambda fact: fact.name))

    def __len__(self) -> int:
        return len(self._facts)


def fact_of_parameter(parameter: str) -> str:
    """Return the fact that a parameter asks for: ``part_height`` is ``part.height``."""
    return parameter.replace("_", ".", 1)


def is_after_heads(catalogue: Catalogue, name: str) -> bool:
    """Whether a fact hangs on what the heads are able to place: it can only be worked out once that is answered."""
    return any("able" in parameters_of(catalogue[one].provider) for one in (name, *catalogue[name].uses))


def parameters_of(function: Callable[..., object]) -> tuple[str, ...]:
    """Return the names of the parameters of a plain function, in order."""
    code = function.__code__
    return code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]


class Session(Struct):
    """The facts of one board on one line, each worked out at most once."""

    catalogue: Catalogue
    board: Board
    line: Line | None = None
    product_class: int | None = None
    stencil_thickness: float | None = None
    """In mm, as the shop's configuration states it."""
    customer: str = ""
    reach: float = 0.0
    able: Codes | None = None
    """Heads × parts once the rules on heads are answered: 1 proved, 0 undecided, −1 no."""
    calls: Counter[str] = field(default_factory=Counter)
    """How often each provider ran, by fact."""
    _facts: dict[str, Column | Sequence[Column]] = field(default_factory=dict)
    _shared: dict[Callable[..., object], object] = field(default_factory=dict)

    def get(self, name: str) -> Column:
        """Return a fact's column. Raises :class:`UnknownFactError`."""
        column = self._fact(name)
        if isinstance(column, Sequence):
            raise TypeError(f"{name} has a column for each machine or head")
        return column

    def on_each(self, name: str) -> Sequence[Column]:
        """Return a fact's columns, one for each machine or head. Raises :class:`UnknownFactError`."""
        columns = self._fact(name)
        return columns if isinstance(columns, Sequence) else [columns]

    def numbers(self, name: str) -> Numbers:
        """Return the column of a numeric fact."""
        return expected(self.get(name), Numbers)

    def texts(self, name: str) -> Texts:
        """Return the column of a text fact."""
        return expected(self.get(name), Texts)

    def shared(self, work: Callable[..., Result]) -> Result:
        """Return the result of *work*, done once: a step that several providers build on, such as the geometry."""
        if work not in self._shared:
            self.calls[f"{work.__module__}.{work.__qualname__}"] += 1
            self._shared[work] = work(**self._arguments(work))
        return cast("Result", self._shared[work])

    def _fact(self, name: str) -> Column | Sequence[Column]:
        if name not in self._facts:
            fact = self.catalogue[name]
            self.calls[name] += 1
            found = fact.provider(**self._arguments(fact.provider))
            if fact.where:
                self._check(fact, found)
            self._facts[name] = found
        return self._facts[name]

    def _check(self, fact: Fact, found: Column | Sequence[Column]) -> None:
        """Hold what a shop's provider returns to what its fact is. Raises :class:`FactError`."""
        kind = KINDS[fact.kind]
        if not isinstance(found, kind):
            raise FactError(
                f"{fact.where}: {fact.name} returned {type(found).__name__}, it is declared as {fact.kind_text}: "
                f"return {kind.__name__}"
            )
        rows, there = len(found), self._rows(fact.scope)
        if there is not None and rows != there:
            of = SCOPES[fact.scope].removeprefix("the ").removeprefix("a ")
            raise FactError(
                f"{fact.where}: {fact.name} has {counted(rows, 'row')}, for each {of} one is needed: {there}"
            )
        if isinstance(found, Numbers):
            if len(found.low) != len(found.high):
                raise FactError(f"{fact.where}: {fact.name} has {rows} low ends and {len(found.high)} high ends")
            if np.isnan(found.low).any() or np.isnan(found.high).any() or (found.low > found.high).any():
                raise FactError(
                    f"{fact.where}: {fact.name} has ends that are nan or stand the wrong way round; "
                    "unknown is written Numbers.stated([None])"
                )
        if fact.choices and isinstance(found, Texts) and (odd := set(found.values) - set(fact.choices)):
            raise FactError(f'{fact.where}: {fact.name} has the text "{min(odd)}", which is none of its choices')

    def _rows(self, scope: str) -> int | None:
        """Return how many rows a fact of *scope* has; None for one of two scopes, which the shop's own cannot be."""
        name = {"board": "", "line": "", "pair": "pair.refs", "bom": "bom.refs", "data": "data.refs"}.get(scope)
        if name == "":
            return 1
        if name is None:
            name = next((n for n in (f"{scope}.ref", f"{scope}.name") if n in self.catalogue), "")
        return len(self.get(name)) if name else None

    def _arguments(self, function: Callable[..., object]) -> dict[str, object]:
        """Return what *function* asks for by its parameters' names: inputs and facts."""
        return {name: self._argument(name) for name in parameters_of(function)}

    def _argument(self, parameter: str) -> object:
        if parameter == "session":
            return self
        if parameter in INPUTS:
            return getattr(self, parameter)
        return self._fact(fact_of_parameter(parameter))

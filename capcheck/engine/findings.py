"""What a rule has to say about one subject, as data; its sentence is made when it is asked for."""

from __future__ import annotations

import math
import string
from functools import cache
from typing import Final, Literal

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.model import Said, say
from capcheck.values import Dimension, Place, show, shown_unit

_REFERENCES: Final = frozenset({"part.ref", "pair.refs", "fiducial.ref", "bom.refs", "data.refs"})
"""Facts that name the subject of a finding: a message may begin with one of them and a colon."""
_MACHINE: Final = "machine.name"
_LEAST_SIZE: Final = 1e-9


class SubjectName(Struct, frozen=True):
    """What a finding is about. Everything but *kind* is None where it does not apply."""

    kind: str
    ref: str | None = None
    machine: str | None = None
    head: str | None = None
    side: str | None = None

    def __str__(self) -> str:
        """Return the subject as one phrase: ``L3 on Machine / Head``."""
        device = " / ".join(name for name in (self.machine, self.head) if name)
        own = self.ref or (f"{self.side} side" if self.side else self.kind.split(" on ")[0])
        return f"{own} on {device}" if device else own


class FactValue(Struct, frozen=True):
    """A fact's value for one subject: an interval in the canonical unit, or a text; with its source.

    *source* is a place in a file, or says in words where the value comes from; it may be empty.
    """

    name: str
    low: float | None = None
    high: float | None = None
    text: str | None = None
    dimension: Dimension | None = None
    source: Place | str = ""
    note: Said | None = None
    """What it is made of: the parts that were counted, the one that is the tallest, those that leave it open."""

    @property
    def unit(self) -> str:
        """The unit as reports print it; empty for plain numbers and texts."""
        return shown_unit(self.dimension) if self.dimension is not None else ""

    @property
    def is_exact(self) -> bool:
        """Whether only one value is possible."""
        return self.text is not None if self.dimension is None else self.low == self.high

    @property
    def is_unknown(self) -> bool:
        """Whether nothing is known: no text, or no upper and no positive lower bound."""
        if self.dimension is None or self.low is None or self.high is None:
            return self.text is None
        return self.high == math.inf and self.low <= 0

    def __str__(self) -> str:
        """Return the value for a reader; ``unknown`` where nothing is known."""
        return f"{self._value()} ({sentence(self.note)})" if self.note is not None else self._value()

    def _value(self) -> str:
        if self.dimension is None or self.low is None or self.high is None:
            return self.text if self.text is not None else "unknown"
        if self.low == self.high and math.isinf(self.low):
            return "none"  # the least of nothing
        return show(self.low, self.high, self.dimension)


class Margin(Struct, frozen=True):
    """The distance to a limit, as an interval in the canonical unit: negative where the limit is passed.

    *size* is the larger of the two magnitudes that are compared, whichever of them is the limit.
    """

    low: float
    high: float
    dimension: Dimension
    comparison: str
    size: float = 0.0

    @property
    def share(self) -> float:
        """The least distance as a share of the size: how close it is, whichever way the limit points."""
        return self.low / max(self.size, _LEAST_SIZE)

    def __str__(self) -> str:
        """Return the margin for a reader."""
        return show(self.low, self.high, self.dimension)


class Waiting(Struct, frozen=True):
    """One end of a wait: an answer of *rule* on *subject*."""

    rule: str
    subject: SubjectName

    def seen_from(self, rule: str, subject: SubjectName) -> str:
        """Return the answer as another one names it: what they share is left out."""
        if self.subject.ref != subject.ref and self.subject.ref is not None:
            ref = self.subject.ref
            return ref if self.rule == rule else sentence(say("engine.answer of", rule=self.rule, ref=ref))
        on_machine = say("engine.answer on", rule=self.rule, machine=self.subject.machine)
        return sentence(on_machine) if self.rule == rule else self.rule


class Finding(Struct, frozen=True):
    """One answer that is not a pass.

    *title* is the rule's headline, or for an undecided finding what should hold. *undecided* findings are warnings: the
    facts do not decide the rule, and *missing* names the facts that are unknown or too wide. *group* is what findings
    are gathered by in a report, such as a part number. *template* is the rule's message with names in braces, and
    *shown* the values of those names.
    """

    rule: str
    title: str
    outcome: Literal["warn", "fail"]
    undecided: bool
    subject: SubjectName
    facts: tuple[FactValue, ...]
    margin: Margin | None
    template: str
    remedy: str
    place: Place | None = None
    """Where the subject stands in the customer's data, if it stands in one place."""
    shown: tuple[FactValue, ...] = ()
    missing: tuple[str, ...] = ()
    group: str = ""
    part_type: str = ""
    """Part number of what the finding is about, else its value and footprint; of a pair both; empty for no part."""
    waived: bool = False
    waiver: str = ""
    """Reason, name and end of the waiver."""
    baseline: Literal["", "new", "worse", "unchanged"] = ""
    """How it stands to an earlier report; empty if there is none to compare with."""
    waits_for: Waiting | None = None
    """The undecided answer that this one waits for: it is undecided too, and asks nothing of its own."""
    awaited_by: tuple[Waiting, ...] = ()
    """The answers that wait for this one, which asks for all that they lack."""

    @property
    def message(self) -> str:
        """The whole sentence: the rule's message, or for an undecided finding what is known of the facts."""
        return self.told()

    @property
    def text(self) -> str:
        """The sentence without the reference it begins with, so that what is said of several subjects is alike."""
        return self.told(reference=False)

    @property
    def names_machine(self) -> bool:
        """Whether the sentence names the machine that the finding is about."""
        return not self.undecided and any(name == _MACHINE for _, name in template_pieces(self.template))

    def told(self, *, reference: bool = True, machine: str | None = None) -> str:
        """Return the sentence, with or without the *reference* it begins with; *machine* stands for the machine's name.

        With the names of several machines for *machine*, one sentence speaks of them all.
        """
        if self.undecided:
            said = say("engine.undecided", title=self.title, known=self._known(), waiting=self._waiting())
            return sentence(said)
        values = {value.name: str(value) for value in self.shown}
        if machine is not None:
            values[_MACHINE] = machine
        pieces = template_pieces(self.template)
        if not reference and len(pieces) > 1 and pieces[0] in _LEADING and pieces[1][0].startswith(": "):
            pieces = ((pieces[1][0][2:], pieces[1][1]), *pieces[2:])
        return "".join(literal + (values[name] if name is not None else "") for literal, name in pieces)

    def _known(self) -> list[Said]:
        """Return what is known of each fact, the open ones first; one that others wait for asks for many at once."""
        unknown = [value.name for value in self.facts if value.is_unknown] if self.awaited_by else []
        rest = [value for value in self.facts if value.name not in unknown]
        known = sorted(rest, key=lambda value: value.is_exact)
        told = [say("engine.fact is", fact=value.name, value=str(value)) for value in known]
        if len(unknown) > 1:
            return [say("engine.facts are unknown", facts=unknown), *told]
        return [*(say("engine.fact is", fact=name, value="unknown") for name in unknown), *told]

    def _waiting(self) -> Said | str:
        if self.waits_for is not None:
            return say("engine.waits for", answer=self.waits_for.seen_from(self.rule, self.subject))
        names = list(dict.fromkeys(one.seen_from(self.rule, self.subject) for one in self.awaited_by))
        return say("engine.others wait", answers=names) if names else ""


@cache
def template_pieces(template: str) -> tuple[tuple[str, str | None], ...]:
    """Return each literal of a message with the name in braces that follows it. Raises ValueError for a lone brace."""
    return tuple((literal, name) for literal, name, _, _ in string.Formatter().parse(template))


_LEADING: Final = frozenset(("", name) for name in _REFERENCES)


class Tightest(Struct, frozen=True):
    """The subject that comes closest to one limit of a rule among those that pass."""

    rule: str
    comparison: str
    margin: Margin
    subject: SubjectName
    facts: tuple[FactValue, ...]

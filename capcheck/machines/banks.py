"""Feeder banks as a machine profile states them, and what contradicts itself in them."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from capcheck.values import PositiveLength

_Slot = Annotated[int, Field(strict=True, ge=1, le=100_000)]


class Bank(BaseModel):
    """A feeder bank: its slots, the heads that reach them, and what they take."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

    name: str = Field(min_length=1, description="name of the bank, unique in the machine")
    slots: _Slot = Field(description="feeder slots of the bank")
    first_slot: _Slot | None = Field(
        None, description="number of its first slot in set-up lists; left out: they go on from the bank before"
    )
    heads: tuple[str, ...] | None = Field(
        None, min_length=1, description="names of the heads that reach it; without heads and gantries: all heads"
    )
    gantries: tuple[int, ...] | None = Field(
        None, min_length=1, description="numbers of the gantries whose heads reach it, besides those named"
    )
    max_tape_width: PositiveLength | None = Field(
        None, description="widest tape; left out: whatever there is a feeder for"
    )
    max_pocket_depth: PositiveLength | None = Field(
        None, description="deepest pocket of a tape; left out: not asked for"
    )
    max_reel: PositiveLength | None = Field(None, description="largest reel, by diameter; left out: not asked for")
    cart: bool = Field(default=False, description="whether it is a cart, which is exchanged with all its feeders")
    tray_places: int | None = Field(
        None, strict=True, ge=0, le=100_000, description="trays that a tray unit at this bank offers without a stop"
    )
    tray_covers: tuple[_Slot, _Slot] | None = Field(
        None, description="first and last slot that the tray unit covers while it is mounted, as [1, 10]"
    )

    @model_validator(mode="after")
    def _says_one_thing(self) -> Self:
        if self.tray_covers is not None:
            if self.tray_covers[0] > self.tray_covers[1]:
                told = f'the tray unit of bank "{self.name}" covers {_span(self.tray_covers)}'
                raise ValueError(f"{told}; exchange the two numbers")
            if not self.tray_places:
                raise ValueError(
                    f'bank "{self.name}" states what a tray unit covers but no tray places; add tray_places'
                )
        return self

    def is_reached_by(self, head: str, gantry: int) -> bool:
        """Whether a head, by its name and the number of its gantry, reaches the bank."""
        if self.heads is None and self.gantries is None:
            return True
        return head in (self.heads or ()) or gantry in (self.gantries or ())


def first_slots(banks: Sequence[Bank]) -> list[int]:
    """Return the number of each bank's first slot: as stated, else behind the bank before."""
    found: list[int] = []
    after = 1
    for bank in banks:
        found.append(after if bank.first_slot is None else bank.first_slot)
        after = found[-1] + bank.slots
    return found


def _span(numbers: tuple[int, int]) -> str:
    return f"slots {numbers[0]} to {numbers[1]}"


def faults_of(banks: Sequence[Bank], heads: Mapping[str, int], stated: Mapping[str, int | None]) -> Iterator[str]:
    """Yield what contradicts itself in the banks of a machine, each as a sentence with what to do.

    *heads* are the gantries of its heads by name, *stated* what [feeders] says of slots, tray_slots and tray_places.
    """
    names = [bank.name for bank in banks]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f'two banks are named "{name}"; set-up lists need a name for each'
    yield from _overlaps(banks)
    for bank, first in zip(banks, first_slots(banks), strict=True):
        yield from _unreached(bank, heads)
        yield from _tray_unit_outside(bank, first)
    yield from _stated_twice(banks, heads, stated)


def _tray_unit_outside(bank: Bank, first: int) -> Iterator[str]:
    covers, last = bank.tray_covers, first + bank.slots - 1
    if covers is None:
        return
    told = f'the tray unit of bank "{bank.name}" covers {_span(covers)}'
    if covers[0] < first or covers[1] > last:
        yield f"{told}, but the bank has {_span((first, last))}; correct one of them"
    elif covers[0] != first and covers[1] != last:
        yield f"{told} in its middle, which parts the bank in two; write a bank for each side of it"


def _overlaps(banks: Sequence[Bank]) -> Iterator[str]:
    """Yield which banks share slots: a feeder in the list would have two places."""
    spans = sorted(
        (first, first + bank.slots - 1, bank.name) for bank, first in zip(banks, first_slots(banks), strict=True)
    )
    for k, (_, last, name) in enumerate(spans):
        for other_first, other_last, other in spans[k + 1 :]:
            if other_first <= last:
                shared = _span((other_first, min(last, other_last)))
                yield f'banks "{name}" and "{other}" overlap in {shared}; correct slots or first_slot'


def _unreached(bank: Bank, heads: Mapping[str, int]) -> Iterator[str]:
    """Yield which heads and gantries a bank names that the machine does not have."""
    names, numbers = list(heads), sorted(set(heads.values()))
    for name in bank.heads or ():
        if name not in names:
            yield f'bank "{bank.name}" names a head "{name}" that the machine does not have; heads: {", ".join(names)}'
    for number in bank.gantries or ():
        if number not in numbers:
            there = ", ".join(map(str, numbers))
            yield f'bank "{bank.name}" names a gantry {number} that no head has; gantries: {there}'


def _stated_twice(banks: Sequence[Bank], heads: Mapping[str, int], stated: Mapping[str, int | None]) -> Iterator[str]:
    """Yield what [feeders] says that banks say otherwise, and heads that reach no bank."""
    total, slots, trays = sum(bank.slots for bank in banks), stated["slots"], stated["tray_places"]
    if slots is not None and slots != total:
        yield f"the banks have {total} slots together, [feeders] says {slots}; leave slots out of [feeders]"
    if stated["tray_slots"]:
        yield "what a tray unit covers is stated by bank; write tray_covers there, not tray_slots in [feeders]"
    if trays is not None and any(bank.tray_places is not None for bank in banks):
        yield "tray places are stated in [feeders] and in a bank; keep those of the bank that the tray unit stands at"
    # A head that picks from trays alone may do without, where the tray unit stands at no bank.
    for name, gantry in () if trays else heads.items():
        if not any(bank.is_reached_by(name, gantry) for bank in banks):
            yield f'head "{name}" reaches no bank; name it in one, or leave heads and gantries out'

"""Feeder banks of a machine: which heads reach them, what they take, and which of their slots are free.

A machine whose profile states no banks counts as one place for feeders that all heads reach, and each gantry needs a
feeder of its own there. A feeder in a stated bank serves every head that reaches the bank.
"""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Final, Self

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, Field, model_validator

from capcheck.machines.feeder_slots import TAPE_WIDTHS_MM, tape_widths
from capcheck.model import Basis, Body, Measure
from capcheck.values import UNKNOWN_SIZE, Interval, PositiveLength

if TYPE_CHECKING:
    from capcheck.machines.profile import Feeders, Head, MachineProfile

_POCKET_ROOM_MM: Final = 1.0
"""How much deeper than the part a pocket may be; common practice, no source: 0.1 to 0.6 mm, with room."""

TRAY_UNIT: Final = "tray unit"
"""What reports call a tray unit that stands at none of a machine's banks."""

_Slot = Annotated[int, Field(ge=1, le=100_000)]


class Bank(BaseModel):
    """A feeder bank: its slots, the heads that reach them, and what they take."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    name: str = Field(min_length=1, description="name of the bank, unique in the machine")
    slots: _Slot = Field(description="feeder slots of the bank")
    first_slot: _Slot | None = Field(
        None, description="number of its first slot in set-up lists; left out: they go on from the bank before"
    )
    heads: tuple[str, ...] | None = Field(
        None, min_length=1, description="names of the heads that reach it; without heads and gantries: all heads"
    )
    gantries: tuple[int, ...] | None = Field(
        None, min_length=1, description="numbers of the gantries whose heads reach it, in place of heads"
    )
    max_tape_width: PositiveLength | None = Field(
        None, description="widest tape; left out: whatever there is a feeder for"
    )
    max_pocket_depth: PositiveLength | None = Field(
        None, description="deepest pocket of a tape; left out: not asked for"
    )
    max_reel: PositiveLength | None = Field(None, description="largest reel, by diameter; left out: not asked for")
    tray_places: int | None = Field(
        None, ge=0, le=100_000, description="trays that a tray unit at this bank offers without a stop"
    )
    tray_covers: tuple[_Slot, _Slot] | None = Field(
        None, description="first and last slot that the tray unit covers while it is mounted, as [1, 10]"
    )

    @model_validator(mode="after")
    def _says_one_thing(self) -> Self:
        if self.heads is not None and self.gantries is not None:
            raise ValueError(f'bank "{self.name}" names heads and gantries; keep the one that tells who reaches it')
        if self.tray_covers is not None:
            if self.tray_covers[0] > self.tray_covers[1]:
                raise ValueError(f'the tray unit of bank "{self.name}" covers {_span(self.tray_covers)}: write [10, 20]')
            if not self.tray_places:
                raise ValueError(
                    f'bank "{self.name}" states what a tray unit covers but no tray places; add tray_places'
                )
        return self


class BankPlaces(Struct, frozen=True):
    """Places for feeders that the same heads reach: a bank, or a whole machine that states none (*name* is empty).

    *slots* and *tray_places* are None where the profile is silent; *tray_slots* are covered while the tray unit is
    mounted, the first of them where *covers_first*. *heads* are indices of the machine's heads. *shared* tells that one
    feeder serves all of them, else each gantry has one of its own.
    """

    name: str
    slots: int | None
    tray_places: int | None
    heads: tuple[int, ...]
    tray_slots: int = 0
    covers_first: bool = False
    first_slot: int = 1
    shared: bool = False
    bank: Bank | None = None

    def feeders_of(self, machine: "MachineProfile") -> "Feeders":
        """Return the feeders of the machine as they are here: its table, and the slots and tray places of this place."""
        if not self.shared:
            return machine.feeders
        here = {"slots": self.slots, "tray_places": self.tray_places, "tray_slots": self.tray_slots}
        return machine.feeders.model_copy(update=here)

    @property
    def only_trays(self) -> bool:
        """Whether it is a tray unit that stands at no bank."""
        return self.shared and self.bank is None

    def takes(self, packing: "Packing") -> bool | None:
        """Whether a feeder or tray of a part fits here: True or False where that is proved, else None.

        That a part comes in a tray is what is usual for such a body: without a tray unit it stays open.
        """
        if not self.shared:
            return True
        if packing.supply == "tray":
            return self.only_trays or bool(self.bank and self.bank.tray_places) or None
        if self.bank is None:
            return None if packing.supply is None else False
        if packing.supply == "stick":
            return True
        fits = packing.fits(self.bank)
        return fits if packing.supply == "tape" else None

    def names_stopping(self, packing: "Packing") -> list[str]:
        """Return which limits of the bank the tape does not keep, or is not proved to: names of the profile's fields."""
        return [] if self.bank is None else [name for name, kept in packing.kept(self.bank) if kept is not True]


class Packing(Struct, frozen=True):
    """What a part comes in, as far as a bank asks: form of supply, and of its tape the width, pocket and reel in mm.

    *usual* tells that the width is the one usual for such a body: a maker may pack it one width wider.
    """

    supply: str | None
    tape_width: Interval = UNKNOWN_SIZE
    pocket: Interval = UNKNOWN_SIZE
    reel: Interval = UNKNOWN_SIZE
    usual: bool = False

    def kept(self, bank: Bank) -> Iterator[tuple[str, bool | None]]:
        """Yield each limit that the bank states with whether the tape keeps it."""
        if bank.max_tape_width is not None:
            widths = tape_widths(self.tape_width)
            wider = [w for w in TAPE_WIDTHS_MM if w > max(widths, default=0)][:1] if self.usual else []
            within = [w <= bank.max_tape_width for w in (*widths, *wider)]
            none = not any(within[: len(widths)])
            yield "max_tape_width", None if not widths else False if none else True if all(within) else None
        for name, size in (("max_pocket_depth", self.pocket), ("max_reel", self.reel)):
            limit: float | None = getattr(bank, name)
            if limit is not None:
                yield name, True if size.high <= limit else False if size.low > limit else None

    def fits(self, bank: Bank) -> bool | None:
        """Whether the tape keeps all limits of a bank."""
        kept = [is_kept for _, is_kept in self.kept(bank)]
        return False if False in kept else None if None in kept else True


def pocket_of(height: Interval) -> Interval:
    """Return the depth of the pocket of a part in mm: no less than its height, and little more."""
    return Interval(max(height.low, 0.0), height.high + _POCKET_ROOM_MM)


def packing_of(supply: str | None, width: Measure, height: Interval) -> Packing:
    """Return the packing of a part by its form of supply, its tape's width and its proved height in mm."""
    usual = supply == "tape" and width.basis is Basis.TYPICAL
    return Packing(supply, width.value, pocket_of(height), usual=usual)


def packing_of_body(body: Body) -> Packing:
    """Return the packing that is known of a body."""
    return packing_of(body.supply, body.tape_width, body.height.proved.value)


def places_of(machine: "MachineProfile") -> tuple[BankPlaces, ...]:
    """Return where feeders and trays of a machine may stand: its banks in order, or the whole machine as one."""
    feeders, every = machine.feeders, tuple(range(len(machine.head)))
    if not machine.bank:
        return (BankPlaces("", feeders.slots, feeders.tray_places, every, feeders.tray_slots or 0),)
    found = []
    for bank, first in zip(machine.bank, first_slots(machine.bank), strict=True):
        covers = bank.tray_covers
        found.append(
            BankPlaces(
                name=bank.name,
                slots=bank.slots,
                tray_places=bank.tray_places or 0,
                heads=tuple(k for k in every if reaches(bank, machine.head[k])),
                tray_slots=0 if covers is None else covers[1] - covers[0] + 1,
                covers_first=covers is not None and covers[0] == first,
                first_slot=first,
                shared=True,
                bank=bank,
            )
        )
    if not any(bank.tray_places is not None for bank in machine.bank):
        found.append(BankPlaces(TRAY_UNIT, 0, feeders.tray_places, every, shared=True))
    return tuple(found)


def reaches(bank: Bank, head: "Head") -> bool:
    """Whether a head reaches a bank."""
    if bank.heads is not None:
        return head.name in bank.heads
    return bank.gantries is None or head.gantry in bank.gantries


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


def faults_of(banks: Sequence[Bank], heads: Sequence["Head"], feeders: "Feeders") -> Iterator[str]:
    """Yield what contradicts itself in the banks of a machine, each as a sentence with what to do."""
    names = [bank.name for bank in banks]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f'two banks are named "{name}"; set-up lists need a name for each'
    yield from _overlaps(banks)
    for bank, first in zip(banks, first_slots(banks), strict=True):
        yield from _unreached(bank, heads)
        yield from _tray_unit_outside(bank, first)
    yield from _stated_twice(banks, heads, feeders)


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
    for k, (first, last, name) in enumerate(spans):
        for other_first, other_last, other in spans[k + 1 :]:
            if other_first <= last:
                shared = _span((other_first, min(last, other_last)))
                yield f'banks "{name}" and "{other}" overlap in {shared}; correct slots or first_slot'


def _unreached(bank: Bank, heads: Sequence["Head"]) -> Iterator[str]:
    """Yield which heads and gantries a bank names that the machine does not have."""
    names, numbers = [head.name for head in heads], sorted({head.gantry for head in heads})
    for name in bank.heads or ():
        if name not in names:
            yield f'bank "{bank.name}" names a head "{name}" that the machine does not have; heads: {", ".join(names)}'
    for number in bank.gantries or ():
        if number not in numbers:
            there = ", ".join(map(str, numbers))
            yield f'bank "{bank.name}" names a gantry {number} that no head has; gantries: {there}'


def _stated_twice(banks: Sequence[Bank], heads: Sequence["Head"], feeders: "Feeders") -> Iterator[str]:
    """Yield what [feeders] says that banks say otherwise, and heads that reach no bank."""
    total = sum(bank.slots for bank in banks)
    if feeders.slots is not None and feeders.slots != total:
        yield f"the banks have {total} slots together, [feeders] says {feeders.slots}; leave slots out of [feeders]"
    if feeders.tray_slots:
        yield "the slots that a tray unit covers are stated by bank; write tray_covers there, not tray_slots in [feeders]"
    if feeders.tray_places is not None and any(bank.tray_places is not None for bank in banks):
        yield "tray places are stated in [feeders] and in a bank; keep those of the bank that the tray unit stands at"
    # A head that picks from trays alone may do without, where the tray unit stands at no bank.
    for head in () if feeders.tray_places else heads:
        if not any(reaches(bank, head) for bank in banks):
            yield f'head "{head.name}" reaches no bank; name it in one, or leave heads and gantries out'

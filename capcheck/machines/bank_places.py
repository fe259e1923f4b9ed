"""Where feeders of a machine may stand, which heads reach them there, and whether a part's packaging fits.

A machine whose profile states no banks counts as one place for feeders that all heads reach, and each gantry needs a
feeder of its own there. A feeder in a stated bank serves every head that reaches the bank.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from capcheck.machines.banks import Bank, first_slots
from capcheck.machines.feeder_slots import TAPE_WIDTHS_MM, WITHOUT_TAPE, tape_widths
from capcheck.machines.profile import Feeders, MachineProfile
from capcheck.model import Basis, Body
from capcheck.values import UNKNOWN_SIZE, Interval

_POCKET_ROOM_MM: Final = 1.0
"""How much deeper than the part a pocket may be; common practice, no source: 0.1 to 0.6 mm, with room."""

TRAY_UNIT: Final = "tray unit"
"""What reports call a tray unit that stands at none of a machine's banks."""


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

    def feeders_of(self, machine: MachineProfile) -> Feeders:
        """Return the feeders of the machine as they are here: its table, with slots and tray places of this place."""
        if not self.shared:
            return machine.feeders
        here = {"slots": self.slots, "tray_places": self.tray_places, "tray_slots": self.tray_slots}
        return machine.feeders.model_copy(update=here)

    @property
    def only_trays(self) -> bool:
        """Whether it is a tray unit that stands at no bank."""
        return self.shared and self.bank is None

    def takes(self, packing: Packing) -> bool | None:
        """Whether a feeder or tray of a part fits here: True or False where that is proved, else None.

        That a part comes in a tray is what is usual for such a body: without a tray unit it stays open.
        """
        if not self.shared:
            return True
        if packing.supply == "tray":
            return self.only_trays or bool(self.bank and self.bank.tray_places) or None
        if self.bank is None:
            return None if packing.supply is None else False
        if packing.supply in WITHOUT_TAPE:
            return True
        fits = packing.fits(self.bank)
        return fits if packing.supply == "tape" else None

    def names_stopping(self, packing: Packing) -> list[str]:
        """Return which limits of the bank, as the profile names them, the tape is not proved to keep."""
        return [] if self.bank is None else [name for name, kept in packing.kept(self.bank) if kept is not True]


def pocket_of(height: Interval) -> Interval:
    """Return the depth of the pocket of a part in mm: no less than its height, and little more."""
    return Interval(max(height.low, 0.0), height.high + _POCKET_ROOM_MM)


def packing_of_body(body: Body) -> Packing:
    """Return the packing that is known of a body: its pocket as stated, else by its proved height."""
    pocket = body.pocket_depth
    return Packing(
        body.supply,
        body.tape_width.value,
        pocket_of(body.height.proved.value) if pocket.basis is Basis.UNKNOWN else pocket.value,
        body.reel.value,
        usual=body.supply == "tape" and body.tape_width.basis is Basis.TYPICAL,
    )


def places_of(machine: MachineProfile) -> tuple[BankPlaces, ...]:
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
                heads=tuple(k for k in every if bank.is_reached_by(machine.head[k].name, machine.head[k].gantry)),
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

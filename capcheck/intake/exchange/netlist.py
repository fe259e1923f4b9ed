"""Netlists for the electrical test of bare boards, IPC-D-356 and its revision A.

A record has columns of its own: 1–3 what it is (317 a hole, 327 a land on the surface, 0 in the first place what goes
on about the record before), 4–17 the net, 21–26 the reference, 28–31 the pin, 32 M for a point amid a net, 33–38 D with
the hole and P or U for its metal, 39–41 A with the layer (00 both sides, 01 the primary side), 42–57 x and y, 58–71 the
land's sides and its angle. The parameter UNITS says what a step is: CUST 0 and 2 a ten-thousandth of an inch, CUST 1
and SI a thousandth of a millimetre. Sources: R. Nedbal, "IPC-D-356 Simplified" (studylib.net, document 27460294); the
contents of IPC-D-356B for the columns of its fields; what the units mean is from memory, and held to placements.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.lands import Land, Netlist, hole_for_a_lead, joined
from capcheck.intake.files import lines_within_budget
from capcheck.values import InputError, pattern

_REMEDY: Final = "export the netlist again, or leave it out with fabrication = false in board.toml"
_MOST_LANDS: Final = 200_000
_STEPS_MM: Final = {"CUST 0": 0.00254, "CUST": 0.00254, "CUST 2": 0.00254, "CUST 1": 0.001, "SI": 0.001}
_UNIT: Final = pattern(r"P +UNITS +(CUST(?: +\d)?|SI)\b")
_PLACE: Final = pattern(r"A(\d\d)X([ +-]?\d{1,9})Y([ +-]?\d{1,9})(?:X *(\d{1,6}))?(?:Y *(\d{1,6}))?")
_HOLE: Final = pattern(r"D *(\d{1,4})([PU])")
_REFERENCE: Final = 6
"""Columns of a reference: a longer one is cut."""
_RECORDS: Final = frozenset({"317", "327", "017", "027"})
_END: Final = "999"
_NO_PART: Final = frozenset({"", "VIA"})
_BOTH_SIDES: Final = "00"
_TOP: Final = "01"


def read_netlist(file: Path) -> Netlist:
    """Return the lands of a netlist, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), Netlist)


def read_here(file: str, _argument: bytes) -> Netlist:
    """Return the lands of a netlist, read in this process. Raises :class:`InputError`."""
    lines = lines_within_budget(file, _REMEDY)
    units = {" ".join(unit[1].split()) for unit in map(_UNIT.search, lines) if unit}
    steps = {_STEPS_MM.get(unit) for unit in units}
    step = next(iter(steps)) if len(steps) == 1 else None  # of two units nobody knows which holds
    named = min(units) if step else ""
    lands: list[Land] = []
    layers: set[str] = set()
    lists_open = goes_on = False
    unread = 0
    for number, record in _records(lines):
        land, layer, damaged = _land(record, number, step)
        unread += damaged
        if land is None:
            goes_on = goes_on and record[0] == "0"
            if goes_on and (hole := _HOLE.match(record, 32)) is not None:
                # The hole of a pin whose lands stand in records of their own, one a side.
                lands[-1] = replace(lands[-1], drilled=hole[2] == "P" or None)
            continue
        goes_on = True
        layers.add(layer)
        lists_open = lists_open or record[3:17].strip().upper() in {"N/C", "NC"}
        lands.append(land)
        if len(lands) > _MOST_LANDS:
            raise InputError.at(file, f"it has more than {_MOST_LANDS:,} lands", "no board has so many", _REMEDY)
    if not lands and not unread:
        raise InputError.at(file, "it names no pins of parts", "so it says nothing of them", _REMEDY)
    # Layers are counted from the primary side: two numbers are the two sides.
    sides = sorted(layers - {_BOTH_SIDES})
    known = {_TOP: "top", **({sides[-1]: "bottom"} if len(sides) <= 2 and sides and sides[-1] != _TOP else {})}
    lands = [replace(land, side=known.get(land.side, "")) for land in lands]
    has_end = any(line.startswith(_END) for line in lines)
    return Netlist(joined(lands), lists_open, _REFERENCE, named, unread, has_end)


def _records(lines: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Yield the records of test points up to the end of the job, with their lines."""
    for number, line in enumerate(lines, start=1):
        if line.startswith(_END):
            return
        if line[:3] in _RECORDS:
            yield number, line


def _land(record: str, line: int, step: float | None) -> tuple[Land | None, str, bool]:
    """Return the land of a record with its layer, and whether the record names a pin and is damaged."""
    ref, pin = record[20:26].strip(), record[27:31].strip()
    if ref.upper() in _NO_PART:
        return None, "", False
    place = _PLACE.search(record, 37)
    if place is None or record[26:27] != "-":
        return None, "", True
    at = None
    drilled: bool | None = None if record[1] == "1" else False
    if step is not None:
        at = _mm(place[2], step), _mm(place[3], step)
    hole = _HOLE.match(record, 32)
    if hole is not None:
        wide = max(int(place[4] or 0), int(place[5] or 0))
        factor = step or _STEPS_MM["CUST 0"]
        drilled = hole[2] == "P" and hole_for_a_lead(int(hole[1]) * factor, wide * factor)
        # A via in the land of a pin, or a peg without metal: how the pin is soldered is not said.
        drilled = drilled or None
    size = "x".join(sorted(side.lstrip("0") for side in (place[4] or "", place[5] or "")))
    return Land(ref, pin, line, at, place[1], drilled, size), place[1], False


def _mm(number: str, step: float) -> float:
    return round(int(number.replace(" ", "")) * step, 6)

"""Pads of Gerber layers of copper that carry the pin they are of: the object attribute ``.P`` of revision X2.

``TO.P`` names reference and pin of what follows until it is replaced or ``TD`` deletes it; the aperture attribute
``.AperFunction`` tells pads of parts in holes (ComponentPad) from those on the surface.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from msgspec import field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.gerber_commands import REMEDY, Drawn, GerberCommands, plain, text_of
from capcheck.intake.exchange.lands import Land, Netlist
from capcheck.values import InputError

_MOST_LANDS: Final = 60_000
_DRILLED: Final = {"ComponentPad": True, "SMDPad": False, "BGAPad": False, "ConnectorPad": False}
"""Whether a lead goes through a pad of a function; of others, such as heat sinks and washers, it is open."""
_LONGEST: Final = 60
"""Characters of a reference or a pin that is one."""


def read_pads(file: Path) -> Netlist:
    """Return the pads of a layer, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", REMEDY).read(str(file), Netlist)


def read_here(file: str, _argument: bytes) -> Netlist:
    """Return the pads of a layer, read in this process. Raises :class:`InputError`."""
    text = text_of(file)
    if "TO.P," not in text:
        return Netlist(())
    layer = _Pads(file)
    if text.count("TO.P,") > _MOST_LANDS:
        raise layer.too_many()
    layer.read(text)
    return Netlist(layer.lands, lists_open_pins=True)


class _Pads(GerberCommands):
    """The pads of a layer so far."""

    lands: list[Land] = field(default_factory=list)
    region: list[tuple[int, int]] = field(default_factory=list)

    def draw(self, drawn: Drawn) -> None:
        """Take a pad, or a corner of an area."""
        if self.in_region:
            self.region.append(drawn.end)
        elif drawn.code != "2" and "P" in self.said:
            self._land(drawn.end if drawn.code == "3" else None, self.aperture, drawn.line)

    def close_region(self, line: int) -> None:
        """Take an area as a pad in its middle."""
        if self.region and "P" in self.said:
            xs, ys = zip(*self.region, strict=True)
            self._land(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), "", line)
        self.region = []

    def _land(self, at: tuple[float, float] | None, size: str, line: int) -> None:
        """Add a pad; one that is drawn with strokes, or repeated in steps, lies nobody knows where."""
        named = _named(self.said["P"])
        if named is None:
            return
        place = None if at is None or self.is_stepped else self.mm(at)
        drilled = _DRILLED.get(self.function_now.partition(",")[0])
        self.lands.append(Land(*named, line, place, self.side, drilled, size))
        if len(self.lands) > _MOST_LANDS:
            raise self.too_many()

    def too_many(self) -> InputError:
        """Return the error that the layer has more pads than any board."""
        return InputError.at(self.file, f"it has more than {_MOST_LANDS:,} pads", "no board has so many", REMEDY)


@lru_cache(maxsize=1)
def _named(said: str) -> tuple[str, str] | None:
    """Return the reference and the pin of an attribute; None where it names none, or what no part is called."""
    ref, _, pin = said.partition(",")
    named = plain(ref), plain(pin.partition(",")[0])
    return named if ref and max(map(len, named)) <= _LONGEST else None

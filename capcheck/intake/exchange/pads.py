r"""Pads of Gerber layers of copper that carry the pin they are of: the object attribute ``.P`` of revision X2.

``TO.P`` names reference and pin of what follows until it is replaced or ``TD`` deletes it; the aperture attribute
``.AperFunction`` tells pads of parts in holes (ComponentPad) from those on the surface. Attributes may stand in
comments that begin with ``#@!``, and characters as ``\u`` with four digits. Source: the Gerber Layer Format
Specification, revision 2021.02, chapter on attributes (docslib.org, document 6300648), from memory in its details and
held to files.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.lands import Land, Netlist
from capcheck.values import InputError, pattern

_REMEDY: Final = "export the layers again, or leave them out with fabrication = false in board.toml"
_LARGEST: Final = 24 * 1024 * 1024
_MOST_LANDS: Final = 200_000
_DRILLED: Final = {"ComponentPad": True, "SMDPad": False, "BGAPad": False, "ConnectorPad": False}
"""Whether a lead goes through a pad of a function; of others, such as heat sinks and washers, it is open."""
_MM_PER: Final = {"MOMM": 1.0, "MOIN": 25.4}
_FORMAT: Final = pattern(r"FSLAX\d(\d)Y\d(\d)")
_OPERATION: Final = pattern(
    r"(?:G0?[123])?(?:X([+-]?\d{1,15}))?(?:Y([+-]?\d{1,15}))?(?:I[+-]?\d+)?(?:J[+-]?\d+)?D0?([123])"
)
_APERTURE: Final = pattern(r"(?:G54)?D(\d{2,})")
_DEFINED: Final = pattern(r"ADD(\d+)")
_SIDE: Final = pattern(r"TF\.FileFunction, *Copper, *L\d+, *(Top|Bot)")
_ESCAPED: Final = pattern(r"\\u([0-9A-Fa-f]{4})")
_COMMENT: Final = "G04 #@! "
_LONGEST: Final = 60
"""Characters of a reference or a pin that is one."""


def read_pads(file: Path) -> Netlist:
    """Return the pads of a layer, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), Netlist)


def read_here(file: str, _argument: bytes) -> Netlist:
    """Return the pads of a layer, read in this process. Raises :class:`InputError`."""
    data = Path(file).read_bytes()
    if len(data) > _LARGEST:
        raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no layer of a board is so long", _REMEDY)
    if b"TO.P," not in data:
        return Netlist(())
    text = data.decode("latin-1")
    side = _SIDE.search(text)
    layer = _Layer("top" if side is not None and side[1] == "Top" else "bottom")
    for line, block in blocks(text):
        layer.take(block, line)
        if len(layer.lands) > _MOST_LANDS:
            raise InputError.at(file, f"it has more than {_MOST_LANDS:,} pads", "no board has so many", _REMEDY)
    if not layer.has_unit:
        raise InputError.at(file, "it does not state its unit and format", "where its pads lie is not known", _REMEDY)
    return Netlist(layer.lands, lists_open_pins=True)


def blocks(text: str) -> Iterator[tuple[int, str]]:
    """Yield the commands of a layer with their lines; one in a comment like one that is not."""
    line = 1
    for part in text.split("*"):
        line += part.count("\n")
        block = part.strip("\r\n% ")
        yield line, block.removeprefix(_COMMENT)


class _Layer(Struct):
    """What is in force at a place of the file, and the pads so far."""

    side: str
    lands: list[Land] = field(default_factory=list)
    unit_mm: float | None = None
    decimals: tuple[int, int] | None = None
    pin: tuple[str, str] | None = None
    function: str = ""
    functions: dict[str, str] = field(default_factory=dict)
    aperture: str = ""
    at: tuple[int, int] = (0, 0)
    region: list[tuple[int, int]] | None = None
    stepped: bool = False

    @property
    def has_unit(self) -> bool:
        """Whether lengths can be told."""
        return self.unit_mm is not None and self.decimals is not None

    def take(self, block: str, line: int) -> None:
        """Take one command."""
        if block.endswith(("D01", "D02", "D03", "D1", "D2", "D3")) and (found := _OPERATION.fullmatch(block)):
            x, y, code = found.groups()
            self.at = (int(x) if x else self.at[0], int(y) if y else self.at[1])
            self._drawn(code, line)
        elif block.startswith("T"):
            self._attribute(block)
        elif block in {"G36", "G37"}:
            if block == "G37" and self.region and self.pin:
                xs, ys = zip(*self.region, strict=True)
                self._land(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), self.function, "", line)
            self.region = [] if block == "G36" else None
        elif found := _APERTURE.fullmatch(block):
            self.aperture = found[1]
        elif block.startswith("ADD") and (found := _DEFINED.match(block)):
            self.functions[found[1]] = self.function
        elif block.startswith("FS"):
            form = _FORMAT.fullmatch(block)
            self.decimals = (int(form[1]), int(form[2])) if form else None
        elif block.startswith("SR"):
            self.stepped = block not in {"SR", "SRX1Y1I0J0"}
        else:
            self.unit_mm = _MM_PER.get(block, self.unit_mm)

    def _attribute(self, block: str) -> None:
        name, _, value = block.partition(",")
        if name == "TO.P":
            ref, _, pin = value.partition(",")
            self.pin = (plain(ref), plain(pin.partition(",")[0])) if ref else None
        elif name == "TA.AperFunction":
            self.function = value.partition(",")[0]
        elif name in {"TD", "TD.P"}:
            self.pin = None
            self.function = "" if name == "TD" else self.function
        elif name == "TD.AperFunction":
            self.function = ""

    def _drawn(self, code: str, line: int) -> None:
        if self.region is not None:
            self.region.append(self.at)
        elif self.pin is not None and code != "2":
            self._land(self.at if code == "3" else None, self.functions.get(self.aperture, ""), self.aperture, line)

    def _land(self, at: tuple[float, float] | None, function: str, size: str, line: int) -> None:
        """Add a pad; one that is drawn with strokes, or repeated in steps, lies nobody knows where."""
        if self.pin is None or max(map(len, self.pin)) > _LONGEST:
            return
        place = None
        if at is not None and self.unit_mm is not None and self.decimals is not None and not self.stepped:
            place = (
                round(at[0] * self.unit_mm / 10 ** self.decimals[0], 6),
                round(at[1] * self.unit_mm / 10 ** self.decimals[1], 6),
            )
        ref, pin = self.pin
        drilled = _DRILLED.get(function)
        self.lands.append(Land(ref, pin, line, place, self.side, drilled, size))


def plain(text: str) -> str:
    """Return the text of an attribute, its escaped characters as they are."""
    return _ESCAPED.sub(_letter, text).strip() if "\\" in text else text.strip()


def _letter(found: re.Match[str]) -> str:
    return chr(int(found[1], 16))

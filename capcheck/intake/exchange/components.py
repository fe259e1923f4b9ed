"""Component layers of Gerber X3: each part with its place, turn, height, mounting, numbers, pins and body.

A flash of an aperture whose function is ComponentMain is a part; object attributes are ``.C`` (reference), ``.CRot``,
``.CHgt``, ``.CMnt``, ``.CMPN``, ``.CVal``, ``.CFtp`` and ``.CPkg``. What is drawn with ComponentOutline,Body
is its body, a flash of ComponentPin one of its pins. ``.CRot`` counts counter-clockwise as seen from the top on both
sides; at 0 degrees a part of the bottom lies as on the top, mirrored across x. Source: the Gerber Layer Format
Specification, revision 2021.02, chapter on attributes, from memory in its details.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.arcs import way_about
from capcheck.intake.exchange.gerber_commands import REMEDY, Drawn, GerberCommands, plain, text_of
from capcheck.intake.exchange.lands import PartLands, outline_of, pitch_of
from capcheck.model import Mounting
from capcheck.values import InputError, pattern

_MOST: Final = 200_000
_MOUNTINGS: Final = {"smd": Mounting.SURFACE, "th": Mounting.THROUGH_HOLE}
_LEAST_MM, _GREATEST_MM = 0.05, 150.0
"""Bodies are higher and lower than that: else the unit is wrong."""
_NUMBER: Final = pattern(r"[+-]?\d{1,9}(?:\.\d{1,12})?")
_LONGEST: Final = 200


class Part(Struct):
    """A part of a component layer: its attributes by name, and in mm its place, its pins and the corners of its body.

    *is_open* says that the body has an arc that cannot be followed, whose box is not that of its ends.
    """

    line: int
    at: tuple[float, float]
    side: str
    said: dict[str, str]
    pins: dict[str, tuple[float, float]] = field(default_factory=dict)
    body: list[tuple[float, float]] = field(default_factory=list)
    is_open: bool = False
    unit_mm: float = 1.0
    """How many mm the file's unit is, in which heights are stated as well."""

    @property
    def ref(self) -> str:
        """Its reference."""
        return self.said.get("C", "")

    @property
    def counted_deg(self) -> float | None:
        """How far it is turned as the file counts; None where it does not say."""
        return _number(self.said.get("CRot"))

    @property
    def turned_deg(self) -> float | None:
        """How far it is turned counter-clockwise as seen from its own side; None where the file does not say."""
        turn = self.counted_deg
        return None if turn is None else turn % 360.0 if self.side == "top" else (180.0 - turn) % 360.0

    def outline(self) -> tuple[float, float] | None:
        """Return the longer and the shorter side of the body as it is drawn, in mm; None where none is, or its turn."""
        turn = self.counted_deg
        if len(self.body) < 3 or self.is_open or turn is None:
            return None
        cos, sin = math.cos(math.radians(-turn)), math.sin(math.radians(-turn))
        return outline_of([(x * cos - y * sin, x * sin + y * cos) for x, y in self.body])


def read_components(file: Path) -> dict[str, PartLands]:
    """Return what a component layer states of each reference, read apart. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", REMEDY).read(str(file), dict[str, PartLands])


def read_here(file: str, _argument: bytes) -> dict[str, PartLands]:
    """Return what a component layer states of each reference that stands once, read in this process."""
    parts = parts_of_layer(file)
    times = Counter(part.ref for part in parts)
    return {part.ref: _stated(part) for part in parts if part.ref and times[part.ref] == 1}


def parts_of_layer(file: str) -> list[Part]:
    """Return the parts of a component layer, each flash one, read in this process. Raises :class:`InputError`."""
    layer = _Components(file)
    layer.read(text_of(file))
    return layer.parts


class _Components(GerberCommands):
    """The parts of a component layer so far, and those that what is drawn now belongs to: in steps there are more."""

    parts: list[Part] = field(default_factory=list)
    last: Part | None = None
    count: int = 0

    def draw(self, drawn: Drawn) -> None:
        """Take a part, one of its pins, or a piece of its body."""
        function, at = self.function_now, self.mm(drawn.end)
        if at is None or (drawn.code == "2" and function != _BODY):
            return
        self.count += 1
        if self.count > _MOST or len(self.parts) > _MOST:
            raise InputError.at(self.file, f"it draws more than {_MOST:,} things", "no board has so many", REMEDY)
        if function == "ComponentMain" and drawn.code == "3":
            said = {name: plain(value)[:_LONGEST] for name, value in self.said.items()}
            self.last = Part(drawn.line, at, self.side, said, unit_mm=self.unit_mm or 1.0)
            self.parts += self._stepped(self.last)
        elif self.last is None or self.last.ref not in self._named():
            return
        elif function == "ComponentPin" and drawn.code == "3":
            self.last.pins[plain(self.said.get("P", "")).partition(",")[2] or f"{len(self.last.pins)}"] = at
        elif function == _BODY:
            self._outlined(self.last, drawn, at)

    def _named(self) -> set[str]:
        """Return the references that what is drawn now says it belongs to."""
        refs = self.said.get("C"), self.said.get("P", "").partition(",")[0]
        return {plain(ref)[:_LONGEST] for ref in refs if ref}

    def _outlined(self, part: Part, drawn: Drawn, at: tuple[float, float]) -> None:
        start, centre = self.mm(drawn.start), self.mm(drawn.centre)
        if self.turn and drawn.code == "1" and start is not None and centre is not None:
            way = None if self.is_quarter else way_about(start, at, centre, clockwise=self.turn < 0)
            part.is_open |= way is None
            part.body += way or ()
        part.body.append(at)

    def _stepped(self, part: Part) -> Iterator[Part]:
        """Yield a part, and where it is repeated in steps its like, of which no more than the place is known."""
        across, up, dx, dy = self.steps
        if across * up > _MOST:
            raise InputError.at(self.file, f"it repeats parts {across * up:,} times", "no board has so many", REMEDY)
        yield part
        for k in range(1, across * up):
            x, y = (k % across) * dx * part.unit_mm, (k // across) * dy * part.unit_mm
            yield replace(part, at=(round(part.at[0] + x, 6), round(part.at[1] + y, 6)), pins={}, body=[])


_BODY: Final = "ComponentOutline,Body"


def _stated(part: Part) -> PartLands:
    stated = _number(part.said.get("CHgt"))
    height = None if stated is None else round(stated * part.unit_mm, 6)
    spots = sorted(set(part.pins.values()))
    return PartLands(
        ref=part.ref,
        file=0,
        line=part.line,
        pins=len(part.pins) or None,
        pitch=pitch_of(spots) if len(spots) == len(part.pins) else None,
        mounting=_MOUNTINGS.get(part.said.get("CMnt", "").casefold()),
        side=part.side,
        middle=part.at,
        height_mm=height if height is not None and _LEAST_MM <= height <= _GREATEST_MM else None,
        turned_deg=part.counted_deg,
        number=part.said.get("CMPN", "").strip(),
        value=part.said.get("CVal", ""),
        outline=part.outline(),
    )


def _number(text: str | None) -> float | None:
    return float(text) if text and _NUMBER.fullmatch(text.strip()) else None


def joined_parts(layers: Iterable[Mapping[str, PartLands]]) -> dict[str, PartLands]:
    """Return what the layers of both sides state; of a reference that stands in both nothing."""
    found: dict[str, PartLands] = {}
    twice: set[str] = set()
    for layer in layers:
        twice |= found.keys() & layer.keys()
        found |= layer
    return {ref: part for ref, part in found.items() if ref not in twice}

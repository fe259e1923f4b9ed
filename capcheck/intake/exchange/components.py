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
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.lands import PartLands, outline_of, pitch_of
from capcheck.intake.exchange.pads import blocks, plain
from capcheck.model import Mounting
from capcheck.values import InputError, pattern

_REMEDY: Final = "export the layers again, or leave them out with fabrication = false in board.toml"
_LARGEST: Final = 24 * 1024 * 1024
_MOST: Final = 200_000
_MM_PER: Final = {"MOMM": 1.0, "MOIN": 25.4}
_MOUNTINGS: Final = {"smd": Mounting.SURFACE, "th": Mounting.THROUGH_HOLE}
_LEAST_MM, _GREATEST_MM = 0.05, 150.0
"""Bodies are higher and lower than that: else the unit is wrong."""
_FORMAT: Final = pattern(r"FSLAX\d(\d)Y\d(\d)")
_OPERATION: Final = pattern(
    r"(?:G0?([123]))?(?:X([+-]?\d{1,15}))?(?:Y([+-]?\d{1,15}))?(?:I([+-]?\d{1,15}))?(?:J([+-]?\d{1,15}))?D0?([123])"
)
_APERTURE: Final = pattern(r"(?:G54)?D(\d{2,})")
_DEFINED: Final = pattern(r"ADD(\d+)")
_SIDE: Final = pattern(r"TF\.FileFunction, *Component, *L\d+, *(Top|Bot)\b")
_NUMBER: Final = pattern(r"[+-]?\d{1,9}(?:\.\d{1,12})?")
_LONGEST: Final = 200
_TURNS: Final = {"1": 0, "2": -1, "3": 1}
_STEPS: Final = 360
"""Steps along an arc: a circle's box is then 0.004 % too small at most."""
_ROUND: Final = 0.02
"""Share of its radius by which the ends of an arc may lie nearer to its middle, or farther: files round."""


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

    @property
    def ref(self) -> str:
        """Its reference."""
        return self.said.get("C", "")

    @property
    def turned_deg(self) -> float:
        """How far it is turned counter-clockwise as seen from its own side."""
        turn = _number(self.said.get("CRot")) or 0.0
        return turn % 360.0 if self.side == "top" else (180.0 - turn) % 360.0

    def outline(self) -> tuple[float, float] | None:
        """Return the longer and the shorter side of the body as it is drawn, in mm; None where none is."""
        if len(self.body) < 3 or self.is_open:
            return None
        turn = math.radians(-(_number(self.said.get("CRot")) or 0.0))
        cos, sin = math.cos(turn), math.sin(turn)
        return outline_of([(x * cos - y * sin, x * sin + y * cos) for x, y in self.body])


def read_components(file: Path) -> dict[str, PartLands]:
    """Return what a component layer states of each reference, read apart. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), dict[str, PartLands])


def read_here(file: str, _argument: bytes) -> dict[str, PartLands]:
    """Return what a component layer states of each reference that stands once, read in this process."""
    parts = parts_of_layer(file)
    times = Counter(part.ref for part in parts)
    return {part.ref: _stated(part) for part in parts if part.ref and times[part.ref] == 1}


def parts_of_layer(file: str) -> list[Part]:
    """Return the parts of a component layer, read in this process. Raises :class:`InputError`."""
    data = Path(file).read_bytes()
    if len(data) > _LARGEST:
        raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no layer of a board is so long", _REMEDY)
    text = data.decode("utf-8", "replace")
    side = _SIDE.search(text)
    layer = _Layer("top" if side is not None and side[1] == "Top" else "bottom")
    for line, block in blocks(text):
        layer.take(block, line)
        if layer.drawn > _MOST:
            raise InputError.at(file, f"it draws more than {_MOST:,} things", "no board has so many", _REMEDY)
    if layer.unit_mm is None or layer.decimals is None:
        raise InputError.at(file, "it does not state its unit and format", "where its parts lie is not known", _REMEDY)
    return list(layer.parts.values())


class _Layer(Struct):
    """What is in force at a place of the file, and the parts so far by reference and place."""

    side: str
    parts: dict[tuple[str, int], Part] = field(default_factory=dict)
    unit_mm: float | None = None
    decimals: tuple[int, int] | None = None
    said: dict[str, str] = field(default_factory=dict)
    function: str = ""
    functions: dict[str, str] = field(default_factory=dict)
    aperture: str = ""
    at: tuple[int, int] = (0, 0)
    drawn: int = 0
    turn: int = 0
    """1 where arcs are drawn counter-clockwise, −1 clockwise, 0 where lines are."""
    is_quarter: bool = False
    """Whether the middles of arcs are stated without a sign, as older files do."""
    last: Part | None = None

    def take(self, block: str, line: int) -> None:
        """Take one command."""
        if block.endswith(("D01", "D02", "D03", "D1", "D2", "D3")) and (found := _OPERATION.fullmatch(block)):
            mode, x, y, i, j, code = found.groups()
            self.turn = _TURNS[mode] if mode else self.turn
            start, self.at = self.at, (int(x) if x else self.at[0], int(y) if y else self.at[1])
            self._drawn(code, line, start, (start[0] + int(i or 0), start[1] + int(j or 0)))
        elif block.startswith("T"):
            self._attribute(block)
        elif found := _APERTURE.fullmatch(block):
            self.aperture = found[1]
        elif block.startswith("ADD") and (found := _DEFINED.match(block)):
            self.functions[found[1]] = self.function
        elif block.startswith("FS"):
            form = _FORMAT.fullmatch(block)
            self.decimals = (int(form[1]), int(form[2])) if form else None
        elif block in {"G01", "G1", "G02", "G2", "G03", "G3"}:
            self.turn = _TURNS[block[-1]]
        elif block in {"G74", "G75"}:
            self.is_quarter = block == "G74"
        else:
            self.unit_mm = _MM_PER.get(block, self.unit_mm)

    def _attribute(self, block: str) -> None:
        name, _, value = block.partition(",")
        if name == "TA.AperFunction":
            self.function = value
        elif name.startswith("TO."):
            self.said[name.removeprefix("TO.")] = plain(value)[:_LONGEST]
        elif name in {"TD", "TD.AperFunction"}:
            self.said = {} if name == "TD" else self.said
            self.function = ""
        elif name.startswith("TD."):
            self.said.pop(name.removeprefix("TD."), None)

    def _drawn(self, code: str, line: int, start: tuple[int, int], centre: tuple[int, int]) -> None:
        if self.unit_mm is None or self.decimals is None or not (self.said.get("C") or self.said.get("P")):
            return
        self.drawn += 1
        unit = self.unit_mm / 10 ** self.decimals[0], self.unit_mm / 10 ** self.decimals[1]
        at = self.at[0] * unit[0], self.at[1] * unit[1]
        function = self.functions.get(self.aperture, "")
        if function == "ComponentMain" and code == "3":
            self.last = Part(line, (round(at[0], 6), round(at[1], 6)), self.side, dict(self.said))
            self.parts[self.last.ref, line] = self.last
        elif self.last is None or self.last.ref not in {self.said.get("C"), self.said.get("P", "").partition(",")[0]}:
            return
        elif function == "ComponentPin" and code == "3":
            self.last.pins[self.said.get("P", "").partition(",")[2] or f"{len(self.last.pins)}"] = at
        elif function == "ComponentOutline,Body":
            if self.turn and code == "1":
                began, middle = ((x * unit[0], y * unit[1]) for x, y in (start, centre))
                way = None if self.is_quarter else _arc(began, at, middle, self.turn)
                self.last.is_open |= way is None
                self.last.body += way or ()
            self.last.body.append(at)


def _arc(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], turn: int
) -> list[tuple[float, float]] | None:
    """Return points on the way of an arc, a full circle where it ends as it starts; None where it is no arc."""
    radius = math.dist(start, centre)
    if radius <= 0 or abs(math.dist(end, centre) - radius) > _ROUND * radius:
        return None
    first, last = (math.atan2(y - centre[1], x - centre[0]) for x, y in (start, end))
    sweep = math.tau if start == end else turn * (last - first) % math.tau
    angles = (first + turn * sweep * k / _STEPS for k in range(1, _STEPS))
    return [(centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)) for angle in angles]


def _stated(part: Part) -> PartLands:
    height = _number(part.said.get("CHgt"))
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
        turned_deg=_number(part.said.get("CRot")),
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

"""Parts and packages of IPC-2581, revisions A to C: pins, height, mounting and side of each component.

CadHeader says the unit; a Layer its side; a Package its height and, with a Pin each, its terminals and where they lie;
a Component its reference, package, layer, mounting and, as Location, its place. Read with expat, which fetches nothing;
a file that declares a document type is refused, since none needs to. Source: the elements of the consortium's test
files of revision C (MIT licence); their meaning from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Final
from xml.parsers import expat

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.lands import PartLands, pitch_of
from capcheck.model import Mounting
from capcheck.values import InputError

_REMEDY: Final = "export it again, or leave it out with fabrication = false in board.toml"
_LARGEST: Final = 32 * 1024 * 1024
_MOST_PARTS: Final = 100_000
_MOST_PINS: Final = 200_000
_MM_PER: Final = {"INCH": 25.4, "MILLIMETER": 1.0, "MICRON": 0.001}
_REVISIONS: Final = ("A", "B", "C")
_MOUNTINGS: Final = {"SMT": Mounting.SURFACE, "THMT": Mounting.THROUGH_HOLE}
_OF_PINS: Final = {Mounting.SURFACE: "SURFACE", Mounting.THROUGH_HOLE: "THRU"}
_LEAST_MM, _GREATEST_MM = 0.05, 150.0
"""Bodies are higher and lower than that: else the unit is wrong."""
_SHARED_BY: Final = 3
_SHARED: Final = 0.25


class _Package(Struct):
    height: float | None = None
    pins: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    types: set[str] = field(default_factory=set)


class _Component(Struct):
    ref: str
    package: str
    layer: str
    mounting: str
    line: int
    height: float | None = None
    at: tuple[float, float] | None = None


class Components(Struct, frozen=True):
    """What a file states of each reference."""

    parts: Mapping[str, PartLands]


def read_ipc2581(file: Path) -> Components:
    """Return what a file states of its parts, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), Components)


def read_here(file: str, _argument: bytes) -> Components:
    """Return what a file states of its parts, read in this process. Raises :class:`InputError`."""
    data = Path(file).read_bytes()
    if len(data) > _LARGEST:
        raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no board is so long", _REMEDY)
    found = _Reading(file)
    parser = expat.ParserCreate()
    found.parser = parser
    parser.StartElementHandler = found.start
    parser.EndElementHandler = found.end
    parser.StartDoctypeDeclHandler = found.refuse
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        raise InputError.at(file, f"it is damaged: {error}", "an XML file is read as a whole", _REMEDY) from None
    return Components(found.stated())


class _Reading:
    """What has been read so far, and which elements are open."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.parser = expat.ParserCreate()
        self.unit: float | None = None
        self.sides: dict[str, str] = {}
        self.packages: dict[str, _Package] = {}
        self.components: list[_Component] = []
        self._package: _Package | None = None
        self._component: _Component | None = None
        self._pin = ""
        self._pins = 0

    def refuse(self, *_declared: object) -> None:
        """Refuse a file with a document type: it may declare entities that grow without bound."""
        raise InputError.at(self.file, "it declares a document type", "no such file needs one", _REMEDY)

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Take the beginning of an element."""
        name = tag.rpartition(":")[2]
        if name == "IPC-2581" and given.get("revision", "")[:1] not in _REVISIONS:
            raise InputError.at(
                self.file, f'it is of revision "{given.get("revision", "")}"', "A, B and C are read", _REMEDY
            )
        if name == "CadHeader":
            self.unit = _MM_PER.get(given.get("units", ""))
        elif name == "Layer":
            self.sides[given.get("name", "")] = given.get("side", "").casefold()
        elif name == "Package":
            self._package = self.packages.setdefault(given.get("name", ""), _Package())
            self._package.height = _number(given.get("height"))
        elif name == "Pin" and self._package is not None:
            self._pin = given.get("number", "")
            self._package.types.add(given.get("type", ""))
            self._package.pins.setdefault(self._pin, [])
            self._pins += 1
        elif name == "Component":
            self._component = _Component(
                given.get("refDes", ""),
                given.get("packageRef", ""),
                given.get("layerRef", ""),
                given.get("mountType", ""),
                self.parser.CurrentLineNumber,
                _number(given.get("height")),
            )
            self.components.append(self._component)
        elif name == "Location":
            self._located(given)
        if len(self.components) > _MOST_PARTS or self._pins > _MOST_PINS:
            raise InputError.at(self.file, "it has more parts or pins than any board", "", _REMEDY)

    def _located(self, given: Mapping[str, str]) -> None:
        x, y = _number(given.get("x")), _number(given.get("y"))
        if x is None or y is None:
            return
        if self._component is not None:
            self._component.at = x, y
        elif self._package is not None and self._pin:
            self._package.pins[self._pin].append((x, y))

    def end(self, tag: str) -> None:
        """Take the end of an element."""
        name = tag.rpartition(":")[2]
        if name == "Package":
            self._package = None
        elif name == "Pin":
            self._pin = ""
        elif name == "Component":
            self._component = None

    def stated(self) -> dict[str, PartLands]:
        """Return what is stated of each reference that stands once."""
        unit = self.unit
        if unit is None:
            raise InputError.at(self.file, "it states no unit that is known", "CadHeader states it", _REMEDY)
        heights = {n: _height(p.height, unit) for n, p in self.packages.items()}
        shared = Counter(mm for mm in heights.values() if mm is not None)
        kinds = sum(shared.values())
        # What a quarter of all packages share an export fills in where it knows none.
        filled = {mm for mm, count in shared.items() if count >= _SHARED_BY and count >= _SHARED * kinds}
        known = {name: _of_package(package, unit) for name, package in self.packages.items()}
        times = Counter(part.ref for part in self.components)
        found = {}
        for part in self.components:
            if not part.ref or times[part.ref] > 1 or part.at is None:
                continue
            pins, pitch = known.get(part.package, (None, None))
            mounting = _MOUNTINGS.get(part.mounting)
            types = self.packages[part.package].types - {""} if part.package in self.packages else set()
            agree = mounting is not None and types <= {_OF_PINS[mounting]}
            height = _height(part.height, unit) or heights.get(part.package)
            side = self.sides.get(part.layer, "")
            found[part.ref] = PartLands(
                ref=part.ref,
                file=0,
                line=part.line,
                pins=pins,
                pitch=pitch,
                mounting=mounting if agree else None,
                side=side if side in {"top", "bottom"} else "",
                middle=(round(part.at[0] * unit, 6), round(part.at[1] * unit, 6)),
                height_mm=None if height in filled else height,
            )
        return found


def _of_package(package: _Package, unit: float) -> tuple[int | None, tuple[float, float] | None]:
    """Return how many pins a package has, and their pitch where each lies at one place."""
    if not package.pins or "" in package.pins:
        return None, None
    spots = [places[0] for places in package.pins.values() if len(set(places)) == 1]
    if len(spots) < len(package.pins):
        return None, None
    points = sorted({(round(x * unit, 6), round(y * unit, 6)) for x, y in spots})
    return len(package.pins), pitch_of(points) if len(points) == len(spots) else None


def _height(height: float | None, unit: float) -> float | None:
    mm = None if height is None else round(height * unit, 6)
    return mm if mm is not None and _LEAST_MM <= mm <= _GREATEST_MM else None


def _number(text: str | None) -> float | None:
    try:
        value = float(text) if text is not None else math.nan
    except ValueError:
        return None
    return value if math.isfinite(value) else None

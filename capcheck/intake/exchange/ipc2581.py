"""Parts and packages of IPC-2581, revisions A to C: pins, height, mounting, side and place of each component.

CadHeader says the unit; a Layer its side; a Package its height, where it is picked up and, with a Pin each, its
terminals and where they lie; a Component its reference, package, layer, mounting and, as Location, the place of the
package's origin, about which Xform turns it counter-clockwise and then mirrors it across the y axis: so all 2,200 pads
of the test files lie where their pins do. The middle of a part is where it is picked up. A BomItem lists references by
their number, an AvlItem makers' numbers for it. Read with expat, which fetches nothing; a file that declares a document
type is refused, since none needs to. Source: the elements of the consortium's test files of revision C (MIT licence);
their meaning from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, Self
from xml.parsers import expat

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.lands import PartLands, outline_of, pitch_of, without_filled
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
_YES: Final = ("true", "1", "TRUE", "YES")
_LEAST_MM, _GREATEST_MM = 0.05, 150.0
"""Bodies are higher and lower than that: else the unit is wrong."""
_SHARED_BY: Final = 3
_SHARED: Final = 0.25


class Package(Struct):
    """A package: its height, its pins by number with their places, in the file's unit, and where it is picked up."""

    height: float | None = None
    pins: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    types: set[str] = field(default_factory=set)
    pickup: tuple[float, float] = (0.0, 0.0)
    corners: list[tuple[float, float]] = field(default_factory=list)
    """Those of its outline; of an arc those of the box of its circle."""


class Component(Struct):
    """A component as it is placed: the place of its package's origin in the file's unit, turned, then mirrored."""

    ref: str
    package: str
    layer: str
    mounting: str
    line: int
    height: float | None = None
    at: tuple[float, float] | None = None
    part: str = ""
    value: str = ""
    turned_deg: float = 0.0
    mirrored: bool = False

    def seen(self, x: float, y: float) -> tuple[float, float] | None:
        """Return where a point of the package lies on the board, in the file's unit; None without a place."""
        if self.at is None:
            return None
        turn = math.radians(self.turned_deg)
        along = x * math.cos(turn) - y * math.sin(turn)
        return (
            self.at[0] + (-along if self.mirrored else along),
            self.at[1] + x * math.sin(turn) + y * math.cos(turn),
        )


class Item(Struct):
    """A line of the bill of materials: its number, and its references with whether each is fitted and its line."""

    number: str
    refs: list[tuple[str, bool, int]] = field(default_factory=list)
    value: str = ""
    description: str = ""


class Components(Struct, frozen=True):
    """What a file states of each reference."""

    parts: Mapping[str, PartLands]


def read_ipc2581(file: Path) -> Components:
    """Return what a file states of its parts, read in the reading process. Raises :class:`InputError`."""
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), Components)


def read_here(file: str, _argument: bytes) -> Components:
    """Return what a file states of its parts, read in this process. Raises :class:`InputError`."""
    return Components(Reading2581.of(file).stated())


class Reading2581:
    """What has been read so far, and which elements are open."""

    @classmethod
    def of(cls, file: str) -> Self:
        """Return what a file holds, read in this process. Raises :class:`InputError`."""
        data = Path(file).read_bytes()
        if len(data) > _LARGEST:
            raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no board is so long", _REMEDY)
        found = cls(file)
        parser = expat.ParserCreate()
        found.parser = parser
        parser.StartElementHandler = found.start
        parser.EndElementHandler = found.end
        parser.StartDoctypeDeclHandler = found.refuse
        try:
            parser.Parse(data, True)
        except expat.ExpatError as error:
            raise InputError.at(file, f"it is damaged: {error}", "an XML file is read as a whole", _REMEDY) from None
        return found

    def __init__(self, file: str) -> None:
        self.file = file
        self.parser = expat.ParserCreate()
        self.unit: float | None = None
        self.sides: dict[str, str] = {}
        self.packages: dict[str, Package] = {}
        self.components: list[Component] = []
        self.items: list[Item] = []
        self.makers: dict[str, list[str]] = {}
        """Makers' numbers for each number of the bill of materials, the chosen one first."""
        self._package: Package | None = None
        self._component: Component | None = None
        self._item: Item | None = None
        self._within: list[str] = []
        """The elements that are open within a package."""
        self._listed = ""
        self._is_chosen = False
        self._pin = ""
        self._pins = 0

    def refuse(self, *_declared: object) -> None:
        """Refuse a file with a document type: it may declare entities that grow without bound."""
        raise InputError.at(self.file, "it declares a document type", "no such file needs one", _REMEDY)

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Take the beginning of an element."""
        name = tag.rpartition(":")[2]
        if self._package is not None:
            self._within.append(name)
            if self._within[:2] == ["Outline", "Polygon"]:
                self._corner(name, given)
        if name == "IPC-2581" and given.get("revision", "")[:1] not in _REVISIONS:
            raise InputError.at(
                self.file, f'it is of revision "{given.get("revision", "")}"', "A, B and C are read", _REMEDY
            )
        if name == "CadHeader":
            self.unit = _MM_PER.get(given.get("units", ""))
        elif name == "Layer":
            self.sides[given.get("name", "")] = given.get("side", "").casefold()
        elif name == "Package" or self._package is not None:
            self._packaged(name, given)
        elif name == "Component" or self._component is not None:
            self._placed(name, given)
        else:
            self._bought(name, given)
        if len(self.components) > _MOST_PARTS or self._pins > _MOST_PINS:
            raise InputError.at(self.file, "it has more parts or pins than any board", "", _REMEDY)

    def _packaged(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of a package, or its beginning."""
        if name == "Package" or self._package is None:
            self._package = self.packages.setdefault(given.get("name", ""), Package())
            self._within = []
            self._package.height = _number(given.get("height"))
        elif name == "Pin":
            self._pin = given.get("number", "")
            self._package.types.add(given.get("type", ""))
            self._package.pins.setdefault(self._pin, [])
            self._pins += 1
        elif name == "Location" and self._pin and (at := _place(given)) is not None:
            self._package.pins[self._pin].append(at)
        elif name == "PickupPoint":
            self._package.pickup = _place(given) or (0.0, 0.0)

    def _placed(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of a component, or its beginning."""
        if name == "Component" or self._component is None:
            self._component = Component(
                given.get("refDes", ""),
                given.get("packageRef", ""),
                given.get("layerRef", ""),
                given.get("mountType", ""),
                self.parser.CurrentLineNumber,
                _number(given.get("height")),
                part=given.get("part", ""),
            )
            self.components.append(self._component)
        elif name == "Location":
            self._component.at = _place(given) or self._component.at
        elif name == "Xform":
            self._component.turned_deg = _number(given.get("rotation")) or 0.0
            self._component.mirrored = given.get("mirror", "") in _YES
        elif name == "NonstandardAttribute" and given.get("name", "").casefold() == "value":
            self._component.value = given.get("value", "")

    def _bought(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of the bill of materials, or of the list of makers."""
        if name == "BomItem":
            self._item = Item(given.get("OEMDesignNumberRef", ""))
            self._item.description = given.get("description", "")
            self.items.append(self._item)
        elif name == "RefDes" and self._item is not None:
            is_fitted = given.get("populate", "true") in _YES
            self._item.refs.append((given.get("name", ""), is_fitted, self.parser.CurrentLineNumber))
        elif name == "Textual" and self._item is not None:
            if given.get("textualCharacteristicName", "").casefold() == "value":
                self._item.value = given.get("textualCharacteristicValue", "")
        elif name == "AvlItem":
            self._listed = given.get("OEMDesignNumber", "")
        elif name == "AvlVmpn":
            self._is_chosen = given.get("chosen", "") in _YES
        elif name == "AvlMpn" and self._listed and given.get("name"):
            known = self.makers.setdefault(self._listed, [])
            known.insert(0 if self._is_chosen else len(known), given["name"])

    def _corner(self, name: str, given: Mapping[str, str]) -> None:
        """Take a corner of a package's outline."""
        at = _place(given)
        if self._package is None or at is None:
            return
        x, y = at
        corners = self._package.corners
        cx, cy = _number(given.get("centerX")), _number(given.get("centerY"))
        if name == "PolyStepCurve" and cx is not None and cy is not None:
            radius = math.hypot(x - cx, y - cy)
            corners += [(cx - radius, cy - radius), (cx + radius, cy + radius)]
        corners.append((x, y))

    def end(self, tag: str) -> None:
        """Take the end of an element."""
        name = tag.rpartition(":")[2]
        if self._package is not None and self._within:
            self._within.pop()
        if name == "Package":
            self._package = None
        elif name == "Pin":
            self._pin = ""
        elif name == "Component":
            self._component = None
        elif name == "BomItem":
            self._item = None
        elif name == "AvlItem":
            self._listed = ""

    def middle(self, part: Component) -> tuple[float, float] | None:
        """Return where a component is picked up, in mm; None where that is not known."""
        package = self.packages.get(part.package)
        at = part.seen(*(package.pickup if package is not None else (0.0, 0.0)))
        return None if at is None or self.unit is None else (round(at[0] * self.unit, 6), round(at[1] * self.unit, 6))

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
        outlines = without_filled({name: _sides(p.corners, unit) for name, p in self.packages.items()})
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
                middle=self.middle(part),
                height_mm=None if height in filled else height,
                turned_deg=part.turned_deg,
                number=part.part,
                value=part.value,
                outline=outlines.get(part.package),
            )
        return found


def _of_package(package: Package, unit: float) -> tuple[int | None, tuple[float, float] | None]:
    """Return how many pins a package has, and their pitch where each lies at one place."""
    if not package.pins or "" in package.pins:
        return None, None
    spots = [places[0] for places in package.pins.values() if len(set(places)) == 1]
    if len(spots) < len(package.pins):
        return None, None
    points = sorted({(round(x * unit, 6), round(y * unit, 6)) for x, y in spots})
    return len(package.pins), pitch_of(points) if len(points) == len(spots) else None


def _sides(corners: Sequence[tuple[float, float]], unit: float) -> tuple[float, float] | None:
    return outline_of([(x * unit, y * unit) for x, y in corners])


def _height(height: float | None, unit: float) -> float | None:
    mm = None if height is None else round(height * unit, 6)
    return mm if mm is not None and _LEAST_MM <= mm <= _GREATEST_MM else None


def _place(given: Mapping[str, str]) -> tuple[float, float] | None:
    x, y = _number(given.get("x")), _number(given.get("y"))
    return None if x is None or y is None else (x, y)


def _number(text: str | None) -> float | None:
    try:
        value = float(text) if text is not None else math.nan
    except ValueError:
        return None
    return value if math.isfinite(value) else None

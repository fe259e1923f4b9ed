"""Parts and packages of IPC-2581, revisions A to C: pins, height, mounting, side and place of each component.

CadHeader says the unit; a Layer its side; a Package its height, where it is picked up and, with a Pin each, its
terminals and where they lie; a Component its reference, package, layer, mounting and, as Location, the place of the
package's origin, about which Xform turns it counter-clockwise and then mirrors it across the y axis: so all 2,200 pads
of the test files lie where their pins do. The middle of a part is where it is picked up. A BomItem lists references by
their number, an AvlItem makers' numbers for it. What cannot be read of a place, an angle or an outline leaves it
unknown. Source: the elements of the consortium's test files of revision C (MIT licence); their meaning from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from msgspec import Struct, field

from capcheck.intake.confined import Reader
from capcheck.intake.exchange.arcs import way_about
from capcheck.intake.exchange.lands import (
    PartLands,
    lie_evenly,
    middle_of,
    outline_of,
    pitch_of,
    without_filled,
)
from capcheck.intake.exchange.on_board import Lie, lies_on, place_of_point
from capcheck.intake.files import BoardSteps, StepPlaced, XmlElements, number_of, place_of, truth_of
from capcheck.model import Mounting
from capcheck.values import InputError

_REMEDY: Final = "export it again, or leave it out with fabrication = false in board.toml"
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
_CORNERS: Final = frozenset({"PolyBegin", "PolyStepSegment", "PolyStepCurve"})
_UNMOVED: Final = (("xOffset", "0"), ("yOffset", "0"), ("scale", "1"))
_CLOSED_MM: Final = 0.01
"""So near lie the ends of a line that is closed: files round."""


class Package(Struct):
    """A package: its height, its pins by number with their places, in the file's unit, and where it is picked up."""

    height: float | None = None
    pins: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    types: set[str] = field(default_factory=set)
    pickup: tuple[float, float] | None = None
    """None where none is stated, or it cannot be read."""
    has_pickup: bool = False
    corners: list[tuple[float, float]] = field(default_factory=list)
    """Points of its outline, some along each arc."""
    is_torn: bool = False
    """Whether a corner of the outline cannot be read, or it has several lines."""


class Component(Struct):
    """A component as it is placed: the place of its package's origin in the file's unit, turned, then mirrored.

    *turned_deg* and *mirrored* are None where the file has what cannot be read.
    """

    ref: str
    package: str
    layer: str
    mounting: str
    line: int
    height: float | None = None
    at: tuple[float, float] | None = None
    part: str = ""
    value: str = ""
    turned_deg: float | None = 0.0
    mirrored: bool | None = False
    step: str = ""
    is_moved: bool = False
    """Whether it is moved or scaled in a way whose meaning is not known for sure."""


class Item(Struct):
    """A line of the bill of materials: its number, and its references, with what is said of fitting each, and lines."""

    number: str
    quantity: str = ""
    refs: list[tuple[str, str, int]] = field(default_factory=list)
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


class Reading2581(XmlElements):
    """What has been read so far, and which elements are open."""

    remedy = _REMEDY
    most = MappingProxyType({"Pin": _MOST_PINS, "Component": _MOST_PARTS})

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self._units: set[float | None] = set()
        self.sides: dict[str, str] = {}
        self.packages: dict[str, Package] = {}
        self.components: list[Component] = []
        self.items: list[Item] = []
        self.makers: dict[str, list[str]] = {}
        """Makers' numbers for each number of the bill of materials, the chosen one first."""
        self.steps = BoardSteps()
        self._package: Package | None = None
        self._component: Component | None = None
        self._item: Item | None = None
        self._within: list[str] = []
        """The elements that are open within a package."""
        self._listed = ""
        self._is_chosen = False
        self._pin = ""
        self._pins = 0

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        """Take the beginning of an element."""
        if self._package is not None:
            self._within.append(name)
            if self._within[:2] == ["Outline", "Polygon"]:
                self._corner(self._package, name, given)
        if name == "IPC-2581" and given.get("revision", "")[:1] not in _REVISIONS:
            raise self.error(f'it is of revision "{given.get("revision", "")}"', "A, B and C are read")
        if name == "CadHeader":
            self._units.add(_MM_PER.get(given.get("units", "")))
        elif name == "Layer":
            self.sides[given.get("name", "")] = given.get("side", "").casefold()
        elif name == "Package" or self._package is not None:
            self._packaged(name, given)
        elif name == "Component" or self._component is not None:
            self._placed(name, given)
        elif not self.steps.take(name, given):
            self._bought(name, given)
        if len(self.components) > _MOST_PARTS or self._pins > _MOST_PINS:
            raise self.error("it has more parts or pins than any board")

    def _packaged(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of a package, or its beginning."""
        if name == "Package" or self._package is None:
            height = number_of(given.get("height"))
            known = self.packages.get(given.get("name", ""))
            self._package = self.packages.setdefault(given.get("name", ""), Package(height))
            if known is not None and known.height != height:
                known.height = None  # two steps may have two packages of one name
            self._within = []
        elif name == "Pin":
            self._pin = given.get("number", "")
            self._package.types.add(given.get("type", ""))
            self._package.pins.setdefault(self._pin, [])
            self._pins += 1
        elif name == "Location" and self._pin and (at := place_of(given)) is not None:
            self._package.pins[self._pin].append(at)
        elif name == "PickupPoint":
            self._package.pickup, self._package.has_pickup = place_of(given), True

    def _placed(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of a component, or its beginning."""
        if name == "Component" or self._component is None:
            self._component = Component(
                given.get("refDes", ""),
                given.get("packageRef", ""),
                given.get("layerRef", ""),
                given.get("mountType", ""),
                self.line,
                number_of(given.get("height")),
                part=given.get("part", ""),
                step=self.steps.names[-1] if self.steps.names else "",
            )
            self.components.append(self._component)
        elif name == "Location":
            self._component.at = place_of(given) or self._component.at
        elif name == "Xform":
            self._component.turned_deg = number_of(given.get("rotation", "0"))
            self._component.mirrored = truth_of(given.get("mirror", "false"))
            self._component.is_moved = any(number_of(given.get(k, d)) != float(d) for k, d in _UNMOVED)
        elif name == "NonstandardAttribute" and given.get("name", "").casefold() == "value":
            self._component.value = given.get("value", "")

    @property
    def unit(self) -> float | None:
        """The file's unit in mm; None where it states none that is known, or of several nobody knows which holds."""
        return next(iter(self._units)) if len(self._units) == 1 else None

    def _bought(self, name: str, given: Mapping[str, str]) -> None:
        """Take an element of the bill of materials, or of the list of makers."""
        if name == "BomItem":
            self._item = Item(given.get("OEMDesignNumberRef", ""), given.get("quantity", ""))
            self._item.description = given.get("description", "")
            self.items.append(self._item)
        elif name == "RefDes" and self._item is not None:
            told = given.get("populate", "true")
            fitted = {True: "yes", False: "no", None: told}[truth_of(told)]
            self._item.refs.append((given.get("name", ""), fitted, self.line))
        elif name == "Textual" and self._item is not None:
            if given.get("textualCharacteristicName", "").casefold() == "value":
                self._item.value = given.get("textualCharacteristicValue", "")
        elif name == "AvlItem":
            self._listed = given.get("OEMDesignNumber", "")
        elif name == "AvlVmpn":
            self._is_chosen = truth_of(given.get("chosen")) is True
        elif name == "AvlMpn" and self._listed and given.get("name"):
            known = self.makers.setdefault(self._listed, [])
            known.insert(0 if self._is_chosen else len(known), given["name"])

    @staticmethod
    def _corner(package: Package, name: str, given: Mapping[str, str]) -> None:
        """Take a corner of a package's outline, or what lies on the way of an arc to it."""
        if name not in _CORNERS:
            return
        at, corners = place_of(given), package.corners
        if at is None or (name == "PolyBegin") != (not corners):
            package.is_torn = True
        elif name == "PolyStepCurve":
            centre, clockwise = place_of(given, "centerX", "centerY"), truth_of(given.get("clockwise"))
            way = None
            if centre is not None and clockwise is not None:
                way = way_about(corners[-1], at, centre, clockwise=clockwise)
            package.is_torn |= way is None
            corners += way or ()
        if at is not None:
            corners.append(at)

    def finish(self, name: str) -> None:
        """Take the end of an element."""
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

    def built(self) -> list[tuple[StepPlaced, Component]]:
        """Return each component of the step that is built, in each place of its own step. Raises :class:`InputError`.

        A board that stands several times in a panel has its components as often.
        """
        filled = {part.step for part in self.components}
        whole = self.steps.whole(filled) if filled != {""} else ""
        if self.steps.problem or whole is None:
            several = ", ".join(sorted(filled))
            raise self.error(self.steps.problem or f"it holds several boards: {several}", "which is built is not said")
        of_step: dict[str, list[Component]] = {}
        for part in self.components:
            of_step.setdefault(part.step, []).append(part)
        try:
            placed = self.steps.placed(whole)
        except ValueError as error:
            raise self.error(str(error), "where its parts lie is not known") from None
        if sum(len(of_step.get(one.step, ())) for one in placed) > _MOST_PARTS:
            raise self.error("it has more parts than any board")
        times = Counter(one.step for one in placed if one.step in of_step)
        refs = Counter(ref for step in times for ref in {part.ref for part in of_step[step]})
        if sum(count > 1 for count in times.values()) > 1 or (len(times) > 1 and max(refs.values()) > 1):
            boards = ", ".join(f"{step} ({count})" for step, count in times.items())
            what, why = f"it is a panel of several boards: {boards}", "their references are not told apart"
            raise InputError.at(self.file, what, why, "export each board by itself, and check one by one")
        return [(one, part) for one in placed for part in of_step.get(one.step, ())]

    def lies(self, part: Component) -> list[Lie]:
        """Return how a component may lie on its side; none where that is not known."""
        return [] if part.is_moved else lies_on(self.sides.get(part.layer, ""), part.turned_deg, part.mirrored)

    def middle(self, part: Component, within: StepPlaced | None = None) -> tuple[float, float] | None:
        """Return where a component is picked up, in mm, *within* a whole; None where that is not known."""
        package = self.packages.get(part.package)
        pickup = None if package is None else _picked_up_at(package, self.unit or 1.0)
        if pickup is None or part.at is None or part.is_moved or self.unit is None:
            return None
        at = place_of_point(part.at, pickup, self.lies(part))
        if at is None:
            return None
        x, y = at if within is None else within.seen(at)
        return round(x * self.unit, 6), round(y * self.unit, 6)

    def stated(self) -> dict[str, PartLands]:
        """Return what is stated of each reference that stands once."""
        unit = self.unit
        if unit is None:
            raise self.error("it states no unit that is known", "CadHeader states it")
        heights = {n: _height(p.height, unit) for n, p in self.packages.items()}
        shared = Counter(mm for mm in heights.values() if mm is not None)
        kinds = sum(shared.values())
        # What a quarter of all packages share an export fills in where it knows none.
        filled = {mm for mm, count in shared.items() if count >= _SHARED_BY and count >= _SHARED * kinds}
        outlines = without_filled({name: _sides(p, unit) for name, p in self.packages.items()})
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


def _picked_up_at(package: Package, unit: float) -> tuple[float, float] | None:
    """Return where a package is picked up, from its origin; one that does not say, at the middle of its outline.

    Its origin may be its pin 1: without an outline it is the middle of its pins where each has one opposite.
    """
    if package.has_pickup:
        return package.pickup
    if _is_whole(package, unit):
        return middle_of(package.corners)
    spots = [at for places in package.pins.values() for at in places]
    middle = middle_of(spots)
    in_mm = [("", (x * unit, y * unit)) for x, y in spots]
    if middle is None or not lie_evenly(in_mm, (middle[0] * unit, middle[1] * unit)):
        return None
    return middle


def _is_whole(package: Package, unit: float) -> bool:
    """Whether a package's outline is a closed line of which nothing is torn: what is missing may be its farthest."""
    corners = package.corners
    return not package.is_torn and bool(corners) and math.dist(corners[0], corners[-1]) * unit <= _CLOSED_MM


def _sides(package: Package, unit: float) -> tuple[float, float] | None:
    """Return the sides of a package's outline in mm, about where it is picked up; None where it is torn.

    A body is taken to lie about its place: of one that is picked up beside its middle the outline reaches as far on the
    other side.
    """
    pickup = _picked_up_at(package, unit)
    if not _is_whole(package, unit) or pickup is None:
        return None
    off = [((x - pickup[0]) * unit, (y - pickup[1]) * unit) for x, y in package.corners]
    return outline_of([*off, *((-x, -y) for x, y in off)])


def _height(height: float | None, unit: float) -> float | None:
    mm = None if height is None else round(height * unit, 6)
    return mm if mm is not None and _LEAST_MM <= mm <= _GREATEST_MM else None

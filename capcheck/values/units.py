"""Units at the border: text with a unit becomes a number in the canonical unit of its dimension.

The canonical units are mm, degree, gram, second and what follows from them (mm², g/mm³ …); rates are per hour and
forces in newton, as the trade quotes them. pint knows the units, from a small definition file of our own. pint does
not read the numbers: it takes ``1,6 mm`` for 16 mm and ``1.6±0.1 mm`` for 0.16, so texts meet an anchored pattern
here first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

from msgspec import Struct

from capcheck.values.control_characters import cut
from capcheck.values.interval import Interval
from capcheck.values.patterns import pattern

if TYPE_CHECKING:
    import pint
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic_core import CoreSchema

Exponents = tuple[float, float, float, float]
"""Powers of length, mass, angle and time."""

_BASES: Final = ("[length]", "[mass]", "[angle]", "[time]")


class Dimension(Struct, frozen=True):
    """What a number measures: a name, powers of the base dimensions, and the unit it is kept in."""

    name: str
    exponents: Exponents
    unit: str
    example: str

    def __str__(self) -> str:
        """Return the name, as error messages use it."""
        return self.name


LENGTH: Final = Dimension("length", (1, 0, 0, 0), "mm", "1.6 mm")
AREA: Final = Dimension("area", (2, 0, 0, 0), "mm**2", "20 mm**2")
VOLUME: Final = Dimension("volume", (3, 0, 0, 0), "mm**3", "20 mm**3")
MASS: Final = Dimension("mass", (0, 1, 0, 0), "g", "30 g")
AREAL_MASS: Final = Dimension("mass per area", (-2, 1, 0, 0), "g/mm**2", "30 g/in**2")
DENSITY: Final = Dimension("density", (-3, 1, 0, 0), "g/mm**3", "1.85 g/cm**3")
ANGLE: Final = Dimension("angle", (0, 0, 1, 0), "degree", "0.05 degree")
TIME: Final = Dimension("time", (0, 0, 0, 1), "s", "2.5 s")
RATE: Final = Dimension("rate", (0, 0, 0, -1), "1/hour", "30000 1/hour")
SPEED: Final = Dimension("speed", (1, 0, 0, -1), "mm/s", "15 mm/s")
ACCELERATION: Final = Dimension("acceleration", (1, 0, 0, -2), "mm/s**2", "20 m/s**2")
FORCE: Final = Dimension("force", (1, 1, 0, -2), "N", "3 N")
OUTPUT_PER_AREA: Final = Dimension("rate per area", (-2, 0, 0, -1), "1/hour/m**2", "25000 1/hour/m**2")
NUMBER: Final = Dimension("number", (0, 0, 0, 0), "", "4")

DIMENSIONS: Final[dict[str, Dimension]] = {
    d.name: d
    for d in (
        LENGTH,
        AREA,
        VOLUME,
        MASS,
        AREAL_MASS,
        DENSITY,
        ANGLE,
        TIME,
        RATE,
        SPEED,
        ACCELERATION,
        FORCE,
        OUTPUT_PER_AREA,
        NUMBER,
    )
}
_BY_EXPONENTS: Final = {d.exponents: d for d in DIMENSIONS.values()}


def dimension_of(exponents: Exponents) -> Dimension:
    """Return the dimension with these powers; one without a name gets a description made of its powers."""
    known = _BY_EXPONENTS.get(exponents)
    if known is not None:
        return known
    pairs = [(b.strip("[]"), e) for b, e in zip(_BASES, exponents, strict=True) if e]
    name = " × ".join(b if e == 1 else f"{b}^{e:g}" for b, e in pairs)
    units = ("mm", "g", "degree", "s")
    unit = "*".join(f"{u}**{e:g}" for u, e in zip(units, exponents, strict=True) if e)
    return Dimension(name, exponents, unit, f"1 {unit}")


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the one pint registry, built from capcheck/values/units.txt."""
    import pint  # costs 0.1 s, and not every command needs it

    path = str(Path(__file__).with_name("units.txt"))
    return pint.UnitRegistry(path, cache_folder=None, autoconvert_to_preferred=False)


class UnitError(ValueError):
    """A text is not a quantity of the dimension asked for. The message says so without naming the place."""


_NUMBER = r"[+-]?(?:\d++(?:\.\d*+)?+|\.\d++)(?:[eE][+-]?\d{1,3}+)?+"
"""Possessive, so that no text is read a second time: "51/hour" is no 5 with the unit 1/hour."""
_UNIT_WORD = r"[A-Za-zµμ°%]{1,12}(?:\*\*-?[1-4])?"
_QUANTITY = pattern(rf"\s*+({_NUMBER})\s*+((?:1/)?{_UNIT_WORD}(?:\s*+[*/]\s*+{_UNIT_WORD}){{0,3}})?\s*+")
_SHOWN_OF_TEXT: Final = 80


COMMON_UNITS: Final[dict[str, tuple[float, Exponents]]] = {
    "mm": (1.0, LENGTH.exponents),
    "cm": (10.0, LENGTH.exponents),
    "m": (1000.0, LENGTH.exponents),
    "um": (0.001, LENGTH.exponents),
    "µm": (0.001, LENGTH.exponents),
    "mil": (0.0254, LENGTH.exponents),
    "in": (25.4, LENGTH.exponents),
    "inch": (25.4, LENGTH.exponents),
    "g": (1.0, MASS.exponents),
    "kg": (1000.0, MASS.exponents),
    "mg": (0.001, MASS.exponents),
    "s": (1.0, TIME.exponents),
    "min": (60.0, TIME.exponents),
    "degree": (1.0, ANGLE.exponents),
    "deg": (1.0, ANGLE.exponents),
    "1/hour": (1.0, RATE.exponents),
    "mm/s": (1.0, SPEED.exponents),
    "m/s": (1000.0, SPEED.exponents),
    "m/s**2": (1000.0, ACCELERATION.exponents),
    "g/cm**3": (0.001, DENSITY.exponents),
    "g/in**2": (1 / 645.16, AREAL_MASS.exponents),
    "N": (1.0, FORCE.exponents),
    "%": (0.01, NUMBER.exponents),
}
"""Factors of the units that nearly every file uses, so that most runs need not load pint. A test holds them to it."""


def unit_factor(unit: str) -> tuple[float, Exponents]:
    """Return the factor from *unit* to the canonical unit, and the powers of its dimension.

    Raises :class:`UnitError` if no such unit is known.
    """
    return COMMON_UNITS.get(unit) or defined_factor(unit)


@lru_cache(maxsize=512)
def defined_factor(unit: str) -> tuple[float, Exponents]:
    """Return what pint makes of *unit*; see :func:`unit_factor`."""
    import pint

    if not unit:
        return 1.0, NUMBER.exponents
    ureg = registry()
    try:
        quantity = ureg.Quantity(1.0, ureg.parse_units(unit))
        powers = quantity.dimensionality
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError, AttributeError) as error:
        raise UnitError(f'"{unit}" is not a unit that capcheck knows') from error
    length, mass, angle, time = (float(powers.get(base, 0)) for base in _BASES)  # type: ignore[arg-type]  # never complex
    exponents = (length, mass, angle, time)
    canonical = ureg.parse_units(dimension_of(exponents).unit or "count")
    return float(quantity.to(canonical).magnitude), exponents


def read_any_quantity(text: str) -> tuple[float, Exponents]:
    """Read ``number unit`` and return the canonical magnitude with the powers of its dimension.

    Raises :class:`UnitError`.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError(f'"{cut(text, _SHOWN_OF_TEXT)}" is not a number with a unit')
    factor, exponents = unit_factor(match[2] or "")
    # Twelve digits: 0.8 in is 20.32 mm, not 20.320000000000004, so that a part exactly on a limit passes.
    value = float(f"{float(match[1]) * factor:.12g}")
    if not math.isfinite(value):
        raise UnitError(f'"{cut(text, _SHOWN_OF_TEXT)}" is too large')
    return value, exponents


def read_quantity(text: str, dimension: Dimension) -> float:
    """Read ``number unit`` as *dimension* and return the magnitude in its canonical unit.

    Raises :class:`UnitError` with the text and both dimensions.
    """
    value, exponents = read_any_quantity(text)
    if exponents != dimension.exponents:
        given = dimension_of(exponents)
        without = " without a unit" if given is NUMBER else ""
        told = f'"{text}" is {_with_article(given)}{without}, {_with_article(dimension)} is expected'
        raise UnitError(f'{told}; write it like "{dimension.example}"')
    return value


def _with_article(dimension: Dimension) -> str:
    """Return the name of a dimension after "a" or "an"."""
    name = str(dimension)
    return f"an {name}" if name[0] in "aeio" else f"a {name}"


_SHOWN: Final = {
    "mm**2": "mm²",
    "mm**3": "mm³",
    "g/mm**2": "g/mm²",
    "g/mm**3": "g/mm³",
    "1/hour": "per hour",
    "mm/s**2": "mm/s²",
    "1/hour/m**2": "per hour and m²",
    "degree": "°",
}


def shown_unit(dimension: Dimension) -> str:
    """Return the canonical unit of *dimension* as reports print it."""
    return _SHOWN.get(dimension.unit, dimension.unit)


def show_number(value: float, *, decimals: int | None = None) -> str:
    """Return *value* for a reader, without trailing zeros; an open end reads as such.

    Without *decimals* it has four below 1, three below 10 and two from there: in mm, what a drawing can mean.
    """
    if math.isinf(value):
        return "unlimited" if value > 0 else "unknown"
    if decimals is None:
        decimals = _decimals(value)
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def as_shown(value: float, *, up: bool) -> float:
    """Return a finite value in as many decimals as a reader is shown, rounded up or down."""
    factor: float = 10.0 ** _decimals(value)
    # What stands a hair beside a decimal by the arithmetic of floats is that decimal.
    return math.ceil(value * factor - 1e-6) / factor if up else math.floor(value * factor + 1e-6) / factor


def _decimals(value: float) -> int:
    return next((d for d, end in ((4, 1.0), (3, 10.0)) if abs(value) < end), 2)


_FLOOR_MM2: Final = 1e6
"""Areas from here on are of floors, not of pads, and are printed in square metres."""
_SHOWN_LENGTH: ContextVar[tuple[str, float] | None] = ContextVar("_SHOWN_LENGTH", default=None)
"""Another unit that lengths are printed in, with its size in mm."""


@contextmanager
def lengths_shown_in(unit: str) -> Iterator[None]:
    """Print lengths in *unit* (``mm``, ``mil``, ``inch``) as long as the context lasts; they are kept in mm."""
    factor, exponents = unit_factor(unit)
    if exponents != LENGTH.exponents:
        raise UnitError(f'"{unit}" is not a unit of length')
    token = _SHOWN_LENGTH.set(None if unit == "mm" else (unit, factor))
    try:
        yield
    finally:
        _SHOWN_LENGTH.reset(token)


def signed(number: str) -> str:
    """Return a number as it is printed in a text: with a minus sign in place of the hyphen."""
    return number.replace("-", "−")


def show(low: float, high: float, dimension: Dimension) -> str:
    """Return an interval for a reader: ``1.6 mm``, ``−0.2 mm``, ``1.5 to 1.7 mm``, ``at most 2.1 mm``, ``unknown``."""
    numbers, unit = _in_shown_unit(low, high, dimension)
    if numbers == _UNKNOWN:
        return numbers
    return f"{numbers}{unit}" if unit in {"", "°"} else f"{numbers} {unit}"


def show_sides(sides: Iterable[Interval], between: str = " × ") -> str:
    """Return lengths for a reader with their unit once: ``1.6 × 0.8 mm``, ``1.5 to 1.7 × 0.8 mm``."""
    shown = [_in_shown_unit(side.low, side.high, LENGTH) for side in sides]
    return f"{between.join(numbers for numbers, _ in shown)} {shown[0][1]}"


_UNKNOWN: Final = "unknown"


def _in_shown_unit(low: float, high: float, dimension: Dimension) -> tuple[str, str]:
    """Return the numbers of an interval in words, without a unit, and the unit that they are in."""
    unit = shown_unit(dimension)
    other = _SHOWN_LENGTH.get()
    if other is not None and dimension.exponents == LENGTH.exponents:
        unit, low, high = other[0], low / other[1], high / other[1]
    if dimension.exponents == AREA.exponents and any(_FLOOR_MM2 <= v < math.inf for v in (low, high)):
        unit, low, high = "m²", low / 1e6, high / 1e6

    def text(value: float) -> str:
        # An inch is so long that its fourth decimal is the resolution of a drawing.
        return signed(show_number(value, decimals=4 if unit == "inch" else None))

    at_least_something = math.isfinite(low) and low > 0
    if math.isinf(high):
        return (f"at least {text(low)}" if at_least_something else _UNKNOWN), unit
    if text(low) == text(high):
        return text(high), unit
    if not at_least_something and (math.isinf(low) or low == 0):
        return f"at most {text(high)}", unit
    return f"{text(low)} to {text(high)}", unit


def schema_of_quantity(dimension: Dimension, *, minimum: float | None) -> dict[str, Any]:
    """Return the JSON Schema of a quantity in *dimension*, at least *minimum* in its canonical unit."""
    from capcheck.values.quantity_schema import quantity_schema  # only where a schema is asked for

    return quantity_schema(dimension.exponents, dimension.name, dimension.example, minimum)


def schema_of_any_quantity() -> dict[str, Any]:
    """Return the JSON Schema of a quantity of any dimension that has a name, or a bare number."""
    from capcheck.values.quantity_schema import any_quantity_schema

    return any_quantity_schema(dimension.exponents for dimension in DIMENSIONS.values())


_NO_FLOAT: Final = 10**300


class Quantity:
    """Marks a pydantic field as a quantity: read from text with a unit, kept in the canonical unit.

    The field's error names the text and the expected dimension; pydantic adds the key. The JSON Schema says
    ``string`` with an example, for editors.
    """

    def __init__(self, dimension: Dimension, *, minimum: float | None = 0.0, above: bool = False) -> None:
        self.dimension = dimension
        self.minimum = minimum
        self.above = above

    def _read(self, value: object) -> float:
        if self.dimension is NUMBER and isinstance(value, int | float) and not isinstance(value, bool):
            # Python's whole numbers have no end; those that a float cannot hold are as good as infinite.
            number = float(value) if abs(value) < _NO_FLOAT else math.inf
        elif isinstance(value, str):
            number = read_quantity(value, self.dimension)
        else:
            example = self.dimension.example
            raise UnitError(
                f'{value!r} has no unit, {_with_article(self.dimension)} is expected; write it like "{example}"'
            )
        if not math.isfinite(number):
            raise UnitError(f"{value!r} is not a finite number")
        if self.minimum is not None and (number < self.minimum or (self.above and number == self.minimum)):
            bound = "more than" if self.above else "at least"
            raise UnitError(
                f'"{value}" is out of range; {_with_article(self.dimension)} here is {bound} {self.minimum:g}'
            )
        return number

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return schema_of_quantity(self.dimension, minimum=self.minimum)


Length = Annotated[float, Quantity(LENGTH)]
PositiveLength = Annotated[float, Quantity(LENGTH, above=True)]
SignedLength = Annotated[float, Quantity(LENGTH, minimum=None)]
Mass = Annotated[float, Quantity(MASS)]
PositiveMass = Annotated[float, Quantity(MASS, above=True)]
Density = Annotated[float, Quantity(DENSITY, above=True)]
Angle = Annotated[float, Quantity(ANGLE, minimum=None)]
Time = Annotated[float, Quantity(TIME)]
PositiveTime = Annotated[float, Quantity(TIME, above=True)]
Rate = Annotated[float, Quantity(RATE, above=True)]
Speed = Annotated[float, Quantity(SPEED, above=True)]
Acceleration = Annotated[float, Quantity(ACCELERATION, above=True)]
Force = Annotated[float, Quantity(FORCE)]
Number = Annotated[float, Quantity(NUMBER)]

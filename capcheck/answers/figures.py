"""Figures that a customer filled in: read with their units, and held against what is known of the part.

What is doubtful is a :class:`Doubt` and is not written; somebody looks at it and takes it, or asks again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.intake import CellError, read_measure
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.model import Basis, Body, LeadStyle, Measure, Mounting
from capcheck.report import customers_languages
from capcheck.values import LENGTH, MASS, NUMBER, Dimension, Interval, pattern, show

Figure = Interval | int | str
PINS: Final = "pins"
_MASS: Final = "mass"
_WORDS: Final[Mapping[str, Sequence[str]]] = {"lead style": [*LeadStyle], "mounting": [*Mounting]}
"""Columns that hold one of these words."""
_FEW_PINS: Final = 2
"""Leads of so many pins are bent to any pitch."""
_SIDES: Final = ("length", "width")
_BOX: Final = (*_SIDES, "height")
_LIMITS: Final = {
    "length": (0.1, 300.0),
    "width": (0.1, 300.0),
    "height": (0.05, 100.0),
    "pitch": (0.1, 25.4),
    "ball diameter": (0.05, 1.5),
    _MASS: (0.00001, 500.0),
}
"""What a part that is placed can have at all, in mm and g; from memory, with room on both sides."""
_DENSEST_G_PER_MM3: Final = 0.009
"""A solid block of copper has 0.00896 g/mm³, from memory; no body is filled with it."""
_MOST_PINS: Final = 5_000
_TALLEST_IN_LONGER_SIDES: Final = 4.0
"""A plug or a can stands no more than about twice its longer side high: common practice, no source; with room."""
_TOLERANCE_MM: Final = 0.05
"""What a stated figure may lie beyond a bound that is known: rounding, and a bound that is itself rounded."""
_TYPICAL_MAY_MISS: Final = 3.0
"""How many times a typical size, which proves nothing, a stated one may be before it is doubted."""
_DATE: Final = pattern(r"\d{4}-\d{2}-\d{2}.*|\d{1,2}[./-]\d{1,2}[./-]\d{2,4}")
_DIGIT: Final = pattern(r"\d")
_THOUSANDS: Final = pattern(r"[1-9]\d{0,2}[.,]\d{3}\s*[a-zµ\"]*")


class Doubt(Struct, frozen=True):
    """Why a figure is not written: what is wrong with it, and what it was held against."""

    figure: str
    text: str
    why: str
    may_be_taken: bool = True
    """Whether somebody may say which answer it is by the key of its row."""


class Words(Struct, frozen=True):
    """A text where a figure was asked for, such as that it stands in a data sheet: nothing is written."""

    figure: str
    text: str


def read_figure(name: str, text: str, unit: str = "") -> Figure | Doubt | Words:
    """Return a figure of the column *name* in mm or g, as a number of pins, or as a form of leads.

    *unit* is that of the column's title, where the cell has none; the list asks in mm, for a mass in g.
    """
    if name in _WORDS:
        word = _word_named(text, _WORDS[name])
        return word if word is not None else Words(name, text)
    if _DATE.fullmatch(text.strip()):
        return Doubt(name, text, "reads as a date: a spreadsheet program may have made one of the figure")
    dimension = _dimension(name)
    try:
        value = read_measure(text, dimension, unit="" if dimension is NUMBER else unit or dimension.unit, decimal=None)
    except CellError as error:
        return Doubt(name, text, error.what) if _DIGIT.search(text) else Words(name, text)
    if _THOUSANDS.fullmatch(text.strip()) and not value.is_exact:
        return Doubt(name, text, f"the mark may be the decimal one or part thousands: {_shown(value, dimension)}")
    return _pins(value, text) if name == PINS else _measure(name, value, text)


def unit_of(name: str) -> str:
    """Return the unit in which a figure of the column *name* is kept; empty for words, and for numbers without one."""
    return _dimension(name).unit if name in _LIMITS else ""


def _dimension(name: str) -> Dimension:
    return NUMBER if name == PINS else MASS if name == _MASS else LENGTH


def _pins(value: Interval, text: str) -> int | Doubt:
    if not value.is_exact or value.low != int(value.low):
        return Doubt(PINS, text, "is not a whole number")
    if not 1 <= value.low <= _MOST_PINS:
        return Doubt(PINS, text, f"no part has so many pins (1 to {_MOST_PINS:,})")
    return int(value.low)


def _measure(name: str, value: Interval, text: str) -> Interval | Doubt:
    least, most = _LIMITS[name]
    low = value.low if value.low > 0 else value.high
    high = value.high if math.isfinite(value.high) else value.low
    if low < least or high > most:
        usual = show(least, most, _dimension(name))
        return Doubt(name, text, f"no part that is placed has such a {name} ({usual}); is the unit right?")
    return value


def _word_named(text: str, known: Sequence[str]) -> str | None:
    """Return the one of the words *known* that a text means, in any language of the list."""
    folded = text.strip().casefold()
    for language in customers_languages():
        with customers_language(language):
            words = customers_catalogue().words
        for word in known:
            if folded in {word.casefold(), words[word].casefold()}:
                return str(word)
    return None


def doubts_of(figures: Mapping[str, Figure], texts: Mapping[str, str], bodies: Sequence[Body]) -> list[Doubt]:
    """Return the doubts about figures of one part: against one another, and against what each body is known to be."""
    found = [*_among_themselves(figures, texts)]
    for name, value in figures.items():
        for body in bodies:
            why = _against_pins(value, body) if name == PINS else _against(name, value, body)
            why = why or (_too_heavy(figures, body) if name == _MASS else "")
            if why:
                found.append(Doubt(name, texts[name], why))
                break
    return found


def _among_themselves(figures: Mapping[str, Figure], texts: Mapping[str, str]) -> Iterable[Doubt]:
    sides = [value for name in _SIDES if isinstance(value := figures.get(name), Interval)]
    longer = max((side.high for side in sides), default=math.inf)
    height, pitch, ball = (figures.get(name) for name in ("height", "pitch", "ball diameter"))
    if isinstance(height, Interval) and len(sides) == 2 and height.low > _TALLEST_IN_LONGER_SIDES * longer:
        yield Doubt("height", texts["height"], f"is more than {_TALLEST_IN_LONGER_SIDES:g} times the longer side")
    pins = figures.get(PINS)
    bent = isinstance(pins, int) and pins <= _FEW_PINS
    if isinstance(pitch, Interval) and len(sides) == 2 and pitch.low > longer and not bent:
        yield Doubt("pitch", texts["pitch"], "is more than the longer side of the body")
    if isinstance(ball, Interval) and isinstance(pitch, Interval) and ball.low >= pitch.high:
        yield Doubt("ball diameter", texts["ball diameter"], "is no less than the pitch: the balls would touch")


def _against(name: str, value: Figure, body: Body) -> str:
    """Return why a figure cannot be that of a body, or is unlikely to be; empty where nothing speaks against it."""
    if name == "mounting":
        return "" if body.mounting in {None, value} else f"the part is known with “{body.mounting}”"
    if isinstance(value, str):
        style = body.lead_style
        return "" if style in {None, LeadStyle.OTHER, LeadStyle.LEADS, value} else f"the part is known with “{style}”"
    if isinstance(value, int):
        return ""
    measures: list[Measure] = [getattr(body, name.replace(" ", "_"))]
    if name in _SIDES:
        # Which side is called the length is anybody's choice.
        measures = [body.length, body.width]
    tolerance = 0.0 if name == _MASS else _TOLERANCE_MM
    if any(_fits(value, measure, tolerance) for measure in measures):
        return ""
    known = measures[0] if name != "width" else measures[-1]
    shown = show(known.value.low, known.value.high, _dimension(name))
    return f"{known.source or 'what is known of the part'} gives {shown}"


def _too_heavy(figures: Mapping[str, Figure], body: Body) -> str:
    """Return that no part of this size has so much mass, by the sides that are stated beside it, else by the body's."""
    mass, sides = figures[_MASS], (figures.get(side, getattr(body, side).proved.value) for side in _BOX)
    most = math.prod(side.high for side in sides if isinstance(side, Interval)) * _DENSEST_G_PER_MM3
    if isinstance(mass, Interval) and (mass.low or mass.high) > most:
        return f"a block of copper of that size has {show(most, most, MASS)}; is the unit right?"
    return ""


def _fits(value: Interval, measure: Measure, tolerance: float) -> bool:
    low, high = measure.value.low, measure.value.high
    if measure.basis is Basis.UNKNOWN:
        return True
    if measure.basis is Basis.TYPICAL:
        low, high = low / _TYPICAL_MAY_MISS, high * _TYPICAL_MAY_MISS
    return value.low <= high + tolerance and value.high >= low - tolerance


def _against_pins(value: Figure, body: Body) -> str:
    return f"the part is known with {body.pins} pins" if body.pins is not None and body.pins != value else ""


def _shown(value: Interval, dimension: Dimension) -> str:
    return f"{value.low:g} or {value.high:g} {dimension.unit}".rstrip()

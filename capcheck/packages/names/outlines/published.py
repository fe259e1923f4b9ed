"""Published package outlines, indexed by outline number or name and by package word with pin count."""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, sides
from capcheck.packages.tables import Row, number, rows_of
from capcheck.values import Interval

HIDDEN: Final = frozenset(("ball grid", "land grid", "column grid", "no lead"))
"""Lead styles whose joints lie under the body."""

_KEY_TOLERANCE_MM: Final = 0.2
"""For outlines found by number alone: JEDEC TO-236, MO-178 and their like allow 0.1 to 0.2 mm; from memory."""
_COARSE_FROM_MM: Final = 2.0
_COARSE_MM: Final = 0.02
"""How far coarse pitches differ between inch and metric drawings: 2.286 mm is also drawn 2.28 and 2.30."""
_LARGE_MM: Final = 15.0
"""From this side on ball grids have a tolerance of 0.2 mm (JEDEC MS-034; from memory)."""
_MEMORY_SIDE_MM: Final = 0.1
_MEMORY_HEIGHT: Final = 1.1
"""What is allowed for a row that is written from memory: each side 0.1 mm more (a tenth of a small one), a tenth of the
height, so that it decides nothing near a limit."""

_MEMORY: Final = "from memory"
_SIDE_SLACK_MM: Final = 0.26
_SPAN_SLACK_MM: Final = 0.16
_PITCH_SLACK_MM: Final = 0.012


class Word(Struct, frozen=True):
    """What a package word such as TSSOP says: which outlines answer to it, lead style, tolerance, height class."""

    word: str
    answers_to: frozenset[str]
    family_key: str
    lead_style: str
    tolerance_mm: float
    height_max_mm: float | None
    source: str


class Outline(Struct, frozen=True):
    """One published outline; *length* is the longer side of the body. Sizes in mm, None where not published."""

    name: str
    words: frozenset[str]
    pins: int
    length: float
    width: float
    height_max: float | None
    pitch: float
    span: float | None
    span_second: float | None
    lead_style: str
    source: str
    pitch_other: float | None = None
    """Pitch that a name may give instead: of the two leads on one side of a SOT-23, say."""
    length_range: Interval | None = None
    width_range: Interval | None = None
    span_range: Interval | None = None
    """Ranges of the drawings, where the tolerance usual for the family does not hold them."""
    from_memory: bool = False
    height_from_memory: bool = False

    def has_sides(self, one: float, other: float) -> bool:
        """Whether the body has these two sides, in either order."""
        long, short = max(one, other), min(one, other)
        return abs(self.length - long) <= _SIDE_SLACK_MM and abs(self.width - short) <= _SIDE_SLACK_MM

    def spans(self, one: float, other: float) -> bool:
        """Whether the two numbers are the part's size over its leads instead of its body."""
        if self.span is None:
            return False
        asked = sorted((one, other))
        pairs = ((self.span, self.span_second or self.length), (self.span, self.span_second or self.width))
        return any(all(abs(a - b) <= _SPAN_SLACK_MM for a, b in zip(sorted(p), asked, strict=True)) for p in pairs)

    def has_pitch(self, pitch: Interval) -> bool:
        """Whether the pitch is the one asked for, allowing for a name that rounds it."""
        low, high = pitch.low - _PITCH_SLACK_MM, pitch.high + _PITCH_SLACK_MM
        return low <= self.pitch <= high or (self.pitch_other is not None and low <= self.pitch_other <= high)

    def has_span(self, span: Interval) -> bool:
        """Whether the size over the leads is the one asked for."""
        if self.span_range is not None and self.span_range.overlaps(span, 0.02):
            return True
        return self.span is not None and self.span - 0.45 <= span.high and span.low <= self.span + 0.45


@cache
def words() -> dict[str, Word]:
    """Return the package words by their spelling in capitals."""
    return {
        r["word"]: Word(
            r["word"],
            frozenset(r["answers_to"].split(";")) - {""},
            r["family_key"],
            r["lead_style"],
            float(r["body_tolerance_mm"]),
            *_class_height(r),
        )
        for r in rows_of("family_words")
    }


def _class_height(row: Row) -> tuple[float | None, str]:
    """Return the greatest height of a package word's class in mm and its source; one from memory has its allowance."""
    height, source = number(row["height_max_mm"]), row["source"]
    if height is None or _MEMORY not in source:
        return height, source
    return round(_MEMORY_HEIGHT * height, 3), f"{source}; a tenth of the height allowed for that"


def _range(cell: str) -> Interval | None:
    """Return a cell such as ``2.8..3.04`` as an interval; None where it is empty."""
    if not cell:
        return None
    low, _, high = cell.partition("..")
    return Interval(float(low), float(high))


def _cited(source: str, basis: str) -> str:
    """Return a source with what kind of source it is, where it does not say so itself."""
    return source if basis in source else f"{source} [{basis}]"


def _outline(row: Row) -> Outline:
    height_from = row["height_basis"] or row["basis"]
    return Outline(
        row["name"],
        frozenset(row["words"].split(";")) - {""},
        int(row["pins"]),
        float(row["length_mm"]),
        float(row["width_mm"]),
        number(row["height_max_mm"]),
        float(row["pitch_mm"]),
        number(row["span_mm"]),
        number(row["span_second_mm"]),
        row["lead_style"],
        _cited(row["source"], row["basis"]),
        number(row["pitch_other_mm"]),
        _range(row["length_range_mm"]),
        _range(row["width_range_mm"]),
        _range(row["span_range_mm"]),
        row["basis"] == _MEMORY,
        height_from == _MEMORY,
    )


@cache
def _tables() -> tuple[dict[str, tuple[Outline, ...]], dict[tuple[str, int], tuple[Outline, ...]]]:
    by_key: dict[str, list[Outline]] = {}
    by_word: dict[tuple[str, int], list[Outline]] = {}
    for r in rows_of("outlines"):
        outline = _outline(r)
        for key in filter(None, r["keys"].split(";")):
            by_key.setdefault(key, []).append(outline)
        for word in outline.words:
            by_word.setdefault((word, outline.pins), []).append(outline)
    return {k: tuple(v) for k, v in by_key.items()}, {k: tuple(v) for k, v in by_word.items()}


def by_key(key: str) -> tuple[Outline, ...]:
    """Return the outlines with this number or name, written without separators (``MS012AA``, ``SOT23-5``)."""
    return _tables()[0].get(key, ())


def known_keys() -> frozenset[str]:
    """Return every outline number and name that is known."""
    return frozenset(_tables()[0])


@cache
def _open_families() -> dict[str, str]:
    return {r["number"]: r["word"] for r in rows_of("open_outlines")}


def open_family(number: str) -> Word | None:
    """Return the package word that an outline number such as ``MO220`` stands for, where it has more bodies than rows.

    JEDEC registers dozens of bodies under such a number: without a variation, a count or a size it names none.
    """
    word = _open_families().get(number)
    return words()[word] if word is not None else None


@cache
def _letters() -> dict[tuple[str, str], str]:
    return {(r["role"], r["letter"]): r["value"] for r in rows_of("jedec_letters")}


def no_lead_variation(letters: str) -> tuple[str, float, float, float] | None:
    """Return package word, both sides and pitch in mm of a variation of MO-220 or MO-229 such as ``VHHD``.

    The letters stand for height class, the two sides and the pitch; None where one of them is not known.
    """
    if len(letters) != 4:
        return None
    roles = zip(("height", "body", "body", "pitch"), letters, strict=True)
    found = [_letters().get(role) for role in roles]
    if None in found:
        return None
    word, one, other, pitch = (str(value) for value in found)
    return word, float(one), float(other), float(pitch)


def by_word(word: Word, pins: int) -> tuple[Outline, ...]:
    """Return the outlines that answer to a package word with so many pins."""
    table = _tables()[1]
    found = [o for w in sorted(word.answers_to) for o in table.get((w, pins), ())]
    return tuple(dict.fromkeys(found))


def family_key_of(outline: Outline) -> str:
    """Return the family whose bounds hold for an outline that was found by its number."""
    for name in outline.words:
        if known := words().get(name):
            return known.family_key
    name = outline.name
    if name.startswith(("TO-252", "TO-263", "TO-268")):
        return "dpak"
    if outline.lead_style == "flat lead":
        return "sotfl"
    by_style = {"ball grid": "wlcsp" if "WL" in name else "bga", "land grid": "lga"}
    return by_style.get(outline.lead_style, "sot")


def tolerance_of(outline: Outline) -> float:
    """Return the body's tolerance in mm for an outline, by the package word it answers to."""
    for name in sorted(outline.words):
        if known := words().get(name):
            return known.tolerance_mm
    return _KEY_TOLERANCE_MM if outline.lead_style != "ball grid" else 0.15


def reading_of(outline: Outline, text: str) -> Reading:
    """Return an outline as a reading of *text*: the body with its tolerance, the height at most the limit.

    What the table has from memory is wider, and its source says so.
    """
    long, short = sides(
        _side(outline, outline.length, outline.length_range), _side(outline, outline.width, outline.width_range)
    )
    span, second = outline.span, outline.span_second
    around_span = 0.25 if outline.length < 12 else 0.4
    larger = Interval.about(max(span, second or span), around_span) if span else None
    return Reading(
        source=f'"{text}" as the published outline {outline.name} ({outline.source}{_widened(outline)})',
        basis=Basis.PUBLISHED,
        trust=Trust.PACKAGE_NAME,
        length=long,
        width=short,
        height=_height(outline),
        nominal_length=Interval.exactly(outline.length),
        nominal_width=Interval.exactly(outline.width),
        span=outline.span_range or larger,
        span_second=Interval.about(min(span, second), around_span) if span and second else None,
        pitch=Interval.about(outline.pitch, _COARSE_MM)
        if outline.pitch >= _COARSE_FROM_MM
        else Interval.exactly(outline.pitch),
        pins=outline.pins,
        mounting="surface",
        lead_style=outline.lead_style,
        family=outline.name,
        family_key=family_key_of(outline),
        hidden_joints=outline.lead_style in HIDDEN,
        text=text,
    )


def _side(outline: Outline, nominal: float, drawn: Interval | None) -> Interval:
    """Return a side of the body: the range of its drawings, or the nominal size with the family's tolerance."""
    if drawn is not None:
        return drawn
    around = min(tolerance_of(outline), 0.1 * outline.width)
    if outline.lead_style == "ball grid" and nominal >= _LARGE_MM:
        around = max(around, 0.2)
    if outline.from_memory:
        around += min(_MEMORY_SIDE_MM, 0.1 * outline.width)
    return Interval(round(nominal - around, 4), round(nominal + around, 4))


def _height(outline: Outline) -> Interval | None:
    if not outline.height_max:
        return None
    share = _MEMORY_HEIGHT if outline.height_from_memory else 1.0
    return Interval.at_most(round(outline.height_max * share, 3))


def _widened(outline: Outline) -> str:
    """Return what the source of a reading must say of the allowance for what is from memory."""
    parts = []
    if outline.from_memory and outline.length_range is None:
        parts.append("0.1 mm a side")
    if outline.height_from_memory and outline.height_max:
        parts.append("a tenth of the height")
    return f"; allowed for memory: {' and '.join(parts)}" if parts else ""

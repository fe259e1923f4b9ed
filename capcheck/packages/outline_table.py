"""Published package outlines, indexed by outline number or name and by package word with pin count."""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct

from capcheck.interval import Interval
from capcheck.model import Basis
from capcheck.packages.data_tables import number, rows_of
from capcheck.packages.reading import Reading, Trust, sides

HIDDEN: Final = frozenset(("ball grid", "land grid", "column grid", "no lead"))
"""Lead styles whose joints lie under the body."""

_KEY_TOLERANCE_MM: Final = 0.2
"""For outlines found by number alone: JEDEC TO-236, MO-178 and their like allow 0.1 to 0.2 mm; from memory."""

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
        return pitch.low - _PITCH_SLACK_MM <= self.pitch <= pitch.high + _PITCH_SLACK_MM

    def has_span(self, span: Interval) -> bool:
        """Whether the size over the leads is the one asked for."""
        return self.span is not None and self.span - 0.45 <= span.high and span.low <= self.span + 0.45


@cache
def words() -> dict[str, Word]:
    """Return the package words by their spelling in capitals."""
    return {
        r["word"]: Word(
            r["word"], frozenset(r["answers_to"].split(";")) - {""}, r["family_key"], r["lead_style"],
            float(r["body_tolerance_mm"]), number(r["height_max_mm"]), r["source"],
        )
        for r in rows_of("family_words")
    }  # fmt: skip


@cache
def _tables() -> tuple[dict[str, tuple[Outline, ...]], dict[tuple[str, int], tuple[Outline, ...]]]:
    by_key: dict[str, list[Outline]] = {}
    by_word: dict[tuple[str, int], list[Outline]] = {}
    for r in rows_of("outlines"):
        outline = Outline(
            r["name"], frozenset(r["words"].split(";")) - {""}, int(r["pins"]), float(r["length_mm"]),
            float(r["width_mm"]), number(r["height_max_mm"]), float(r["pitch_mm"]), number(r["span_mm"]),
            number(r["span_second_mm"]), r["lead_style"], f"{r['source']} [{r['basis']}]",
        )  # fmt: skip
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
    """Return an outline as a reading of *text*: the body with its tolerance, the height at most the limit."""
    around = min(tolerance_of(outline), 0.1 * outline.width)
    long, short = sides(Interval.about(outline.length, around), Interval.about(outline.width, around))
    span, second = outline.span, outline.span_second
    around_span = 0.25 if outline.length < 12 else 0.4  # noqa: PLR2004  JEDEC allows 0.2 to 0.4; from memory
    return Reading(
        source=f'"{text}" as the published outline {outline.name} ({outline.source})',
        basis=Basis.PUBLISHED,
        trust=Trust.PACKAGE_NAME,
        length=long,
        width=short,
        height=Interval.at_most(outline.height_max) if outline.height_max else None,
        nominal_length=Interval.exactly(outline.length),
        nominal_width=Interval.exactly(outline.width),
        span=Interval.about(max(span, second or span), around_span) if span else None,
        span_second=Interval.about(min(span, second), around_span) if span and second else None,
        pitch=Interval.exactly(outline.pitch),
        pins=outline.pins,
        mounting="surface",
        lead_style=outline.lead_style,
        family=outline.name,
        family_key=family_key_of(outline),
        hidden_joints=outline.lead_style in HIDDEN,
        text=text,
    )

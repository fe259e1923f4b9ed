"""Published package outlines, indexed by outline number or name and by package word with pin count, as candidates."""

from __future__ import annotations

from functools import cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Basis, LeadStyle, Mounting, Said, say
from capcheck.packages.candidate import Candidate, Trust, sides
from capcheck.packages.tables import FROM_MEMORY, Outline, Word, families, rows_of
from capcheck.values import Interval

UNDER_THE_BODY: Final = frozenset((LeadStyle.BALL_GRID, LeadStyle.LAND_GRID, LeadStyle.COLUMN_GRID, LeadStyle.NO_LEAD))
"""Lead styles whose joints lie under the body."""

_KEY_TOLERANCE_MM: Final = 0.2
"""For outlines found by number alone: JEDEC TO-236, MO-178 and their like allow 0.1 to 0.2 mm; from memory."""
_BALL_GRID_TOLERANCE_MM: Final = 0.15
_COARSE_FROM_MM: Final = 2.0
_COARSE_MM: Final = 0.02
"""How far coarse pitches differ between inch and metric drawings: 2.286 mm is also drawn 2.28 and 2.30."""
_LARGE_MM: Final = 15.0
"""From this side on ball grids have a tolerance of 0.2 mm (JEDEC MS-034; from memory)."""
_MEMORY_SIDE_MM: Final = 0.1
_MEMORY_HEIGHT: Final = 1.1
"""What is allowed for a row that is written from memory: each side 0.1 mm more (a tenth of a small one), a tenth of the
height, so that it decides nothing near a limit."""


@cache
def words() -> dict[str, Word]:
    """Return the package words by their spelling in capitals."""
    return {word.word: _with_allowance(word) for table in families() for word in table.words}


def _with_allowance(word: Word) -> Word:
    """Return a package word whose height class, where it is from memory, has its allowance."""
    if word.height_max_mm is None or FROM_MEMORY not in word.source:
        return word
    height = round(_MEMORY_HEIGHT * word.height_max_mm, 3)
    return replace(word, height_max_mm=height, source=f"{word.source}; a tenth of the height allowed for that")


class _Index(Struct, frozen=True):
    by_key: dict[str, tuple[Outline, ...]]
    by_word: dict[tuple[str, int], tuple[Outline, ...]]


@cache
def _index() -> _Index:
    by_key: dict[str, list[Outline]] = {}
    by_word: dict[tuple[str, int], list[Outline]] = {}
    for outline in (o for table in families() for o in table.outlines):
        for key in outline.keys:
            by_key.setdefault(key, []).append(outline)
        for word in outline.words:
            by_word.setdefault((word, outline.pins), []).append(outline)
    return _Index({k: tuple(v) for k, v in by_key.items()}, {k: tuple(v) for k, v in by_word.items()})


def by_key(key: str) -> tuple[Outline, ...]:
    """Return the outlines with this number or name, written without separators (``MS012AA``, ``SOT23-5``)."""
    return _index().by_key.get(key, ())


def known_keys() -> frozenset[str]:
    """Return every outline number and name that is known."""
    return frozenset(_index().by_key)


def by_word(word: Word, pins: int) -> tuple[Outline, ...]:
    """Return the outlines that answer to a package word with so many pins."""
    found = [o for w in sorted(word.answers_to) for o in _index().by_word.get((w, pins), ())]
    return tuple(dict.fromkeys(found))


@cache
def open_family(number: str) -> Word | None:
    """Return the package word that an outline number such as ``MO220`` stands for, where it has more bodies than rows.

    JEDEC registers dozens of bodies under such a number: without a variation, a count or a size it names none.
    """
    word = next((r.word for table in families() for r in table.registered if r.number == number), None)
    return None if word is None else words()[word]


class _Letter(Struct, frozen=True):
    role: str
    letter: str
    value: str


class NoLeadVariation(Struct, frozen=True):
    """What the letters of a variation of MO-220 or MO-229 stand for; lengths in mm."""

    word: Word
    length_mm: float
    width_mm: float
    pitch_mm: float


def no_lead_variation(letters: str) -> NoLeadVariation | None:
    """Return what a variation of MO-220 or MO-229 such as ``VHHD`` says; None where one of its letters is not known."""
    known = {(row.role, row.letter): row.value for row in rows_of("jedec_letters", _Letter)}
    found = [known.get(role) for role in zip(("height", "body", "body", "pitch"), letters, strict=True)]
    if None in found:
        return None
    word, one, other, pitch = map(str, found)
    return NoLeadVariation(words()[word], float(one), float(other), float(pitch))


def _tolerance_mm(outline: Outline) -> float:
    """Return the body's tolerance for an outline, by the package word it answers to."""
    for name in sorted(outline.words):
        if known := words().get(name):
            return known.tolerance_mm
    return _BALL_GRID_TOLERANCE_MM if outline.lead_style is LeadStyle.BALL_GRID else _KEY_TOLERANCE_MM


def candidate_of(outline: Outline, text: str) -> Candidate:
    """Return an outline as a meaning of *text*: the body with its tolerance, the height at most the limit.

    What the table has from memory is wider, and its source says so.
    """
    long, short = sides(
        _side(outline, outline.length_mm, outline.length_range_mm),
        _side(outline, outline.width_mm, outline.width_range_mm),
    )
    span, second = outline.span_mm, outline.span_second_mm
    around_span = 0.25 if outline.length_mm < 12 else 0.4
    larger = Interval.about(max(span, second or span), around_span) if span else None
    coarse = outline.pitch_mm >= _COARSE_FROM_MM
    return Candidate(
        basis=Basis.PUBLISHED,
        trust=Trust.PACKAGE_NAME,
        text=text,
        scheme=_scheme(outline),
        length=long,
        width=short,
        height=_height(outline),
        nominal_length=Interval.exactly(outline.length_mm),
        nominal_width=Interval.exactly(outline.width_mm),
        span=outline.span_range_mm or larger,
        span_second=Interval.about(min(span, second), around_span) if span and second else None,
        pitch=Interval.about(outline.pitch_mm, _COARSE_MM) if coarse else Interval.exactly(outline.pitch_mm),
        pins=outline.pins,
        mounting=Mounting.SURFACE,
        lead_style=outline.lead_style,
        family=outline.name,
        family_key=outline.family,
        hidden_joints=outline.lead_style in UNDER_THE_BODY,
    )


def _side(outline: Outline, nominal_mm: float, drawn: Interval | None) -> Interval:
    """Return a side of the body: the range of its drawings, or the nominal size with the family's tolerance."""
    if drawn is not None:
        return drawn
    around = min(_tolerance_mm(outline), 0.1 * outline.width_mm)
    if outline.lead_style is LeadStyle.BALL_GRID and nominal_mm >= _LARGE_MM:
        around = max(around, 0.2)
    if outline.is_from_memory:
        around += min(_MEMORY_SIDE_MM, 0.1 * outline.width_mm)
    return Interval(round(nominal_mm - around, 4), round(nominal_mm + around, 4))


def _height(outline: Outline) -> Interval | None:
    if not outline.height_max_mm:
        return None
    share = _MEMORY_HEIGHT if outline.height_is_from_memory else 1.0
    return Interval.at_most(round(outline.height_max_mm * share, 3))


def _scheme(outline: Outline) -> Said:
    """Return which outline it is, by which table, and what was allowed for what the table has from memory."""
    cited = outline.source if outline.basis in outline.source else f"{outline.source} [{outline.basis}]"
    side = outline.is_from_memory and outline.length_range_mm is None
    height = bool(outline.height_is_from_memory and outline.height_max_mm)
    if not (side or height):
        return say("packages.published outline", name=outline.name, table=cited)
    allowed = "a side and of the height" if side and height else "a side" if side else "of the height"
    return say(
        "packages.published outline, widened", name=outline.name, table=cited, allowed=say(f"packages.{allowed}")
    )

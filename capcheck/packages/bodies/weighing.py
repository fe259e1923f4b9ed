"""From all that the data say about a type of part to its body, each number with its source.

Order of evidence: columns that state a size, the shop's library, then names (a land-pattern name, a size code, a
package name, dimensions written in the name) in the footprint, in the BOM's package, in its description and value,
and last the bounds of the family. Each field is taken from the best reading that states it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import UNKNOWN_MEASURE, Basis, Body, Measure
from capcheck.packages.bodies.bounds import family_bounds
from capcheck.packages.bodies.conflicts import body_conflict, field_conflict, quoted, same_body
from capcheck.packages.bodies.narrowing import against_dimensions, narrowed
from capcheck.packages.bodies.packaging import complete
from capcheck.packages.bodies.size_code_evidence import agreed_system
from capcheck.packages.candidate import MEASURED, SAID, Reading, Trust, sides
from capcheck.packages.names import (
    Agreed,
    kind_of,
    mounting_in_words,
    no_balls,
    read_array,
    read_dimensions,
    read_land_pattern,
    read_named,
    read_package_name,
    read_size_codes,
    read_tantalum,
    resistor_height,
)
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import PartName
    from capcheck.packages.library import Library

Prefer = Literal["footprint", "bom", "library"]
"""Whose body is believed where two sources name different ones; ``prefer`` in board.toml."""
_PASSIVES: Final = frozenset({"R", "C", "L", "FB", "RN", "RA"})
_INTEGRATED: Final = frozenset({"U", "IC", "Q"})
_NO_CIRCUIT: Final = frozenset({"switch", "connector", "pin header"})
"""Families that a text about an integrated circuit names without being one: what it switches, what it plugs into."""
_PLAIN_VALUE: Final = pattern(r"\s*[\d.,]+\s?(?!mm|MM|in|IN|mil|MIL)[A-Za-zµμΩ%]{1,4}\d?\s*")
"""A number with a unit such as 4.7k, 100nF, 22R0: the value of a part, which names no body."""
_STATED_FIELDS: Final = ("height", "span", "pitch", "ball_diameter", "lead_width", "mass")


class Weighed(Struct, frozen=True):
    """The readings of one type of part, the most trusted first, and the body that they make."""

    readings: tuple[Reading, ...]
    body: Body
    winners: dict[str, Reading]
    """The reading that each field was taken from."""
    by_names: bool = False
    """Whether the readings alone made the body, without the words about mounting and kind beside them."""


def resolve(
    types: Sequence[PartName],
    *,
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer = "footprint",
) -> list[Body]:
    """Return the body of each of *types*, in their order.

    *size_codes* settles chip codes that mean two sizes; without it the other names of *types* do, as far as they
    can. *prefer* says who is believed where two sources name different bodies: ``footprint`` and ``bom`` order the two,
    ``library`` puts the shop's library before what columns of the customer's files state.
    """
    agreed = agreed_system(types, size_codes)
    # Parts of one footprint differ in value and number alone: what the same readings make is worked out once.
    known: dict[tuple[int, ...], tuple[list[Reading], Body]] = {}
    bodies = []
    for name in types:
        readings = _readings(name, agreed, library, prefer)
        key = tuple(map(id, readings))
        if key not in known:
            weighed = _weighed(name, readings)
            bodies.append(weighed.body)
            if weighed.by_names:
                known[key] = (readings, weighed.body)
            continue
        bodies.append(known[key][1])
    return bodies


def weigh(name: PartName, agreed: Agreed, library: Library | None = None, prefer: Prefer = "footprint") -> Weighed:
    """Return every reading of one type of part with the body that they make; see :func:`resolve`."""
    return _weighed(name, _readings(name, agreed, library, prefer))


def _weighed(name: PartName, stated: list[Reading]) -> Weighed:
    readings = narrowed(stated)
    winners = _choose(readings)
    by_names = "mounting" in winners and "lead_style" in winners
    readings = [*readings]
    if "mounting" not in winners and (said := _mounting_in_words(name)) is not None:
        readings.append(said)
        winners["mounting"] = said
    named = winners["family"].family if "family" in winners else None
    if "lead_style" not in winners and (bare := _no_balls(name, named)) is not None:
        readings.append(bare)
        winners["lead_style"] = bare
    merged = _merge(winners)
    readings, winners = _with_bounds(readings, winners, merged)
    body = _body(readings, winners, merged)
    return Weighed(tuple(readings), complete(body), winners, by_names)


def _stated(name: PartName) -> list[Reading]:
    """Return what the columns of the BOM and the placement data state, one reading for each field.

    Each has the place of its own cell as its source; length and width go together, the longer side first.
    """
    given = name.dimensions
    found: list[Reading] = []
    if "length" in given and "width" in given:
        (one, at), (other, at2) = given["length"], given["width"]
        longer, shorter = sides(one, other)
        source = at if at == at2 else f"{at}, {at2}"
        found.append(Reading(source, Basis.STATED, Trust.STATED, length=longer, width=shorter))
    else:
        for side in ("length", "width"):
            if side in given:
                changes: dict[str, Any] = {side: given[side][0]}
                found.append(Reading(given[side][1], Basis.STATED, Trust.STATED, **changes))
    for key in _STATED_FIELDS:
        if key in given:
            changes = {key: given[key][0]}
            found.append(Reading(given[key][1], Basis.STATED, Trust.STATED, **changes))
    if "pins" in given and given["pins"][0].is_exact:
        pins = int(given["pins"][0].low)
        found.append(Reading(given["pins"][1], Basis.STATED, Trust.STATED, pins=pins))
    return found


def _readings(name: PartName, agreed: Agreed, library: Library | None, prefer: Prefer) -> list[Reading]:
    """Return the readings of all that is said of a part, the most trusted source first."""
    found = _stated(name)
    if library is not None:
        known = library.readings(name)
        found = [*known, *found] if prefer == "library" else [*found, *known]
    texts = _texts(name, prefer)
    every = tuple(text for _, text, _ in texts)
    seen: set[str] = set()
    for what, text, is_name in texts:
        # The same name with and without a library's name before it is one statement, not two.
        bare = text.upper().rpartition(":")[2] if is_name else text.upper()
        if not text or bare in seen or not (is_name or _may_hold_size(text, name.ref_prefix)):
            continue
        seen.add(bare)
        kind = kind_of((text, *every) if is_name else every, name.ref_prefix)
        read = _read_text(text, what, name.ref_prefix, kind, agreed, is_name=is_name)
        if not is_name and next((r.family for r in found if r.family), None) in _NO_CIRCUIT:
            # Letters of a plug's long description are no package: its footprint has said what it is.
            read = tuple(r for r in read if r.family is None or r.family in _NO_CIRCUIT)
        found.extend(read)
    return found


def _texts(name: PartName, prefer: Prefer) -> list[tuple[str, str, bool]]:
    """Return the texts about a part, the most trusted first: field, text, and whether it names a body or is prose."""
    footprint, package = ("footprint", name.footprint, True), ("BOM package", name.bom_package, True)
    prose = [("description", name.description, False), ("value", name.value, False)]
    return [package, *prose, footprint] if prefer == "bom" else [footprint, package, *prose]


def _mounting_in_words(name: PartName) -> Reading | None:
    return mounting_in_words(name)


def _no_balls(name: PartName, family: str | None) -> Reading | None:
    texts = (name.footprint, name.bom_package, name.description, name.value)
    kind = kind_of(texts, name.ref_prefix)
    return no_balls(kind, name.ref_prefix, family, " ".join(texts))


def _may_hold_size(text: str, ref_prefix: str) -> bool:
    """Whether prose can name a body: a bare 1206 as the value of R7 is a value."""
    if _PLAIN_VALUE.fullmatch(text):
        return False
    if not any(c.isdigit() for c in text):
        return "MELF" in text.upper() or "CASE" in text.upper() or "PAK" in text.upper()
    return not (text.replace(" ", "").isdigit() and ref_prefix.upper() in _PASSIVES)


@lru_cache(maxsize=16384)
def _read_text(
    text: str, what: str, ref_prefix: str, kind: str | None, agreed: Agreed, *, is_name: bool
) -> tuple[Reading, ...]:
    """Return the readings of one text; *is_name* says that it names a footprint or package rather than being prose."""
    land = read_land_pattern(text, what)
    if land:
        return land
    found = read_named(text, what, ref_prefix, kind) or read_tantalum(text, what, ref_prefix, kind)
    if not found and kind == "array":
        found = read_array(text, what, ref_prefix)
    stated, packages = read_dimensions(text, what, ref_prefix), _package_names(text, what, ref_prefix)
    if not found:
        codes = read_size_codes(text, what, kind, agreed, name=is_name, ref_prefix=ref_prefix)
        sized = [*stated, *(p for p in packages if p.basis is Basis.DECODED)]
        found = [against_dimensions(code, sized) for code in codes]
    return (*found, *packages, *stated)


def _package_names(text: str, what: str, ref_prefix: str) -> list[Reading]:
    # A power switch or a connector's driver is an integrated circuit: its reference says so.
    chip = ref_prefix.upper() in _INTEGRATED
    return [
        replace(r, source=f"{what} {r.source}")
        for r in read_package_name(text)
        if not (chip and r.family in _NO_CIRCUIT)
    ]


def _choose(readings: list[Reading]) -> dict[str, Reading]:
    """Return the reading that each field is taken from: the first that states it and fits the body taken."""
    winners: dict[str, Reading] = {}
    used: Reading | None = None
    for reading in readings:
        fits = used is None or same_body(used, reading)
        for field in (*MEASURED, *SAID, "family_key", "span_second"):
            # What a contradicted reading says of another body must not complete this one.
            if getattr(reading, field) is None or not fits:
                continue
            if field not in winners or (field == "pins" and _counts_pads(winners[field], reading)):
                winners[field] = reading
        if used is None and (reading.length is not None or reading.width is not None):
            used = reading
    return winners


def _counts_pads(taken: Reading, named: Reading) -> bool:
    """Whether the pin count taken is a column's count of pads, which a name's count of terminals corrects.

    A column in placement data counts an exposed pad, its vias and lugs too, so it may exceed the terminals.
    """
    if taken.trust is not Trust.STATED or taken.pins is None or named.pins is None:
        return False
    return named.trust in {Trust.LAND_PATTERN, Trust.PACKAGE_NAME} and named.pins < taken.pins


def _merge(winners: dict[str, Reading]) -> Reading:
    """Return one reading with the fields taken so far, for the bounds of the family."""
    values: dict[str, Any] = {field: getattr(r, field) for field, r in winners.items()}
    return Reading("what is known so far", Basis.DECODED, Trust.BOUND, **values)


def _with_bounds(
    readings: list[Reading], winners: dict[str, Reading], merged: Reading
) -> tuple[list[Reading], dict[str, Reading]]:
    """Add the bounds of the family for the fields that are open or open-ended."""
    bounds: list[Reading] = []
    size = winners.get("length")
    if merged.height is None and size is not None:
        height = resistor_height(size)
        if height is not None:
            bounds.append(height)
    if (found := family_bounds(merged)) is not None:
        bounds.append(found)
    for bound in bounds:
        for field in (*MEASURED, *SAID):
            value = getattr(bound, field)
            if value is None:
                continue
            taken = winners.get(field)
            known = getattr(taken, field) if taken is not None else None
            if known is None or (isinstance(known, Interval) and not known.is_known):
                winners[field] = bound if known is None else _met(bound, taken, field, known, value)
    return [*readings, *bounds], winners


def _met(bound: Reading, taken: Reading | None, field: str, known: Interval, value: Interval) -> Reading:
    """Return the reading of what both an open-ended interval and a bound leave possible."""
    both = known.meet(value)
    if both is None or taken is None:
        return taken or bound
    changes: dict[str, Any] = {field: both}
    return replace(bound, source=f"{taken.source}; {bound.source}", **changes)


def _measure(field: str, winners: dict[str, Reading], readings: list[Reading]) -> Measure:
    reading = winners.get(field)
    if reading is None:
        return UNKNOWN_MEASURE
    value: Interval = getattr(reading, field)
    if not value.is_known or reading.basis is Basis.BOUND:
        # A lesser reading may close an open end: at most 6 mm by the span, 3.9 mm by a description.
        for other in readings:
            closer = getattr(other, field)
            if other is not reading and closer is not None and closer.is_known and not value.is_known:
                both = value.meet(closer)
                if both is not None and other.basis is not Basis.BOUND:
                    return Measure(both, other.basis, other.source)
    if value.low < 0:
        value = Interval(0.0, max(0.0, value.high))
    return Measure(value, reading.basis, reading.source)


def _body(readings: list[Reading], winners: dict[str, Reading], merged: Reading) -> Body:
    measures: dict[str, Any] = {field: _measure(field, winners, readings) for field in MEASURED}
    said: dict[str, Any] = {f: getattr(winners[f], f) for f in SAID if f in winners}
    size = winners.get("length") or winners.get("width")
    height = winners.get("height")
    oriented = _orientation(readings, size)
    if oriented is not None and oriented is not size and _shorter_along_x(oriented):
        for one, other in (("length", "width"), ("nominal_length", "nominal_width")):
            measures[one], measures[other] = measures[other], measures[one]
    conflicts: list[str] = []
    others = [r for r in readings if r.basis is not Basis.BOUND]
    if len(others) > 1:
        conflicts = _conflicts(others, size, winners, merged)
    taken = {id(r): r for r in (size, height, winners.get("pitch"), winners.get("span")) if r is not None}
    questions = dict.fromkeys(q for r in taken.values() for q in r.questions)
    return Body(
        **measures,
        **said,
        oriented=oriented is not None,
        body_from=_body_from(winners),
        conflicts=tuple(dict.fromkeys(conflicts)),
        questions=tuple(questions),
    )


def _orientation(readings: list[Reading], size: Reading | None) -> Reading | None:
    """Return the reading that says which side lies along x: of the size taken, or another of the same body."""
    if size is None:
        return None
    if size.oriented:
        return size
    return next((r for r in readings if r.oriented and r.states_size() and same_body(size, r)), None)


def _shorter_along_x(reading: Reading) -> bool:
    return reading.length is not None and reading.width is not None and reading.length.high < reading.width.high


def _conflicts(
    readings: list[Reading], size: Reading | None, winners: dict[str, Reading], merged: Reading
) -> list[str]:
    """Return the sentences of all disagreements; one text that is read in two ways disagrees only once."""
    told: dict[tuple[str, str], str] = {}
    if size is not None:
        # Fields stated one a reading (columns of a BOM) are weighed together, as what is used.
        used = replace(merged, source=size.source, basis=size.basis, trust=size.trust, members=size.members)
        for reading in readings:
            if reading is not size and reading is not winners.get("width"):
                sentence = body_conflict(used, reading)
                if sentence is not None:
                    told.setdefault(("body", quoted(reading.source)), sentence)
    for field in ("pins", "pitch", "height"):
        winner = winners.get(field)
        for reading in readings if winner is not None else ():
            sentence = field_conflict(field, winner, reading) if reading is not winner and winner is not None else None
            if sentence is not None and ("body", quoted(reading.source)) not in told:
                told.setdefault((field, quoted(reading.source)), sentence)
    return list(told.values())


def _body_from(winners: dict[str, Reading]) -> str:
    size, height = winners.get("length") or winners.get("width"), winners.get("height")
    if size is None and height is None:
        any_reading = winners.get("family") or winners.get("pins")
        return any_reading.source if any_reading is not None else ""
    if size is None:
        return f"height: {height.source}" if height is not None else ""
    if height is None or height is size or height.source == size.source:
        return size.source
    return f"{size.source}; height: {height.source}"

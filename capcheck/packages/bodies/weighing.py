"""From all that the data say about a type of part to its body, each number with its source.

Order of evidence: columns that state a size, the shop's library, then names (a land-pattern name, a size code, a
package name, dimensions written in the name) in the footprint, in the BOM's package, in its description and value,
and last the bounds of the family. Each field is taken from the best reading that states it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import sentence
from capcheck.model import Basis, Body, Family, Measure, say
from capcheck.packages.bodies.alike import told_by_footprint
from capcheck.packages.bodies.choosing import chosen
from capcheck.packages.bodies.conflicts import same_body
from capcheck.packages.bodies.consequences import with_consequences
from capcheck.packages.bodies.contacts import room_for_contacts
from capcheck.packages.bodies.disputes import (
    Dispute,
    Prefer,
    conflicts_of,
    disputes,
    either_of,
    open_fields,
    widen_greatest_height,
    widen_measures,
)
from capcheck.packages.bodies.figures import doubted_by_figures
from capcheck.packages.bodies.filling import Beside, bounded, filled, known_so_far, said_beside
from capcheck.packages.bodies.least_sizes import smaller_than_sold
from capcheck.packages.bodies.made_sizes import as_made
from capcheck.packages.bodies.narrowing import narrowed
from capcheck.packages.bodies.nominal_pitch import nominal_pitch
from capcheck.packages.bodies.several_sizes import possible_bodies
from capcheck.packages.bodies.size_code_evidence import agreed_system
from capcheck.packages.bodies.sorts import against_kind, of_a_module, of_a_transformer
from capcheck.packages.bodies.stated_sizes import as_far_as_stated, leaves_sizes_open, shared_by_number, stated_sizes
from capcheck.packages.bodies.stated_supply import with_stated_supply
from capcheck.packages.bodies.text_meanings import NO_CIRCUIT, read_text
from capcheck.packages.candidate import KEYS, MEASURED, PROSE, SAID, Candidate, Column, Trust, distinct, texts_of
from capcheck.packages.names import (
    AgreedSystem,
    connector_in,
    holds_another,
    kind_among,
    names_no_body,
    of_itself,
    own_words,
    read_part_numbers,
    stated_kind,
)
from capcheck.values import Interval, pattern

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    from capcheck.model import Mounting, PartName
    from capcheck.packages.library_entries import Library

_CLASS_BY_LETTERS: Final = {"SH": "shield"}
"""Letters whose parts are made as those of a class, whatever their texts say: common practice, no source."""
_PASSIVES: Final = frozenset({"R", "C", "L", "FB", "RN", "RA"})
_PLAIN_VALUE: Final = pattern(r"\s*[\d.,]+\s?(?!mm|MM|in|IN|mil|MIL)[A-Za-zµμΩ%]{1,4}\d?\s*")
"""A number with a unit such as 4.7k, 100nF, 22R0: the value of a part, which names no body."""
_BODIES_WITHOUT_NUMBER: Final = ("MELF", "CASE", "BAUFORM", "TAILLE", "TIER", "PAK", "QFN", "QFP")
"""What a text names a body by without any digit; of the last ones it says where their leads lie."""
_ACROSS: Final = {
    "length": "width",
    "width": "length",
    "nominal_length": "nominal_width",
    "nominal_width": "nominal_length",
}


class Weighed(Struct, frozen=True):
    """The candidates of one type of part, the most trusted first, and the body that they make."""

    candidates: tuple[Candidate, ...]
    body: Body
    taken: dict[str, Candidate]
    """The candidate that each field was taken from."""
    measured: dict[str, Candidate]
    """The candidate that each measure of the body is from as it stands: another where it closes an open end."""
    disputes: tuple[Dispute, ...] = ()
    """Where two of the candidates exclude each other."""
    by_names: bool = False
    """Whether the candidates alone made the body, without the words about mounting and kind beside them."""


def bodies_of(
    types: Sequence[PartName],
    *,
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer | None = None,
) -> list[Body]:
    """Return the body of each of *types*, in their order.

    *size_codes* settles chip codes that mean two sizes; without it the other names of *types* do, as far as they
    can. *prefer* says who is believed where two sources name different bodies: ``footprint`` and ``bom`` order the two,
    ``library`` puts the shop's library before what columns of the customer's files state.
    """
    bodies = _bodies(shared_by_number(types), agreed_system(types, size_codes), library, prefer)
    if any(name.figures for name in types):
        bodies = doubted_by_figures(bodies, types)
    return with_stated_supply(bodies, types)


def _bodies(
    types: Sequence[PartName], agreed: AgreedSystem, library: Library | None, prefer: Prefer | None
) -> list[Body]:
    # Parts of one footprint differ in value and number alone: what the same candidates make is worked out once.
    known: dict[tuple[int, ...], tuple[tuple[Candidate, ...], Body]] = {}
    told: dict[Hashable, Body] = {}
    bodies = []
    for name in types:
        if name.others:
            known_as = [replace(other, others=(), mounted=name.mounted) for other in (name, *name.others)]
            bodies.append(either_of(_bodies(known_as, agreed, library, prefer)))
            continue
        if name.doubt:
            bodies.append(Body(mounting=name.mounted, questions=(say("packages.row in doubt", row=name.doubt),)))
            continue
        alike = None if library is not None and library.candidates(name) else told_by_footprint(name)
        if alike in told:
            bodies.append(told[alike])
            continue
        beside = said_beside(name)
        candidates = _candidates(name, agreed, beside, library=library, prefer=prefer)
        if leaves_sizes_open(name):
            body = _weighed(name, candidates, beside, prefer).body
            bodies.append(as_far_as_stated(body, name, but=Basis.LIBRARY if prefer == "library" else None))
            continue
        against = beside.against(candidates)
        key = (
            *map(id, (*candidates, *against)),
            id(beside.of_class),
            id(beside.connector),
            id(beside.least),
            id(name.mounted),
            id(name.drawn),
        )
        if key not in known:
            weighed = _weighed(name, candidates, beside, prefer)
            bodies.append(weighed.body)
            if weighed.by_names:
                known[key] = ((*candidates, *against), weighed.body)
        else:
            bodies.append(known[key][1])
        if alike is not None:
            told[alike] = bodies[-1]
    return bodies


def weigh(
    name: PartName, agreed: AgreedSystem, library: Library | None = None, prefer: Prefer | None = None
) -> Weighed:
    """Return every candidate of one type of part with the body that they make; see :func:`bodies_of`."""
    beside = said_beside(name)
    return _weighed(name, _candidates(name, agreed, beside, library=library, prefer=prefer), beside, prefer)


def _weighed(name: PartName, stated: list[Candidate], beside: Beside, prefer: Prefer | None) -> Weighed:
    candidates = [*narrowed(stated)]
    taken = chosen(candidates)
    by_names = "mounting" in taken and "lead_style" in taken
    candidates += filled(taken, name, beside)
    if prefer == "bom" and "mounting" in taken and taken["mounting"].column is Column.FOOTPRINT:
        against = beside.against([taken["mounting"]])
        taken["mounting"] = next((c for c in against if c.column is not Column.FOOTPRINT), taken["mounting"])
    known = known_so_far(taken)
    candidates += bounded(taken, known, beside)
    weighed = _with_body(candidates, taken, known, prefer, mounted=name.mounted, least=beside.least)
    return replace(weighed, by_names=by_names)


def _candidates(
    name: PartName, agreed: AgreedSystem, beside: Beside, *, library: Library | None, prefer: Prefer | None
) -> list[Candidate]:
    """Return the meanings of all that is said of a part, the most trusted source first."""
    found = [found for given in (name.dimensions, *name.other_dimensions) for found in stated_sizes(given)]
    if library is not None:
        known = library.candidates(name)
        found = [*known, *found] if prefer == "library" else [*found, *known]
    texts = _by_trust(name, prefer)
    every = tuple(text for _, text in texts)
    stated = stated_kind(name.description, name.value, name.ref_prefix)
    seen: set[str] = set()
    held = holds_another(every, name.ref_prefix)
    for column, whole in texts:
        text = own_words(whole) if held else whole
        is_name = column not in PROSE
        # The same name with and without a library's name before it is one statement, not two.
        bare = text.upper().rpartition(":")[2] if is_name else text.upper()
        if not text or bare in seen or not (is_name or _may_hold_size(text, column, name.ref_prefix)):
            continue
        seen.add(bare)
        kind = kind_among(stated, (text, *every) if is_name else every, name.ref_prefix)
        read = read_text(text, column, name.ref_prefix, (kind, stated), agreed)
        if held:
            read = of_itself(read, held)
        if not is_name and next((c.family_key for c in found if c.family_key), None) in NO_CIRCUIT:
            # Letters of a plug's long description are no package: its footprint has said what it is.
            read = tuple(c for c in read if c.family is None or c.family_key in NO_CIRCUIT)
        found.extend(read)
    of_part = kind_among(stated, every, name.ref_prefix)
    of_class = beside.of_class.part_class if beside.of_class else _CLASS_BY_LETTERS.get(name.ref_prefix.upper())
    found = as_made(found, of_class, of_part)
    found = of_a_module(_with_part_number(found, name, of_part, prefer), beside.least)
    return of_a_transformer(found, (*found, beside.of_class) if beside.of_class else found)


def _with_part_number(
    found: list[Candidate], name: PartName, kind: str | None, prefer: Prefer | None
) -> list[Candidate]:
    """Return the candidates with what the part number says, one witness more: behind the texts of its own source."""
    numbers = against_kind(read_part_numbers(name, kind), found, name.ref_prefix, kind)
    if numbers:
        found = [c for c in found if not any(_is_number_itself(c, number) for number in numbers)]
    if prefer != "bom":
        return [*found, *numbers]
    return sorted((*found, *numbers), key=lambda c: c.column is Column.FOOTPRINT)


def _is_number_itself(package: Candidate, number: Candidate) -> bool:
    """Whether the letters of a maker's number were taken for a package: BGA begins a series of amplifiers."""
    if package.trust is not Trust.PACKAGE_NAME or package.states_size or number.lead_style is None:
        return False
    text, letters = package.text.upper(), (package.family or "").partition("-")[0]
    is_of_number = number.piece in text and letters in number.piece and letters not in text.replace(number.piece, " ")
    return bool(letters) and is_of_number and package.lead_style is not number.lead_style


def _by_trust(name: PartName, prefer: Prefer | None) -> tuple[tuple[Column, str], ...]:
    """Return the texts about a part with their columns, the most trusted first."""
    footprint, *of_the_bom = texts_of(name)
    return (*of_the_bom, footprint) if prefer == "bom" else (footprint, *of_the_bom)


def _may_hold_size(text: str, column: Column, ref_prefix: str) -> bool:
    """Whether prose can name a body: a bare 1206 as the value of R7 is a value."""
    if _PLAIN_VALUE.fullmatch(text) or names_no_body(text, column, ref_prefix.upper()):
        return False
    if not any(map(str.isdigit, text)):
        return any(word in text.upper() for word in _BODIES_WITHOUT_NUMBER)
    return not (text.replace(" ", "").isdigit() and ref_prefix.upper() in _PASSIVES)


def _measured(field: str, taken: Candidate, candidates: list[Candidate]) -> tuple[Interval, Candidate]:
    """Return the value of a field, and the candidate that it is from."""
    value: Interval = getattr(taken, field)
    if field == "pitch" and taken.alternatives:
        # One of several outlines has several pitches; a source that names one of them says which.
        for other in candidates:
            exact = other.pitch if other.basis is not Basis.BOUND and not other.alternatives else None
            if exact is not None and exact.is_known and value.low <= exact.low and exact.high <= value.high:
                return exact, other
    if not value.is_known:
        # A lesser candidate may close an open end: at most 6 mm by the span, 3.9 mm by a description.
        for other in candidates:
            closer: Interval | None = getattr(other, field)
            if other is not taken and closer is not None and closer.is_known and other.basis is not Basis.BOUND:
                both = value.meet(closer)
                if both is not None:
                    return both, other
    return (value if value.low >= 0 else Interval(0.0, max(0.0, value.high))), taken


def _with_body(
    candidates: list[Candidate],
    taken: dict[str, Candidate],
    known: Candidate,
    prefer: Prefer | None,
    *,
    mounted: Mounting | None,
    least: Candidate | None,
) -> Weighed:
    values: dict[str, tuple[Interval, Candidate]] = {
        field: _measured(field, taken[field], candidates) for field in MEASURED if field in taken
    }
    size, height = taken.get("length") or taken.get("width"), taken.get("height")
    oriented = _orientation(candidates, size)
    if oriented is not None and oriented is not size and _shorter_along_x(oriented):
        values = {_ACROSS.get(field, field): value for field, value in values.items()}
    measures: dict[str, Any] = {
        field: Measure(value, candidate.basis, candidate.source) for field, (value, candidate) in values.items()
    }
    said: dict[str, Any] = {field: getattr(taken[field], field) for field in (*SAID, *KEYS) if field in taken}
    found = _disputes(candidates, size, taken, known, prefer)
    if mounted is not None:
        found = [dispute for dispute in found if dispute.field != "mounting"]
    widen_measures(measures, found, lambda rival: _alone(rival, candidates))
    if "pitch" in measures:
        measures["pitch"] = nominal_pitch(measures["pitch"])
    if (too_small := smaller_than_sold(measures, size, least)) is not None:
        # Of the other part nothing is known but that it is larger.
        found = [*found, too_small]
        measures, said = {}, {key: text for key, text in said.items() if key in KEYS}
    widen_greatest_height(measures, height, candidates, prefer)
    open_fields(said, found)
    if mounted is not None:
        said["mounting"] = mounted
    asked = (c for c in (size, height, taken.get("pitch"), taken.get("span")) if c is not None)
    body = Body(
        **measures,
        **said,
        oriented=oriented is not None,
        centred=size is None or not _drawn_from_contacts(size),
        body_from=_body_from(size, height, taken),
        conflicts=distinct((*(c.contradicted for c in candidates if c.contradicted.key), *conflicts_of(found))),
        misfits=conflicts_of(dispute for dispute in found if dispute.is_of_land),
        of_records=conflicts_of(dispute for dispute in found if dispute.is_of_records),
        disputed=distinct(dispute.field for dispute in found if not dispute.settled),
        questions=distinct(question for candidate in asked for question in candidate.questions),
        may_be=possible_bodies(size, measures),
    )
    # What two sources dispute is from neither alone.
    measured = {
        field: candidate
        for field, (_, candidate) in values.items()
        if field in measures and measures[field].source == candidate.source
    }
    settled = with_consequences(room_for_contacts(body))
    return Weighed(tuple(candidates), settled, taken, measured, tuple(found))


def _drawn_from_contacts(size: Candidate) -> bool:
    """Whether land patterns of such a part have their origin at its contacts as often as at its middle."""
    return size.family_key is Family.CONNECTOR or size.family == "module"


def _orientation(candidates: list[Candidate], size: Candidate | None) -> Candidate | None:
    """Return the candidate that says which side lies along x: of the size taken, or another of the same body."""
    if size is None:
        return None
    if size.oriented:
        return size
    return next((c for c in candidates if c.oriented and c.states_size and same_body(size, c)), None)


def _shorter_along_x(candidate: Candidate) -> bool:
    length, width = candidate.length, candidate.width
    return length is not None and width is not None and length.high < width.high


def _disputes(
    candidates: list[Candidate],
    size: Candidate | None,
    taken: dict[str, Candidate],
    known: Candidate,
    prefer: Prefer | None,
) -> list[Dispute]:
    """Return where the candidates exclude each other."""
    sources = [c.as_spelled or c for c in candidates if c.basis is not Basis.BOUND]
    if len(sources) < 2:
        return []
    if size is None:
        return disputes(sources, None, known, taken, prefer)
    # Fields stated one a candidate (columns of a BOM) are weighed together, as what is used.
    used = replace(
        known,
        basis=size.basis,
        trust=size.trust,
        column=size.column,
        text=size.text,
        scheme=size.scheme,
        members=size.members,
        goes_first=size.goes_first,
    )
    return disputes(sources, size, used, taken, prefer)


def _alone(rival: Candidate, candidates: Iterable[Candidate]) -> dict[str, Candidate]:
    """Return the fields of the body that the text of *rival* makes without the others, with its family's bounds."""
    same_text = (c for c in candidates if c.column is rival.column is not None and c.text == rival.text)
    taken = {
        field: candidate
        for candidate in reversed((rival, *(c for c in same_text if c.basis is not Basis.BOUND)))
        for field in (*MEASURED, *SAID, "family_key", "span_second")
        if getattr(candidate, field) is not None
    }
    plugged = connector_in(rival.text) if rival.family_key is Family.CONNECTOR else None
    bounded(taken, known_so_far(taken), Beside(None, plugged))
    return taken


def _body_from(size: Candidate | None, height: Candidate | None, taken: dict[str, Candidate]) -> str:
    """Return one line: what the size and the height were taken from, or else what the family was."""
    if size is None and height is None:
        named = taken.get("family") or taken.get("pins")
        return named.source if named is not None else ""
    if size is None:
        return sentence(say("packages.height alone", height=height.source)) if height is not None else ""
    if height is None or height.has_origin_of(size):
        return size.source
    return sentence(say("packages.size and height", size=size.source, height=height.source))

"""What columns of the customer's files state of a part's size, as candidates: the most trusted of all."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.lexicon import fold, sentence, vocabulary
from capcheck.model import UNKNOWN_MEASURE, UNREAD_SIZE, Basis, about, in_some_unit, say
from capcheck.packages.candidate import Candidate, Column, Trust, distinct, sides

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import Body, Measure, PartName, Said
    from capcheck.values import Interval

_SIDES: Final = ("length", "width")
_BASE: Final = ("length", "width", "nominal_length", "nominal_width")
_PROVED_BY: Final[Mapping[str, tuple[str, ...]]] = {"": (*_BASE, "height"), "length": _BASE, "width": _BASE}
"""What is not proved where a size is unread; where it may be any, none of them is."""
_STATED_FIELDS: Final = ("height", "span", "pitch", "ball_diameter", "lead_width", "mass")


_SIZES: Final = (*_SIDES, *_STATED_FIELDS)
_SHARED: Final = frozenset({*_SIZES, *map(in_some_unit, _SIZES), UNREAD_SIZE})
"""What a row states of the part of its number: not how many pins it counts, nor what only its own cell leaves open."""


def stated_sizes(given: Mapping[str, tuple[Interval, str]]) -> list[Candidate]:
    """Return what the columns of one file state, one candidate for each field.

    Each has the place of its own cell as its source; length and width go together, the longer side first.
    """
    found: list[Candidate] = []

    def add(place: str, **fields: object) -> None:
        found.append(replace(Candidate(Basis.STATED, Trust.STATED, Column.STATED, place), **fields))

    if "length" in given and "width" in given:
        (one, at), (other, at2) = given["length"], given["width"]
        longer, shorter = sides(one, other)
        asked = _limits_asked(given, "length", "width")
        add(at if at == at2 else f"{at}, {at2}", length=longer, width=shorter, questions=asked)
    else:
        for side in {"length", "width"} & given.keys():
            add(given[side][1], **{side: given[side][0]}, questions=_limits_asked(given, side))
    for key in _STATED_FIELDS:
        if key in given:
            add(given[key][1], **{key: given[key][0]}, questions=_limits_asked(given, key))
    if "pins" in given and given["pins"][0].is_exact:
        add(given["pins"][1], pins=int(given["pins"][0].low))
    return found


def _limits_asked(given: Mapping[str, tuple[Interval, str]], *sizes: str) -> tuple[Said, ...]:
    """Return the question for the limit of each of the *sizes* that a row states only roughly."""
    rough = [size for size in sizes if about(size) in given]
    return tuple(say("packages.size is about", where=given[about(size)][1], size=size) for size in rough)


def _unread_sizes(name: PartName) -> list[tuple[str, str]]:
    """Return which sizes of a part the data state so that they prove nothing, and where: ``height`` and its place.

    The size is blank where it may be any.
    """
    return [
        (key.removeprefix(UNREAD_SIZE).strip(), where)
        for given in (name.dimensions, *name.other_dimensions)
        for key, (_, where) in given.items()
        if key.startswith(UNREAD_SIZE)
    ]


def _without_sizes(body: Body, unread: Sequence[tuple[str, str]]) -> Body:
    """Return a body of whose sizes nothing is proved as far as the data state one that is *unread*."""
    nothing: dict[str, object] = {}
    for size, _ in unread:
        nothing |= dict.fromkeys(_PROVED_BY.get(size, (size,)), UNKNOWN_MEASURE)
    if nothing.pop("pins", None):
        nothing["pins"] = None
    asked = []
    for size, where in unread:
        key = "packages.one size not read" if size else "packages.size not read"
        asked.append(say(key, where=where, size=size))
    return replace(body, **nothing, questions=distinct((*body.questions, *asked)))


def leaves_sizes_open(name: PartName) -> bool:
    """Whether the data state a size of a part so that it proves nothing, or in one of several units."""
    return bool(_unread_sizes(name) or _in_some_units(name))


def as_far_as_stated(body: Body, name: PartName, *, but: Basis | None) -> Body:
    """Return a body without what is unread of its sizes; of what is in one of several units all counts.

    Measures of the basis *but* are settled.
    """
    return _without_sizes(_with_every_unit(body, _in_some_units(name), but), _unread_sizes(name))


def _in_some_units(name: PartName) -> list[tuple[str, Interval, str]]:
    """Return the sizes of a part that a row states in one of several units, each with all that it may be and where."""
    every = (name.dimensions, *name.other_dimensions)
    return [(size, *given[key]) for given in every for size in _SIZES if (key := in_some_unit(size)) in given]


def _with_every_unit(body: Body, sizes: Sequence[tuple[str, Interval, str]], but: Basis | None) -> Body:
    """Return a body whose measures span all that *sizes* may be; a stated side may be either one of the body's."""
    for size, value, where in sizes:
        for field in _SIDES if size in _SIDES else (size,):
            measure: Measure = getattr(body, field)
            hull = measure.value.hull(value)
            if measure.basis not in {Basis.UNKNOWN, but} and hull != measure.value:
                both = sentence(say("packages.against", used=measure.source, other=where))
                body = replace(body, **{field: replace(measure, value=hull, source=both)})
    return body


def shared_by_number(types: Sequence[PartName]) -> list[PartName]:
    """Return the types with what other rows state of the sizes of the same part number: it is one part.

    A number that stands for any part, such as "generic", is none.
    """
    stated: dict[str, list[Mapping[str, tuple[Interval, str]]]] = {}
    for name in types:
        for given in (name.dimensions, *name.other_dimensions):
            told = {key: size for key, size in given.items() if key in _SHARED}
            if told and (number := _number(name)):
                stated.setdefault(number, []).append(told)
    if not stated:
        return list(types)
    return [_with_others(name, stated.get(_number(name), ())) for name in types]


def _number(name: PartName) -> str:
    number = fold(name.part_number).strip()
    answers = vocabulary().answers
    return "" if number in answers.any_part or number in answers.unstated else number


def _with_others(name: PartName, stated: Sequence[Mapping[str, tuple[Interval, str]]]) -> PartName:
    known: dict[str, set[Interval]] = {}
    for given in (name.dimensions, *name.other_dimensions):
        for key, (value, _) in given.items():
            known.setdefault(key, set()).add(value)
    further = []
    for given in stated:
        new = {key: size for key, size in given.items() if size[0] not in known.get(key, ())}
        for key, (value, _) in new.items():
            known.setdefault(key, set()).add(value)
        if {"length", "width"} & new.keys():
            new |= {key: given[key] for key in ("length", "width") if key in given}
        if new:
            further.append(new)
    return replace(name, other_dimensions=(*name.other_dimensions, *further)) if further else name

"""What closes the fields that candidates leave open: a part's class, words about its mounting, its kind, its family."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Basis, Family, Mounting, say
from capcheck.packages.bodies.bounds import family_bounds
from capcheck.packages.bodies.lead_rows import lead_row_bounds
from capcheck.packages.candidate import KEYS, MEASURED, Candidate, Trust, texts_of
from capcheck.packages.names import (
    Connector,
    connector_bounds,
    contacts_named,
    has_rows_of_leads,
    holds_another,
    joints_said,
    kind_among,
    mountings_said,
    no_balls,
    opposed,
    read_class,
    read_connector,
    read_least_body,
    resistor_height,
    stated_kind,
)
from capcheck.values import Interval

if TYPE_CHECKING:
    from collections.abc import Iterable

    from capcheck.model import PartName


class Beside(Struct, frozen=True):
    """What all texts of a part say together: its class, a connector's family and positions, and how it is mounted."""

    of_class: Candidate | None
    connector: Connector | None
    mountings: tuple[Candidate, ...] = ()
    drawn: Candidate | None = None
    """The outlines that files of fabrication draw of the package, as a bound that holds them all."""
    joints: tuple[Candidate, ...] = ()
    """How files of fabrication show that the part is soldered, if it is."""
    least: Candidate | None = None
    """What the smallest parts measure of the sort that the texts name."""

    def against(self, candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
        """Return what says of the mounting another thing than one of *candidates*."""
        named = [candidate for candidate in candidates if candidate.mounting is not None]
        every = (*self.mountings, *self.joints)
        return tuple(said for said in every if any(opposed(said, candidate) for candidate in named))


def said_beside(name: PartName) -> Beside:
    """Return what the texts of a part say of it as a whole."""
    # A cover "for SMA" is about a connector, and none itself.
    plugged = read_connector(name)
    if plugged is not None and holds_another([text for _, text in texts_of(name)], name.ref_prefix) == "around":
        plugged = None
    return Beside(
        read_class(name), plugged, mountings_said(name), _drawn(name), joints_said(name), read_least_body(name)
    )


def _drawn(name: PartName) -> Candidate | None:
    if not name.drawn:
        return None
    longer, shorter = (max(one[k] for one in name.drawn) for k in (0, 1))
    scheme = say("packages.outline drawn", where=name.drawn[0][2])
    return Candidate(
        Basis.BOUND,
        Trust.BOUND,
        scheme=scheme,
        length=Interval(0.0, float(longer)),
        width=Interval(0.0, float(shorter)),
    )


def filled(taken: dict[str, Candidate], name: PartName, beside: Beside) -> list[Candidate]:
    """Return the candidates that words, class and kind add, and take them for the fields that are open.

    Words and columns about the mounting that agree with what is taken add nothing.
    """
    added: list[Candidate] = []

    def add(candidate: Candidate | None, *fields: str) -> None:
        if candidate is None:
            return
        added.append(candidate)
        for field in fields:
            if getattr(candidate, field) is not None:
                taken.setdefault(field, candidate)

    if "mounting" not in taken and beside.mountings:
        add(beside.mountings[0], "mounting")
    if "mounting" in taken:
        added.extend(beside.against([taken["mounting"]]))
    add(beside.of_class, "mounting", "lead_style", "hidden_joints", *KEYS)
    if "mounting" not in taken and beside.joints:
        add(beside.joints[0], "mounting")
    drilled = "mounting" in taken and taken["mounting"].mounting is Mounting.THROUGH_HOLE
    columned = "pins" in taken and taken["pins"].trust is Trust.STATED  # which counts lands for tabs too
    for named in contacts_named(name, drilled=drilled) if beside.connector is not None else ():
        add(replace(named, pins=None) if columned else named, "pitch", "pins")
    if "lead_style" not in taken:
        add(_no_balls(name, taken, beside), "lead_style")
    return added


def _no_balls(name: PartName, taken: dict[str, Candidate], beside: Beside) -> Candidate | None:
    if beside.connector is not None and has_rows_of_leads(beside.connector):
        return no_balls(None, "", Family.CONNECTOR)
    family = taken["family_key"].family_key if "family_key" in taken else None
    texts = tuple(text for _, text in texts_of(name))
    stated = stated_kind(name.description, name.value, name.ref_prefix)
    return no_balls(kind_among(stated, texts, name.ref_prefix), name.ref_prefix, family, " ".join(texts))


def known_so_far(taken: dict[str, Candidate]) -> Candidate:
    """Return one candidate with the fields taken so far, for the bounds of the family."""
    values: dict[str, Any] = {field: getattr(candidate, field) for field, candidate in taken.items()}
    return Candidate(Basis.DECODED, Trust.BOUND, **values)


def bounded(taken: dict[str, Candidate], known: Candidate, beside: Beside) -> list[Candidate]:
    """Return the bounds of the family, and take them for the fields that are open or open-ended."""
    bounds: list[Candidate] = []
    counted = taken["pins"].pins if "pins" in taken and taken["pins"].trust is Trust.PART_NUMBER else None
    if beside.connector is not None and (plugged := connector_bounds(beside.connector, known, counted)) is not None:
        bounds.append(plugged)
        taken.setdefault("family_key", plugged)
    size = taken.get("length")
    if known.height is None and size is not None and (height := resistor_height(size)) is not None:
        bounds.append(height)
    if beside.least is not None and beside.least.height is not None:
        bounds.append(replace(beside.least, basis=Basis.BOUND, length=None, width=None))
    if (found := family_bounds(known)) is not None:
        bounds.append(found)
    if beside.of_class is not None:
        bounds.append(beside.of_class)
    if beside.drawn is not None:
        bounds.append(beside.drawn)
    for bound in bounds:
        for field in MEASURED:
            limit: Interval | None = getattr(bound, field)
            if limit is None:
                continue
            before = taken.get(field)
            if before is None or (field == "height" and before.basis is Basis.TYPICAL):
                taken[field] = bound
            elif not (stated := getattr(before, field)).is_known and not _is_least(stated):
                taken[field] = _met(bound, before, field, stated.meet(limit))
    return [*bounds, *_by_rows_of_leads(taken)]


def _by_rows_of_leads(taken: dict[str, Candidate]) -> list[Candidate]:
    """Return what the rows of contacts bound, and take it for the fields that nothing proves."""
    proved = {f: c for f, c in taken.items() if f not in MEASURED or _is_proved(c, f)}
    found = lead_row_bounds(known_so_far(proved))
    if found is None:
        return []
    taken.update({field: found for field in MEASURED if getattr(found, field) is not None and field not in proved})
    return [found]


def _is_proved(candidate: Candidate, field: str) -> bool:
    return candidate.basis is not Basis.TYPICAL and getattr(candidate, field).is_known


def _is_least(stated: Interval) -> bool:
    """Whether a measure is stated as a lower bound: who writes ``> 27 mm`` may mean more than memory knows of."""
    return stated.low > 0 and math.isinf(stated.high)


def _met(bound: Candidate, taken: Candidate, field: str, both: Interval | None) -> Candidate:
    """Return a candidate of what an open-ended interval and a bound leave possible together."""
    if both is None:
        return taken
    changes: dict[str, Any] = {field: both}
    return replace(bound, scheme=say("packages.both", one=taken.origin, other=bound.origin), **changes)

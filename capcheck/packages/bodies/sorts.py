"""Sorts of part that never stand in each other's place, and part numbers of another sort than the other texts name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from msgspec.structs import replace

from capcheck.model import say
from capcheck.packages.candidate import MEASURED, SAID, Candidate, Trust
from capcheck.packages.names import chip_family
from capcheck.packages.tables import Family

if TYPE_CHECKING:
    from collections.abc import Iterable

_SORTS: Final = {
    family: sort
    for sort, families in (
        ("resistor", (Family.CHIP_RESISTOR, Family.MOLDED_RESISTOR)),
        (
            "capacitor",
            (
                Family.CHIP_CAPACITOR,
                Family.CHIP_POLARISED_CAPACITOR,
                Family.MOLDED_CAPACITOR,
                Family.TANTALUM,
                Family.CAN_CAPACITOR,
            ),
        ),
        ("coil", (Family.CHIP_INDUCTOR, Family.CHIP_FERRITE_BEAD, Family.MOLDED_INDUCTOR)),
        ("diode", (Family.CHIP_DIODE, Family.CHIP_LED, Family.MOLDED_LED, Family.MOLDED_DIODE, Family.SOD)),
        ("crystal", (Family.CRYSTAL, Family.OSCILLATOR)),
    )
    for family in families
}
"""Families of which no part is put in the place of another sort; a bead may stand where a coil does."""

_KINDS: Final = frozenset({"resistor", "capacitor", "inductor", "ferrite bead", "diode", "led", "tantalum", "crystal"})
"""Kinds of which every part is of one of the sorts."""
_NOTHING_STATED: Final[dict[str, Any]] = dict.fromkeys((*MEASURED, *SAID, "span_second", "family_key"))


_LEADED: Final = frozenset(
    (Family.SOIC, Family.SOP, Family.SOJ, Family.TSOP, Family.SOT, Family.QFN, Family.DFN, Family.SON)
)
_NO_BODY: Final[dict[str, Any]] = dict.fromkeys(
    ("length", "width", "height", "nominal_length", "nominal_width", "span", "span_second", "family", "family_key")
) | {"members": (), "alternatives": (), "questions": ()}


def other_sort(one: Candidate, other: Candidate) -> bool:
    """Whether a part number and another source name two sorts of part, such as a resistor and a capacitor."""
    if Trust.PART_NUMBER not in {one.trust, other.trust}:
        return False
    mine, theirs = _sort_of(one), _sort_of(other)
    return mine is not None and theirs is not None and mine != theirs


def against_kind(
    numbers: tuple[Candidate, ...], found: list[Candidate], ref_prefix: str, kind: str | None
) -> list[Candidate]:
    """Return the part numbers' candidates; where the *kind* of the other texts alone contradicts them, as contradicted.

    A resistor's number at reference C is one of two mistakes, and nothing says which, unless a footprint does.
    """
    mine = _SORTS.get(chip_family(kind)) if kind in _KINDS else None
    if mine is None or any(c.family_key in _SORTS for c in found):
        return list(numbers)
    return [_contradicted(n, ref_prefix, kind) if _sort_of(n) not in {None, mine} else n for n in numbers]


def of_a_transformer(found: list[Candidate], known: Iterable[Candidate]) -> list[Candidate]:
    """Return the candidates of a part that one of *known* says to be a transformer without the sizes of packages.

    A transformer "in SOIC-16" has the leads of one; its body is another, and mostly higher.
    """
    if not any(c.family_key is Family.TRANSFORMER for c in known):
        return found
    return [replace(c, **_NO_BODY) if c.trust is Trust.PACKAGE_NAME and c.family_key in _LEADED else c for c in found]


def of_a_module(found: list[Candidate], least: Candidate | None) -> list[Candidate]:
    """Return the candidates of a part without the heights of packages, where its sort *least* is higher than those.

    A power module "in QFN-41" has the lands of one; a coil stands in it.
    """
    if least is None or least.height is None:
        return found
    return [_of_any_height(c) if c.trust is Trust.PACKAGE_NAME and c.family_key in _LEADED else c for c in found]


def _of_any_height(package: Candidate) -> Candidate:
    bare = replace(package, members=tuple(map(_of_any_height, package.members)))
    return replace(bare, height=None) if bare.height is not None and bare.height.low <= 0 else bare


def _sort_of(candidate: Candidate) -> str | None:
    return None if candidate.family_key is None else _SORTS.get(candidate.family_key)


def _contradicted(number: Candidate, ref_prefix: str, kind: str | None) -> Candidate:
    said = say("packages.conflict of kind", number=number.origin, sort=_sort_of(number), letters=ref_prefix, kind=kind)
    return replace(number, contradicted=said, **_NOTHING_STATED)

"""The heads of a machine as its profile states them: what each takes and places, and what options change."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
import re
from collections.abc import Iterator, Sequence
from typing import Annotated, Final, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from capcheck.machines.nozzles import Nozzle
from capcheck.machines.part_ranges import LOWER, UPPER, PartRange, faults_of_ranges
from capcheck.packages import size_table
from capcheck.values import Angle, Force, Length, Mass, Number, PositiveLength, Rate

_STRICT = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

Supply = Literal["tape", "tray", "stick", "bowl"]
Takes = Literal["through-hole", "surface"]
"""What goes where, as benches state it too."""


def ordered(low: float | None, high: float | None, what: str) -> None:
    """Raise ValueError where the least of something is more than the greatest."""
    if low is not None and high is not None and low > high:
        raise ValueError(f"the least {what} ({low:g}) is more than the greatest ({high:g})")


def _metric_code(text: str) -> str:
    if re.fullmatch(r"\d{4,5}M|00[48]0\d{1,3}M", text) is None:
        raise ValueError(f'"{text}" is not a metric size code; write four digits and an M, like "0402M"')
    if text.removesuffix("M") not in size_table().chip_by_metric:
        raise ValueError(f'"{text}" is not the metric code of a chip size; write one like "0402M" or "0603M"')
    return text


def chip_codes() -> list[str]:
    """Return the metric size codes that a profile may name, as it writes them."""
    return [f"{code}M" for code in size_table().chip_by_metric]


def chip_sides(code: str) -> tuple[float, float]:
    """Return the nominal sides in mm of a chip, by the metric size code of a profile, longer one first."""
    size = size_table().chip_by_metric[code.removesuffix("M")]
    return size.nominal_length, size.nominal_width


_USUAL: Final = len("0402M")
"""Length of the size codes that everybody writes; longer ones name sizes between them."""


def chip_within(length: float, width: float) -> str | None:
    """Return the largest chip, by its usual code, that is no longer and no wider; None where every chip is larger."""
    fitting = [
        code
        for code in chip_codes()
        if len(code) == _USUAL
        if all(own <= side + 1e-9 for own, side in zip(chip_sides(code), (length, width), strict=True))
    ]
    return max(fitting, key=chip_sides, default=None)


def chip_of_length(length: float) -> str | None:
    """Return the usual code of the narrowest chip of a nominal length in mm; None where no chip has it."""
    alike = [code for code in chip_codes() if len(code) == _USUAL and abs(chip_sides(code)[0] - length) < 1e-9]
    return min(alike, key=chip_sides, default=None)


class Abilities(BaseModel):
    """What a head picks, sees and places; an option of the machine may state any of it anew."""

    model_config = _STRICT

    takes: tuple[Takes, ...] | None = Field(
        None, min_length=1, description='what the head places: "surface", "through-hole"; left out: "surface" alone'
    )
    nozzles: int | None = Field(None, strict=True, ge=1, le=1000, description="parts carried at once")
    nozzle_kinds: int | None = Field(
        None, strict=True, ge=1, le=1000, description="different nozzles that the changer holds"
    )
    nozzle: tuple[Nozzle, ...] | None = Field(
        None,
        min_length=1,
        description="the nozzles that the shop has for this head, each with the bodies that it holds",
    )
    smallest_chip: Annotated[str, AfterValidator(_metric_code)] | None = Field(
        None, description='smallest chip by metric size code, like "0402M" for 0.4 × 0.2 mm'
    )
    max_body_length: PositiveLength | None = Field(None, description="longest side of a body")
    max_body_width: PositiveLength | None = Field(None, description="shorter side of a body")
    max_part_height: PositiveLength | None = Field(None, description="tallest part")
    min_part_height: Length | None = Field(None, description="thinnest part")
    top_clearance: Length | None = Field(
        None, description="room above the board under the lowest part that this head carries, in place of the machine's"
    )
    max_part_mass: Mass | None = Field(None, description="heaviest part")
    max_lead_length: Length | None = Field(
        None, description="longest leads or pegs below the body, of parts that go into holes of the board"
    )
    min_force: Force | None = Field(None, description="least force with which the head can be set to place")
    max_force: Force | None = Field(None, description="greatest force with which the head can be set to place")
    max_pins: int | None = Field(
        None,
        strict=True,
        ge=1,
        le=100_000,
        description="most leads or balls of one part that the part camera recognises",
    )
    min_lead_pitch: Length | None = Field(None, description="least lead pitch that the part camera resolves")
    recognises_balls: bool | None = Field(None, description="whether the part camera finds the balls of a grid")
    min_ball_pitch: Length | None = Field(None, description="least ball pitch that the part camera resolves")
    min_ball_diameter: Length | None = Field(None, description="least ball diameter that the part camera resolves")
    coplanarity_check: bool | None = Field(None, description="whether the head measures lead and ball coplanarity")
    accuracy: Length | None = Field(None, description="placement accuracy as stated, ± at accuracy_sigma")
    accuracy_sigma: Number | None = Field(None, gt=0, description="number of sigmas at which the accuracy is stated")
    rotation_accuracy: Angle | None = Field(None, description="rotation accuracy, ± at accuracy_sigma")
    supplies: tuple[Supply, ...] | None = Field(
        None, min_length=1, description="forms of supply that the head picks from"
    )
    rated: Rate | None = Field(None, description="rated placements per hour of this head alone")
    range: tuple[PartRange, ...] | None = Field(
        None,
        min_length=1,
        description="limits and times that hang on the longer side of the body, smallest bodies first",
    )

    @model_validator(mode="after")
    def _nozzle_names_are_unique(self) -> Self:
        names = [nozzle.name for nozzle in self.nozzle or ()]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f'two nozzles of a head are named "{twice[0]}"; lists need a name for each')
        return self


class Head(Abilities):
    """A placement head: what it picks, sees and places."""

    name: str = Field(min_length=1, description="name of the head, unique in the machine")
    gantry: int = Field(
        1, strict=True, ge=1, le=1000, description="number of the gantry that carries the head; gantries take turns"
    )

    @model_validator(mode="after")
    def _ranges_meet(self) -> Self:
        faults = list(self.faults())
        if faults:
            raise ValueError("; ".join(faults))
        return self

    @property
    def inserts(self) -> bool:
        """Whether it places parts with leads through holes."""
        return "through-hole" in (self.takes or ())

    def faults(self) -> Iterator[str]:
        """Yield what contradicts itself in its limits, each with what to do."""
        own = {name: getattr(self, name) for name in ("max_body_length", "recognises_balls", *UPPER, *LOWER)}
        if self.range:
            yield from faults_of_ranges(self.range, own)
        yield from self._faults_of_sizes()
        if self.min_force is not None and self.max_force is not None and self.min_force > self.max_force:
            yield f"the least force ({self.min_force:g} N) is more than the greatest ({self.max_force:g} N)"
        if self.inserts and self.max_lead_length is None:
            yield 'it takes "through-hole" and does not say how long leads below the body may be; state max_lead_length'

    def _faults_of_sizes(self) -> Iterator[str]:
        """Yield what contradicts itself in the sizes of the parts that it takes."""
        least, most = self.min_part_height, self.max_part_height
        if least is not None and most is not None and least > most:
            yield f"the thinnest part ({least:g} mm) is thicker than the tallest ({most:g} mm); correct one of them"
        length = self.max_body_length
        if length is not None and self.smallest_chip is not None and chip_sides(self.smallest_chip)[0] > length:
            chip = f"the smallest chip ({self.smallest_chip}) is {chip_sides(self.smallest_chip)[0]:g} mm long"
            yield f"{chip}, the largest body {length:g} mm; correct one of them"


class HeadOption(Abilities):
    """An option of the machine, such as a finer camera: what heads with it state anew. A line says which it has."""

    name: str = Field(min_length=1, description="name of the option, as line files choose it")
    heads: tuple[str, ...] | None = Field(
        None, min_length=1, description="names of the heads that it changes; left out: all heads"
    )

    @property
    def changes(self) -> dict[str, object]:
        """What it states, by the name of the head's field."""
        stated = self.model_fields_set - {"name", "heads"}
        return {name: getattr(self, name) for name in type(self).model_fields if name in stated}

    def is_for(self, head: Head) -> bool:
        """Whether it changes the head."""
        return self.heads is None or head.name in self.heads


def fitted(heads: Sequence[Head], options: Sequence[HeadOption]) -> tuple[Head, ...]:
    """Return the heads with options, each of which states some limits anew.

    Raises ValueError, with what to do, where two options state one limit of a head, or a head contradicts itself.
    """
    found, faults = [], list[str]()
    for head in heads:
        mine = [option for option in options if option.is_for(head)]
        by_field: dict[str, HeadOption] = {}
        for option in mine:
            for name in option.changes:
                other = by_field.setdefault(name, option)
                if other is not option:
                    both = f'options "{other.name}" and "{option.name}" both state {name} of head "{head.name}"'
                    faults.append(f"{both}; a machine has one of them")
        changed = head.model_copy(update={name: getattr(option, name) for name, option in by_field.items()})
        with_what = " and ".join(f'"{option.name}"' for option in mine)
        faults += [f'head "{head.name}" with {with_what}: {fault}' for fault in changed.faults()] if mine else []
        found.append(changed)
    if faults:
        raise ValueError("; ".join(faults))
    return tuple(found)


def faults_of_options(options: Sequence[HeadOption], heads: Sequence[Head]) -> Iterator[str]:
    """Yield what contradicts itself in the options of a machine, each as a sentence with what to do."""
    names, there = [option.name for option in options], [head.name for head in heads]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f'two options are named "{name}"; line files need a name for each'
    for option in options:
        for name in option.heads or ():
            if name not in there:
                known = ", ".join(there)
                yield f'option "{option.name}" names a head "{name}" that the machine does not have; heads: {known}'
        if not option.changes:
            yield f'option "{option.name}" states nothing; write which limits of its heads are others with it'
        try:
            fitted(heads, [option])
        except ValueError as error:
            yield str(error)

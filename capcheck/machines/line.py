"""A line: machines in the order in which a board passes them, as ``NAME.line.toml``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Literal, Self

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, Field, model_validator

from capcheck.machines.head import Takes
from capcheck.machines.profile import MachineProfile
from capcheck.model import InputFile
from capcheck.values import (
    AREA,
    InputError,
    Number,
    Place,
    PositiveLength,
    PositiveTime,
    Problem,
    Problems,
    Quantity,
    line_of,
    load_toml,
    nearest,
    validate,
)

_STRICT = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

_Area = Annotated[float, Quantity(AREA, above=True)]
_Share = Annotated[Number, Field(gt=0, le=1)]
Inspection = Literal["paste", "optical", "X-ray"]


class Station(BaseModel):
    """A station of the line that places nothing: printer, oven, buffer."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the station")
    cycle: PositiveTime | None = Field(None, description="time from one board to the next")
    length: PositiveLength | None = Field(None, description="length along the line")


class Bench(BaseModel):
    """A bench of the line where people place parts, or a station for odd-form parts."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the bench")
    takes: tuple[Takes, ...] = Field(
        ("through-hole", "surface"), min_length=1, description="what goes there; of several benches to the first"
    )
    seconds: PositiveTime | None = Field(None, description="time in which one person places one part")
    people: int = Field(1, strict=True, ge=1, le=1000, description="people who place parts there at once")
    length: PositiveLength | None = Field(
        None, description="length along the line; left out: the bench stands beside it"
    )


class LineFile(BaseModel):
    """The content of a line file."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the line, as reports print it")
    note: str = Field("", description="anything a reader should know")
    machines: tuple[str, ...] = Field(
        min_length=1,
        description="machine profiles in the order of the boards' way, as paths beside this file",
    )
    options: dict[str, tuple[str, ...]] = Field(
        {},
        description='head and camera options that a machine of this line has: { "Placer 1" = ["fine camera"] }',
    )
    uptime: _Share | None = Field(
        None, description="share of the scheduled time in which the whole line runs; goes before those of machines"
    )
    inspection: tuple[Inspection, ...] | None = Field(
        None, description='inspection stations in or beside the line: "paste", "optical", "X-ray"'
    )
    hand_placement: bool | None = Field(None, description="whether a station for placing by hand belongs to the line")
    free_length: PositiveLength | None = Field(None, description="floor length there is for the whole line")
    free_area: _Area | None = Field(None, description="floor area there is for the line's machines, without aisles")
    station: tuple[Station, ...] = Field((), description="stations that place nothing, such as printer and oven")
    bench: tuple[Bench, ...] = Field((), description="benches for placing by hand, or for odd-form parts")

    @model_validator(mode="after")
    def _benches_agree(self) -> Self:
        if self.bench and self.hand_placement is False:
            raise ValueError(
                f'hand_placement is false, but there is the bench "{self.bench[0].name}"; remove one of them'
            )
        names = [bench.name for bench in self.bench] + [station.name for station in self.station]
        twice = sorted({name for name in names if names.count(name) > 1} & {bench.name for bench in self.bench})
        if twice:
            raise ValueError(f'two benches or stations are named "{twice[0]}"; reports need a name for each')
        return self


class Line(Struct, frozen=True):
    """A line with its machine profiles, and the files they came from."""

    name: str
    machines: tuple[MachineProfile, ...]
    file: LineFile | None
    """None where the line was put together from machine profiles alone: inspection and hand station are unknown."""
    inputs: tuple[InputFile, ...] = ()

    @property
    def stations(self) -> tuple[Station, ...]:
        """Printer, oven and whatever else places nothing; none where the line is of machine profiles alone."""
        return self.file.station if self.file is not None else ()

    @property
    def benches(self) -> tuple[Bench, ...]:
        """Benches where people place parts; none where the line is of machine profiles alone."""
        return self.file.bench if self.file is not None else ()

    @property
    def uptime(self) -> float | None:
        """Share of the scheduled time in which the whole line runs, as its file states; None where it does not."""
        return self.file.uptime if self.file is not None else None

    @property
    def inserts(self) -> bool:
        """Whether a head of the line places parts with leads through holes."""
        return any(head.inserts for machine in self.machines for head in machine.head)

    def options_of(self, machine: str) -> tuple[str, ...]:
        """Return the head and camera options that the line has on a machine, by the machine's name."""
        return self.file.options.get(machine, ()) if self.file is not None else ()

    @property
    def lengths(self) -> tuple[tuple[str, float | None], ...]:
        """By name what machines and stations take of the floor along the line, mm; None where it is not stated."""
        machines = [(machine.name, machine.floor_width) for machine in self.machines]
        # A bench without a length stands beside the line.
        benches = [(bench.name, bench.length) for bench in self.benches if bench.length is not None]
        return (*machines, *((station.name, station.length) for station in self.stations), *benches)

    @property
    def hand_placement(self) -> bool | None:
        """Whether a station for placing by hand is stated or there is a bench; None where nobody says."""
        return True if self.benches else self.file.hand_placement if self.file is not None else None

    @property
    def has_hand_station(self) -> bool:
        """Whether it is stated that what no head places can be placed by hand: a bench may take drilled parts alone."""
        stated = self.file is not None and self.file.hand_placement is True
        return stated or any("surface" in bench.takes for bench in self.benches)


def read_machine(path: str | Path) -> MachineProfile:
    """Return a machine profile. Raises :class:`InputError` naming file, line and key."""
    data, text = load_toml(Path(path), "machine profile")
    return validate(MachineProfile, data, str(path), text)


def _input_file(path: Path, role: str) -> InputFile:
    import hashlib

    return InputFile(str(path), role, hashlib.sha256(path.read_bytes()).hexdigest())


def _unique_names(machines: tuple[MachineProfile, ...], where: Place) -> None:
    names = [machine.name for machine in machines]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError.at(
            where,
            f'two machines are named "{twice[0]}"',
            "findings name machines",
            "give each copy of a profile a name of its own",
        )


def _read_all(paths: list[Path]) -> tuple[MachineProfile, ...]:
    machines: list[MachineProfile] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            machines.append(read_machine(path))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(machines)


def _with_options(
    machines: tuple[MachineProfile, ...], options: Mapping[str, Sequence[str]], where: Place
) -> tuple[MachineProfile, ...]:
    """Return the machines with the options that the line has on them, by their names."""
    problems = Problems()
    for name in options.keys() - {machine.name for machine in machines}:
        names = [machine.name for machine in machines]
        told = nearest(name, names) or f"use one of: {', '.join(names)}"
        problems.add(where, f'"{name}" is no machine of the line', "its options would be lost without a word", told)
    found = []
    for machine in machines:
        chosen, there = options.get(machine.name, ()), [option.name for option in machine.option]
        for name in chosen:
            if name not in there:
                remedy = nearest(name, there) or "add it to the profile, or leave it out here"
                problems.add(where, f'"{name}" is no option of {machine.name}', "its profile states none of it", remedy)
        try:
            found.append(machine.with_options(chosen))
        except ValueError as error:
            problems.add(where, f"{machine.name}: {error}", "no machine has both", "keep one of them")
    problems.raise_if_any()
    return tuple(found)


def read_line(path: str | Path) -> Line:
    """Return a line and its machines. Raises :class:`InputError` with the faults of all the files together."""
    path = Path(path)
    data, text = load_toml(path, "line file")
    file = validate(LineFile, data, str(path), text)
    paths = [path.parent / name for name in file.machines]
    machines = _read_all(paths)
    _unique_names(machines, Place(str(path), column="machines"))
    machines = _with_options(machines, file.options, Place(str(path), line_of(text, ("options",)), "options"))
    inputs = (_input_file(path, "line"), *(_input_file(p, "machine") for p in paths))
    return Line(file.name, machines, file, inputs)


def line_of_machines(paths: list[Path]) -> Line:
    """Return a line made of machine profiles alone, in the order given."""
    machines = _read_all(paths)
    _unique_names(machines, Place(str(paths[0])))
    return Line(" + ".join(m.name for m in machines), machines, None, tuple(_input_file(p, "machine") for p in paths))

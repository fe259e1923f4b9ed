"""A line: machines in the order in which a board passes them, as ``NAME.line.toml``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, Field

from capcheck.machines.profile import MachineProfile
from capcheck.model import InputFile
from capcheck.values import AREA, InputError, Place, PositiveLength, Problem, Quantity, Time, load_toml, validate

_STRICT = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

_Area = Annotated[float, Quantity(AREA, above=True)]
Inspection = Literal["paste", "optical", "X-ray"]


class Station(BaseModel):
    """A station of the line that places nothing: printer, oven, buffer."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the station")
    cycle: Time | None = Field(None, description="time from one board to the next")
    length: PositiveLength | None = Field(None, description="length along the line")


class LineFile(BaseModel):
    """The content of a line file."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the line, as reports print it")
    note: str = Field("", description="anything a reader should know")
    machines: tuple[str, ...] = Field(
        min_length=1,
        description="machine profiles in the order of the boards' way, as paths beside this file",
    )
    inspection: tuple[Inspection, ...] | None = Field(
        None, description='inspection stations in or beside the line: "paste", "optical", "X-ray"'
    )
    hand_placement: bool | None = Field(None, description="whether a station for placing by hand belongs to the line")
    free_length: PositiveLength | None = Field(None, description="floor length there is for the whole line")
    free_area: _Area | None = Field(None, description="floor area there is for the line's machines, without aisles")
    station: tuple[Station, ...] = Field((), description="stations that place nothing, such as printer and oven")


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
    def lengths(self) -> tuple[tuple[str, float | None], ...]:
        """By name what machines and stations take of the floor along the line, mm; None where it is not stated."""
        machines = [(machine.name, machine.floor_width) for machine in self.machines]
        return (*machines, *((station.name, station.length) for station in self.stations))

    @property
    def hand_placement(self) -> bool | None:
        """Whether a station for placing by hand belongs to the line; None where nobody says."""
        return self.file.hand_placement if self.file is not None else None

    @property
    def has_hand_station(self) -> bool:
        """Whether it is stated that a station for placing by hand belongs to the line."""
        return self.hand_placement is True


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


def read_line(path: str | Path) -> Line:
    """Return a line and its machines. Raises :class:`InputError` with the faults of all the files together."""
    path = Path(path)
    data, text = load_toml(path, "line file")
    file = validate(LineFile, data, str(path), text)
    paths = [path.parent / name for name in file.machines]
    machines = _read_all(paths)
    _unique_names(machines, Place(str(path), column="machines"))
    inputs = (_input_file(path, "line"), *(_input_file(p, "machine") for p in paths))
    return Line(file.name, machines, file, inputs)


def line_of_machines(paths: list[Path]) -> Line:
    """Return a line made of machine profiles alone, in the order given."""
    machines = _read_all(paths)
    _unique_names(machines, Place(str(paths[0])))
    return Line(" + ".join(m.name for m in machines), machines, None, tuple(_input_file(p, "machine") for p in paths))

"""The shop's or the repository's configuration: ``capcheck.toml``, or ``[tool.capcheck]`` in pyproject.toml.

The nearest file upwards from the board wins, as a whole; files are not mixed. Paths are relative to the file that
names them. Python files that it names run only if somebody stands in its folder or names it: a customer's package
that brings a configuration of its own runs nothing.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct, field
from pydantic import BaseModel, ConfigDict, Field, field_validator

from capcheck.values import InputError, Place, line_of, load_toml, nearest, validate

OWN_FILE: Final = "capcheck.toml"
SHARED_FILE: Final = "pyproject.toml"
_TABLE: Final = ("tool", "capcheck")
_STRICT: Final = ConfigDict(extra="forbid", frozen=True)

Unit = Literal["mm", "mil", "inch"]


class WaiverEntry(BaseModel):
    """One ``[[waiver]]``: a deviation that a reviewer accepted. Names may hold the wildcards ``*`` and ``?``."""

    model_config = _STRICT

    rule: str = Field(min_length=1, description="id of the rule, or a pattern")
    board: str = Field("*", description="name of the board, or a pattern")
    part: str = Field("*", description="reference such as L3, or a pattern; everything if left out")
    part_number: str = Field("*", description="part number, or a pattern")
    machine: str = Field("*", description="name of the machine, or a pattern")
    margin: str | None = Field(
        None, description='how far beyond its limit a finding may lie, such as "-2 mm"; any distance if left out'
    )
    reason: str = Field(min_length=1, description="why the deviation is acceptable")
    who: str = Field(min_length=1, description="who accepted it")
    until: dt.date = Field(description="last day on which the waiver holds, like 2027-03-31")


class ConfigurationFile(BaseModel):
    """The keys of a configuration. All may be left out."""

    model_config = _STRICT

    board: str | None = Field(None, description="folder or board.toml to check where no other is named")
    line: str | None = Field(None, description="line file, or one of the names under lines")
    lines: dict[str, str] = Field({}, description="line files by a short name")
    rules: tuple[str, ...] = Field((), description="folders or files with further rules")
    facts: tuple[str, ...] = Field((), description="Python files that declare further facts")
    libraries: tuple[str, ...] = Field((), description="package libraries of the shop, CSV or XLSX")
    select: tuple[str, ...] = Field((), description="ids or tags of the rules to answer; all if left out")
    ignore: tuple[str, ...] = Field((), description="ids or tags of the rules to leave out")
    limits: dict[str, dict[str, str | int | float]] = Field(
        {}, description='changed limits: part-height.reserve = "0.5 mm"'
    )
    outcomes: dict[str, Literal["fail", "warn"]] = Field({}, description='what a violation is: part-height = "warn"')
    strict: bool = Field(False, description="whether warnings and undecided rules fail too")
    product_class: Literal[1, 2, 3] | None = Field(
        None, description="class of product by IPC-A-610: 1 general, 2 dedicated service, 3 high performance"
    )
    units: Unit = Field("mm", description='unit in which reports print lengths: "mm", "mil" or "inch"')
    waiver: tuple[WaiverEntry, ...] = Field((), description="deviations that were accepted")

    @field_validator("limits", mode="before")
    @classmethod
    def _quoted_names(cls, value: object) -> object:
        """Read ``"part-height.reserve" = …``, in quotes, like the same without."""
        if not isinstance(value, dict):
            return value
        tables: dict[str, dict[str, object]] = {}
        for name, given in value.items():
            rule, dot, limit = str(name).partition(".")
            if dot and not isinstance(given, dict):
                tables.setdefault(rule, {})[limit] = given
            elif isinstance(given, dict):
                tables.setdefault(rule, {}).update(given)
            else:
                raise ValueError(f'limits are named rule.limit, "{name}" names no limit')
        return tables


class Configuration(Struct, frozen=True):
    """A configuration as read; without *path* it is empty and everything is at its default."""

    path: Path | None = None
    values: ConfigurationFile = field(default_factory=ConfigurationFile)
    text: str = ""
    prefix: tuple[str, ...] = ()
    runs_code: bool = True
    """Whether Python files that it names may run."""

    @property
    def folder(self) -> Path:
        """The folder that its paths are relative to."""
        return Path() if self.path is None else self.path.parent

    def beside(self, name: str) -> Path:
        """Return a path that the configuration names."""
        return self.folder / name

    def where(self, *keys: str | int) -> Place:
        """Return the place of a key, for messages: ``where("limits", "part-height")``."""
        if self.path is None:
            return Place("configuration", column=".".join(str(k) for k in keys))
        row = line_of(self.text, (*self.prefix, *keys))
        if row is None or (len(keys) > 1 and keys[0] == "limits"):
            row = _row_of_quoted(self.text, ".".join(map(str, keys[1:]))) or row
        return Place(str(self.path), row, ".".join(str(k) for k in keys if isinstance(k, str)) or None)

    @property
    def stated(self) -> frozenset[str]:
        """The keys that the file states."""
        return frozenset(self.values.model_fields_set)


def _row_of_quoted(text: str, name: str) -> int | None:
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith((f'"{name}"', f"'{name}'")):
            return number
    return None


def find_configuration(start: Path) -> Path | None:
    """Return the nearest configuration in the folder of *start* or above it; None if there is none.

    In one folder ``capcheck.toml`` comes before ``pyproject.toml``, which counts only with a ``[tool.capcheck]``.
    """
    folder = start.absolute()
    folder = folder if folder.is_dir() else folder.parent
    for place in (folder, *folder.parents):
        own, shared = place / OWN_FILE, place / SHARED_FILE
        if own.is_file():
            return _as_seen(own)
        if shared.is_file() and _holds_ours(shared):
            return _as_seen(shared)
    return None


def _as_seen(path: Path) -> Path:
    """Return *path* from the working directory where it is below it: shorter, and the same on every machine."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def _holds_ours(path: Path) -> bool:
    try:
        if b"capcheck" not in path.read_bytes():
            return False
    except OSError:
        return False
    data, _ = load_toml(path, "configuration")
    tool = data.get("tool")
    return isinstance(tool, dict) and "capcheck" in tool


def read_configuration(path: str | Path, *, runs_code: bool = True) -> Configuration:
    """Return the configuration in *path*, a ``capcheck.toml`` or a ``pyproject.toml`` with ``[tool.capcheck]``.

    Raises :class:`InputError` with every fault by line and key; an unknown key comes with the nearest known one.
    """
    path = Path(path)
    data, text = load_toml(path, "configuration")
    prefix: tuple[str, ...] = ()
    if path.name == SHARED_FILE:
        prefix = _TABLE
        data = data.get("tool", {}).get("capcheck")
        if not isinstance(data, dict):
            raise InputError.at(str(path), "holds no table [tool.capcheck]", remedy="add one")
    values = validate(ConfigurationFile, data, str(path), text, prefix)
    found = Configuration(path, values, text, prefix, runs_code)
    if values.line is not None and values.lines and values.line not in values.lines:
        near = nearest(values.line, values.lines)
        if near and not found.beside(values.line).exists():
            raise InputError.at(found.where("line"), f'there is no line "{values.line}"', remedy=near)
    return found


def configuration_of(board: str | Path | None, named: str | Path | None = None) -> Configuration:
    """Return the configuration *named*, else the nearest upwards from *board* (or from the working directory).

    One that was found, not named, runs Python files only if it is in the working directory or above it.
    """
    if named is not None:
        return read_configuration(named)
    path = find_configuration(Path(board) if board is not None else Path.cwd())
    if path is None:
        return Configuration()
    here = Path.cwd()
    return read_configuration(path, runs_code=here.is_relative_to(path.absolute().parent))

"""The shop's or the repository's configuration: ``capcheck.toml``, or ``[tool.capcheck]`` in pyproject.toml.

Files are not mixed: one holds as a whole. Paths are relative to the file that names them. Which one holds where none
is named is found by :mod:`capcheck.shop.in_force`.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct, field
from pydantic import BaseModel, ConfigDict, Field, field_validator

from capcheck.model import PanelAssumptions, Said
from capcheck.values import InputError, Place, PositiveLength, line_of, load_toml, nearest, validate

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


class LossEntry(BaseModel):
    """What the shop loses of parts of one size class, in ``[losses]``; what it leaves out stays as it ships."""

    model_config = _STRICT

    share: float | None = Field(None, ge=0, le=1, description="share of the parts needed, such as 0.02")
    least: int | None = Field(None, ge=0, le=1_000_000, description="parts, however few are needed")


class ConfigurationFile(BaseModel):
    """The keys of a configuration. All may be left out."""

    model_config = _STRICT

    board: str | None = Field(None, description="folder or board.toml to check where no other is named")
    line: str | None = Field(None, description="line file, or one of the names under lines")
    lines: dict[str, str] = Field({}, description="line files by a short name")
    rules: tuple[str, ...] = Field((), description="folders or files with further rules")
    facts: tuple[str, ...] = Field((), description="Python files that declare further facts")
    libraries: tuple[str, ...] = Field((), description="package libraries of the shop, CSV or XLSX")
    answers: str | None = Field(None, description="what customers have answered, CSV: written by capcheck answers")
    store: str | None = Field(
        None, description="the shop's store of parts and answers: a file, or a server such as postgresql://host/name"
    )
    customer: str = Field("", description="whose boards are checked, for what the store keeps of one customer")
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
    stencil_thickness: PositiveLength | None = Field(
        None, description="thickness of the shop's stencils; 0.1 to 0.13 mm is assumed where left out"
    )
    panel: PanelAssumptions = Field(
        PanelAssumptions(),
        description="the panel that is ordered where the line does not take a board as sent",
    )
    losses: dict[str, LossEntry] = Field(
        {}, description="parts lost by size class, where the shop knows its own: see capcheck lists order"
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


class NotObeyed(Struct, frozen=True):
    """A configuration that was found and does not hold, and what is said of it."""

    path: Path
    said: Said


class Configuration(Struct, frozen=True):
    """A configuration as read; without *path* it is empty and everything is at its default."""

    path: Path | None = None
    values: ConfigurationFile = field(default_factory=ConfigurationFile)
    text: str = ""
    prefix: tuple[str, ...] = ()
    is_named: bool = True
    """Whether the user named it, and it was not found: then the Python files that it names run."""
    board_folders: tuple[Path, ...] = ()
    """The board's own folders, in which nothing that was found is obeyed."""
    not_obeyed: tuple[NotObeyed, ...] = ()
    """Other configurations that were found on the way."""

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


def read_configuration(path: str | Path) -> Configuration:
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
    found = Configuration(path, values, text, prefix)
    if values.line is not None and values.lines and values.line not in values.lines:
        near = nearest(values.line, values.lines)
        if near and not found.beside(values.line).exists():
            raise InputError.at(found.where("line"), f'there is no line "{values.line}"', remedy=near)
    return found

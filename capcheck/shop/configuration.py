"""The shop's or the repository's configuration: ``capcheck.toml``, or ``[tool.capcheck]`` in pyproject.toml.

Files are not mixed: one holds as a whole. Paths are relative to the file that names them. Which one holds where none
is named is found by :mod:`capcheck.shop.in_force`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct, field
from msgspec.structs import replace
from pydantic import BaseModel, ConfigDict, Field, field_validator

from capcheck.model import PanelAssumptions, Said
from capcheck.shop.layers import BOARDS, CUSTOMERS, SHOP, Layer, laid_over, layer_name, layers_for, model_of, stated_in
from capcheck.values import InputError, Place, PositiveLength, Problem, line_of, load_toml, nearest, validate

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


class Assumed(BaseModel):
    """What counts as assumed of a board whose files do not say it, in ``[assumed]``."""

    model_config = _STRICT

    thickness: PositiveLength | None = Field(None, description="board thickness where board.toml states none")


class LayerFile(BaseModel):
    """What the shop, a customer and a board may each set; all may be left out."""

    model_config = _STRICT

    line: str | None = Field(None, description="line file, or one of the names under lines")
    rules: tuple[str, ...] = Field((), description="folders or files with further rules")
    libraries: tuple[str, ...] = Field((), description="package libraries of the shop, CSV or XLSX")
    select: tuple[str, ...] = Field((), description="ids or tags of the rules to answer; all if left out")
    ignore: tuple[str, ...] = Field((), description="ids or tags of the rules to leave out")
    limits: dict[str, dict[str, str | int | float]] = Field(
        {}, description='changed limits: fiducial-count.least = 3, or "0.5 mm" where it has a unit'
    )
    outcomes: dict[str, Literal["fail", "warn"]] = Field({}, description='what a violation is: part-height = "warn"')
    strict: bool = Field(False, description="whether warnings and undecided rules fail too")
    product_class: Literal[1, 2, 3] | None = Field(
        None, description="class of product by IPC-A-610: 1 general, 2 dedicated service, 3 high performance"
    )
    stencil_thickness: PositiveLength | None = Field(
        None, description="thickness of the stencil, for the shop's own rules: the fact board.stencil_thickness"
    )
    assumed: Assumed = Field(Assumed(), description="what counts as assumed of boards that do not say it")
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
        """Read ``"fiducial-count.least" = …``, in quotes, like the same without."""
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


class CustomerLayer(LayerFile):
    """What holds for one customer's boards, in ``[customers.NAME]``: it changes only what it names."""

    boards: tuple[str, ...] = Field((), description="folders or archives whose boards are this customer's")


class BoardLayer(LayerFile):
    """What holds for one board, or for all below a folder, in ``[boards."FOLDER"]``: it changes only what it names."""

    customer: str = Field("", description="whose board it is")
    board_file: str | None = Field(
        None, description="the shop's own board.toml of it, read instead of the folder's: see capcheck answers --into"
    )


class ConfigurationFile(LayerFile):
    """The keys of a configuration. All may be left out."""

    board: str | None = Field(None, description="folder or board.toml to check where no other is named")
    lines: dict[str, str] = Field({}, description="line files by a short name")
    facts: tuple[str, ...] = Field((), description="Python files that declare further facts")
    answers: str | None = Field(None, description="what customers have answered, CSV: written by capcheck answers")
    store: str | None = Field(
        None, description="the shop's store of parts and answers: a file, or a server such as postgresql://host/name"
    )
    customer: str = Field("", description="whose boards are checked, for what the store keeps of one customer")
    customers: dict[str, CustomerLayer] = Field({}, description="what else holds for the boards of a customer, by name")
    boards: dict[str, BoardLayer] = Field(
        {}, description="what else holds for a board, by its folder or archive from this file, and for all below it"
    )


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
    layers: tuple[Layer, ...] = (SHOP,)
    """Which of its layers *values* are laid over each other of, the outermost first."""
    customer: str = ""
    """Whose board the layers are for."""
    whole: ConfigurationFile | None = None
    """What the file states, all layers of it; None where no board's layers were laid over the shop's."""

    @property
    def folder(self) -> Path:
        """The folder that its paths are relative to."""
        return Path() if self.path is None else self.path.parent

    @property
    def as_written(self) -> ConfigurationFile:
        """What the file states, with the tables of all customers and boards."""
        return self.values if self.whole is None else self.whole

    def for_board(self, board: str | Path | None, customer: str = "") -> Configuration:
        """Return the configuration with what holds for the *board*, by its folder or archive, and for its customer."""
        whole = self.as_written
        layers, whose = layers_for(whole, self.folder, None if board is None else Path(board), customer)
        return replace(self, values=laid_over(whole, layers), layers=tuple(layers), customer=whose, whole=whole)

    def beside(self, name: str) -> Path:
        """Return a path that the configuration names."""
        return self.folder / name

    def layer_of(self, *keys: str | int) -> str:
        """Return the name of the layer whose value of a key holds."""
        return layer_name(self._stated_at(keys)[0])

    def states(self, *keys: str | int) -> bool:
        """Whether any layer in force states a key."""
        return any(stated_in(model_of(self.as_written, layer), keys) for layer in self.layers)

    def where(self, *keys: str | int) -> Place:
        """Return the place of a key, for messages: ``where("limits", "part-height")``."""
        if self.path is None:
            return Place("configuration", column=".".join(str(k) for k in keys))
        layer, own = self._stated_at(keys)
        path = *layer, *own
        row = line_of(self.text, (*self.prefix, *path))
        if len(own) > 1 and own[0] == "limits":
            # A limit may be written as one quoted key; where it is not, this finds the table that it stands in.
            quoted = line_of(self.text, (*self.prefix, *layer, "limits", ".".join(map(str, own[1:]))))
            row = max(row or 0, quoted or 0) or None
        return Place(str(self.path), row, ".".join(str(k) for k in path if isinstance(k, str)) or None)

    def _stated_at(self, keys: Sequence[str | int]) -> tuple[Layer, tuple[str | int, ...]]:
        """Return the innermost layer that states a key, and the key there: waivers of all layers count through."""
        inward = [(layer, model_of(self.as_written, layer)) for layer in reversed(self.layers)]
        if len(keys) == 2 and keys[0] == "waiver" and isinstance(keys[1], int):
            each = [(layer, number) for layer, model in inward for number in range(len(model.waiver))]
            layer, number = each[keys[1]] if keys[1] < len(each) else (SHOP, keys[1])
            return layer, ("waiver", number)
        return next((layer for layer, model in inward if stated_in(model, keys)), SHOP), tuple(keys)

    @property
    def stated(self) -> frozenset[str]:
        """The keys that are stated, in any layer in force."""
        return frozenset(self.values.model_fields_set)

    def every_layer(self) -> list[Layer]:
        """Return the layers of all customers and boards, the shop's first."""
        whole = self.as_written
        return [SHOP, *((CUSTOMERS, name) for name in whole.customers), *((BOARDS, name) for name in whole.boards)]

    def rule_paths(self) -> list[tuple[Layer, str]]:
        """Return what any layer names as rules, with that layer."""
        return [(layer, name) for layer in self.every_layer() for name in model_of(self.as_written, layer).rules]


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
    _refuse_misspelt_customers(found)
    return found


def _refuse_misspelt_customers(found: Configuration) -> None:
    """Raise :class:`InputError` where a board is of a customer whose name is nearly that of a table, and not it."""
    known = {name.casefold() for name in found.values.customers}
    problems = [
        Problem(
            Place(str(found.path), line_of(found.text, (*found.prefix, BOARDS, name, "customer"))),
            f'there is no customer "{layer.customer}"',
            "what is set for the customer would not hold for this board",
            near,
        )
        for name, layer in found.values.boards.items()
        if layer.customer.casefold() not in known and (near := nearest(layer.customer, found.values.customers))
    ]
    if problems:
        raise InputError(problems)

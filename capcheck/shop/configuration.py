"""The shop's or the repository's configuration: ``capcheck.toml``, or ``[tool.capcheck]`` in pyproject.toml.

Files are not mixed: one holds as a whole. Paths are relative to the file that names them. Which one holds where none
is named is found by :mod:`capcheck.shop.in_force`.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.model import Said
from capcheck.shop.configuration_file import ConfigurationFile
from capcheck.shop.layers import (
    BOARDS,
    CUSTOMERS,
    SHOP,
    Layer,
    laid_over,
    layer_name,
    layers_for,
    model_of,
    named_below,
    stated_in,
)
from capcheck.values import InputError, Place, Problem, line_of, load_toml, nearest, validate

OWN_FILE: Final = "capcheck.toml"
SHARED_FILE: Final = "pyproject.toml"
_TABLE: Final = ("tool", "capcheck")


class NotObeyed(Struct, frozen=True):
    """A configuration that was found and does not hold, and what is said of it."""

    path: Path
    said: Said


class Configuration(Struct, frozen=True):
    """A configuration as read; without *path* it is empty and everything is at its default."""

    path: Path | None = None
    values: ConfigurationFile = field(default_factory=ConfigurationFile.model_construct)
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

    def named_below(self, board: Path) -> list[Path]:
        """Return what lies below a *board*'s folder and is settled otherwise than it, by a layer of its own."""
        return named_below(self.as_written, self.folder, board)

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
    _refuse_two_of_one(found)
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


def _refuse_two_of_one(found: Configuration) -> None:
    """Raise :class:`InputError` where two tables are of one customer or one board, or two customers name one folder.

    Which of them would hold is nothing that anybody said.
    """
    tables: dict[tuple[str, str], str] = {}
    owners: dict[Path, str] = {}
    problems = []

    def twice(keys: Sequence[str], what: str) -> None:
        place = Place(str(found.path), line_of(found.text, (*found.prefix, *keys)))
        problems.append(Problem(place, what, "which of the two would hold is not said", "join them"))

    for name, layer in found.values.customers.items():
        if (first := tables.setdefault((CUSTOMERS, name.casefold()), name)) != name:
            twice((CUSTOMERS, name), f'the tables of customers "{first}" and "{name}" differ only in capitals')
        for folder in layer.boards:
            if (whose := owners.setdefault(found.beside(folder).resolve(), name)) != name:
                twice((CUSTOMERS, name, "boards"), f'"{folder}" is of customer {whose} and of customer {name}')
    for name in found.values.boards:
        if (first := tables.setdefault((BOARDS, str(found.beside(name).resolve())), name)) != name:
            twice((BOARDS, name), f'the tables of boards "{first}" and "{name}" are of one place')
    if problems:
        raise InputError(problems)

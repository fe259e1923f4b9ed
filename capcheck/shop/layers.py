"""Layers of a configuration: the shop's own keys, a customer's table over them, and a board's folder over both.

Each changes only what it names. Tables are laid over each other key by key; rules, libraries, waivers and what is left
out add up, the inner layer's first; anything else is replaced.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pydantic import BaseModel

from capcheck.intake import shown

if TYPE_CHECKING:
    from capcheck.shop.configuration_file import ConfigurationFile, LayerFile

Layer = tuple[str, ...]
"""The keys of a layer's table in the file: none for the shop's, else ``customers`` or ``boards`` and a name."""
SHOP: Final[Layer] = ()
CUSTOMERS: Final = "customers"
BOARDS: Final = "boards"
_REPLACED: Final = frozenset({"select"})
"""Lists that an inner layer replaces: what is answered, where a layer says so, is that alone."""


def layer_name(layer: Layer) -> str:
    """Return what a layer is called: ``shop``, ``customer Umbra``, ``board quotes/pump``."""
    if layer == SHOP:
        return "shop"
    return f"{'customer' if layer[0] == CUSTOMERS else 'board'} {layer[1]}"


def model_of(whole: ConfigurationFile, layer: Layer) -> LayerFile:
    """Return what a layer of a configuration states."""
    if layer == SHOP:
        return whole
    return (whole.customers if layer[0] == CUSTOMERS else whole.boards)[layer[1]]


def layers_for(whole: ConfigurationFile, folder: Path, board: Path | None, customer: str) -> tuple[list[Layer], str]:
    """Return the layers that hold for a board, the outermost first, and whose board it is.

    *folder* is what the paths of the configuration are relative to; *board* is a folder, a file or an archive. A
    *customer* that is named goes before what a board's folder says, and that before the whole configuration's.
    """
    own = _above(whole.boards, folder, board)
    stated = [whole.boards[name].customer for name in reversed(own) if whole.boards[name].customer]
    by_folder = {place: name for name, layer in whole.customers.items() for place in layer.boards}
    stated += [by_folder[place] for place in reversed(_above(by_folder, folder, board))]
    whose = customer or next(iter([*stated, whole.customer]))
    known = next((name for name in whole.customers if name.casefold() == whose.casefold()), None)
    of_customer = [] if known is None else [(CUSTOMERS, known)]
    return [SHOP, *of_customer, *((BOARDS, name) for name in own)], known or whose


def _above(names: Iterable[str], folder: Path, board: Path | None) -> list[str]:
    """Return the paths, as *names* relative to *folder*, at or above the board; the farthest first."""
    if board is None:
        return []
    # A customer's archive is known by where it lies, not by where it was unpacked.
    place = Path(shown(board)).absolute()
    at = [place, *place.parents, *(real := place.resolve()).parents, real]
    found = {name: (folder / name).resolve() for name in names}
    return sorted(
        (name for name, path in found.items() if path in at or (folder / name).absolute() in at),
        key=lambda name: len(found[name].parts),
    )


def named_below(whole: ConfigurationFile, folder: Path, board: Path) -> list[Path]:
    """Return what lies below a *board*'s folder and has a layer of its own there, by the paths of the configuration."""
    names = {*whole.boards, *(place for layer in whole.customers.values() for place in layer.boards)}
    place = Path(shown(board)).absolute()
    found: set[Path] = set()
    for name in names:
        for at, above in (((folder / name).absolute(), place), ((folder / name).resolve(), place.resolve())):
            if above in at.parents and (inside := board / at.relative_to(above)).exists():
                found.add(inside)
    return sorted(found)


def laid_over(whole: ConfigurationFile, layers: Sequence[Layer]) -> ConfigurationFile:
    """Return what the layers state together, the last of them before the others."""
    found: Any = reduce(_over, (model_of(whole, layer) for layer in layers))
    return whole.model_copy(update={key: getattr(found, key) for key in found.model_fields_set})


def _over(outer: Any, inner: Any, key: str = "") -> Any:  # noqa: ANN401  a value of a TOML file
    if isinstance(outer, BaseModel) and isinstance(inner, BaseModel):
        stated = {
            name: _over(getattr(outer, name), getattr(inner, name), name)
            if name in outer.model_fields_set
            else getattr(inner, name)
            for name in inner.model_fields_set
            if name in type(outer).model_fields and name not in {CUSTOMERS, BOARDS, "customer"}
        }
        return outer.model_copy(update=stated)
    if isinstance(outer, dict) and isinstance(inner, dict):
        return {
            **outer,
            **{name: _over(outer[name], value) if name in outer else value for name, value in inner.items()},
        }
    if isinstance(outer, tuple) and isinstance(inner, tuple) and key not in _REPLACED:
        return (*inner, *(value for value in outer if not (isinstance(value, str) and value in inner)))
    return inner


def stated_in(model: object, keys: Sequence[str | int]) -> bool:
    """Whether a layer states the key: ``("limits", "fiducial-count", "least")``."""
    if not keys:
        return True
    first, rest = keys[0], keys[1:]
    if isinstance(model, BaseModel):
        return first in model.model_fields_set and stated_in(getattr(model, str(first)), rest)
    if isinstance(model, dict):
        return first in model and stated_in(model[first], rest)
    return isinstance(first, int)

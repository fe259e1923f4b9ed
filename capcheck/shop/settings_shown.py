"""The settings in force as text: each value with the layer that it comes from, and the line where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.engine import shipped_rules
from capcheck.shop.settings import COMMAND_LINE, DEFAULT

if TYPE_CHECKING:
    from capcheck.shop.settings import Settings

_WIDEST: Final = 60


def shown(settings: Settings) -> list[str]:
    """Return a line for each value in force: key, value, the layer that it comes from, and where it stands there."""
    choice = settings.choice
    rows: list[tuple[str, str, str]] = []
    in_force = settings.configuration
    if in_force.path is not None:
        rows.append(("configuration", str(in_force.path), COMMAND_LINE if in_force.is_named else "found"))
    values = {
        "board": settings.board,
        "line": settings.line,
        "rules": [str(p) for p in (shipped_rules(), *choice.folders)],
        "facts": in_force.values.facts,
        "libraries": [str(p) for p in settings.libraries],
        "answers": settings.answers,
        "store": None if settings.store is None else _without_password(settings.store),
        "customer": settings.customer or None,
        "prefer": settings.prefer,
        "select": choice.select,
        "ignore": choice.ignore,
        "strict": settings.strict,
        "documentation": settings.documentation or None,
        "product_class": settings.product_class,
        "stencil_thickness": _length(settings.stencil_thickness),
        "units": settings.units,
    }
    rows += [(key, _text(value), settings.origins.get(key, DEFAULT)) for key, value in values.items()]
    if settings.board_file is not None:
        rows.append(("board_file", str(settings.board_file), _origin(settings, "board_file")))
    rows.append(
        ("assumed.thickness", _length(settings.assumed.thickness) or "-", _origin(settings, "assumed", "thickness"))
    )
    rows += [
        (f"panel.{name}", _text(getattr(settings.panel, name)), _origin(settings, "panel", name))
        for name in sorted(settings.panel.model_fields_set)
    ]
    rows += [
        (f"costs.{name}", _text(getattr(settings.costs, name)), _origin(settings, "costs", name))
        for name in sorted(settings.costs.model_fields_set - {"machines"})
    ]
    rows += [
        (f"costs.machines.{name}", _text(rate), _origin(settings, "costs", "machines", name))
        for name, rate in settings.costs.machines.items()
    ]
    for size, losses in in_force.values.losses.items():
        for name in sorted(losses.model_fields_set):
            rows.append((f"losses.{size}.{name}", str(getattr(losses, name)), _origin(settings, "losses", size, name)))
    for rule, limits in choice.limits.items():
        for name, value in limits.items():
            rows.append(
                (
                    f"limits.{rule}.{name}",
                    f"{value:g}" if isinstance(value, float) else str(value),
                    _origin(settings, "limits", rule, name),
                )
            )
    for rule, outcome in choice.outcomes.items():
        rows.append((f"outcomes.{rule}", outcome, _origin(settings, "outcomes", rule)))
    for number, waiver in enumerate(settings.waivers):
        text = f"{waiver.rule} until {waiver.until}, {waiver.who}: {waiver.reason}"
        rows.append((f"waiver {number + 1}", text, _origin(settings, "waiver", number)))
    rows += [("not obeyed", str(other.path), "") for other in in_force.not_obeyed]
    rows += [
        ("no such board", name, f"board {name}  {in_force.path}")
        for name in in_force.as_written.boards
        if not in_force.beside(name).exists()
    ]
    widths = [max(len(row[i]) for row in rows) for i in (0, 1)]
    widths[1] = min(widths[1], _WIDEST)
    return [f"{key:{widths[0]}}  {value:{widths[1]}}  {place}".rstrip() for key, value, place in rows]


def _origin(settings: Settings, *keys: str | int) -> str:
    """Return the layer of a value of a table, and where it stands."""
    in_force = settings.configuration
    if keys[0] == "limits" and keys[2] in settings.choice.for_this_run.get(str(keys[1]), {}):
        return COMMAND_LINE
    if not in_force.states(*keys):
        return DEFAULT
    where = in_force.where(*keys)
    return f"{in_force.layer_of(*keys)}  {where.file}" + ("" if where.row is None else f":{where.row}")


def _length(value_mm: float | None) -> str | None:
    return None if value_mm is None else f"{value_mm:g} mm"


def _without_password(store: str) -> str:
    scheme, separator, rest = store.partition("://")
    if not separator:
        return store
    return f"{scheme}://{rest.rpartition('@')[0].partition(':')[0]}@{rest.rpartition('@')[2]}" if "@" in rest else store


def _text(value: object) -> str:
    if value is None or (isinstance(value, list | tuple) and not value):
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)

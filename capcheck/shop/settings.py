"""What is in force for a run: the command line, else the configuration, else the default; each with its origin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.engine import choose, load_rules, rule_files, shipped_rules
from capcheck.facts import FACTS, Catalogue
from capcheck.model import PanelAssumptions
from capcheck.shop.configuration import Configuration, Unit, WaiverEntry
from capcheck.shop.permission import refuse_code
from capcheck.values import InputError, Place, Problem, nearest

if TYPE_CHECKING:
    from capcheck.engine import Level, Rule

COMMAND_LINE: Final = "command line"
DEFAULT: Final = "default"


class Choice(Struct, frozen=True):
    """Which rules are answered, and how: folders beside the one that ships, ids or tags, limits and outcomes changed.

    *origin* is the configuration that changes them, for messages.
    """

    folders: Sequence[Path] = ()
    select: Sequence[str] = ()
    ignore: Sequence[str] = ()
    limits: Mapping[str, Mapping[str, str | float]] = field(default_factory=dict)
    catalogue: Catalogue = FACTS
    outcomes: Mapping[str, Level] = field(default_factory=dict)
    origin: Configuration = field(default_factory=Configuration)
    for_this_run: Mapping[str, Mapping[str, str | float]] = field(default_factory=dict)
    """Those of the limits that the command line changes, whatever the configuration says of them."""

    def where_limit(self, rule: str, limit: str) -> Place:
        """Return where a limit is changed."""
        named = self.for_this_run.get(rule, {})
        if limit in named or (named and not limit):
            return Place("--limit", column=f"{rule}.{limit}" if limit else rule)
        return self.origin.where("limits", rule, *([limit] if limit else []))


def all_rules(choice: Choice) -> list[Rule]:
    """Return the rules that ship and those of the choice's folders, with limits and outcomes changed.

    Raises :class:`~capcheck.values.InputError`.
    """
    files = rule_files([shipped_rules(), *choice.folders])
    rules = load_rules(files, choice.catalogue, choice.limits, choice.where_limit)
    known = {rule.id for rule in rules}
    unknown = [name for name in choice.outcomes if name not in known]
    if unknown:
        raise InputError(
            Problem(
                choice.origin.where("outcomes", name),
                f'there is no rule "{name}"',
                remedy=nearest(name, known) or "see: capcheck rules",
            )
            for name in unknown
        )
    return [rule.with_outcome(choice.outcomes[rule.id]) if rule.id in choice.outcomes else rule for rule in rules]


def chosen_rules(choice: Choice) -> list[Rule]:
    """Return what the choice leaves of :func:`all_rules`. Raises :class:`~capcheck.values.InputError`."""
    return choose(all_rules(choice), choice.select, choice.ignore)


class Settings(Struct, frozen=True):
    """Everything that a check depends on beside the board's own files."""

    board: Path | None = None
    line: Path | None = None
    libraries: Sequence[Path] = ()
    answers: Path | None = None
    store: str | None = None
    """A file or the address of a server; None where the shop has no store."""
    customer: str = ""
    choice: Choice = field(default_factory=Choice)
    strict: bool = False
    product_class: int | None = None
    stencil_thickness: float | None = None
    """In mm."""
    units: Unit = "mm"
    panel: PanelAssumptions = field(default_factory=PanelAssumptions)
    waivers: Sequence[WaiverEntry] = ()
    configuration: Configuration = field(default_factory=Configuration)
    origins: Mapping[str, str] = field(default_factory=dict)


def settle(
    configuration: Configuration,
    *,
    board: str | Path | None = None,
    line: str | Path | None = None,
    machines: bool = False,
    libraries: Sequence[str | Path] = (),
    store: str | None = None,
    customer: str = "",
    rules: Sequence[str | Path] = (),
    select: Sequence[str] = (),
    ignore: Sequence[str] = (),
    strict: bool = False,
    units: Unit | None = None,
    limits: Mapping[str, Mapping[str, str | float]] | None = None,
) -> Settings:
    """Return the settings: what is given here wins over *configuration*, key by key.

    *machines* says that machine profiles were named, which leaves no room for a line. *line* may be one of the
    configuration's names. *limits* go before the configuration's, limit by limit. Raises
    :class:`~capcheck.values.InputError`.
    """
    values = configuration.values
    given: dict[str, object] = {
        "board": board,
        "line": line,
        "libraries": libraries,
        "store": store,
        "customer": customer,
        "rules": rules,
        "select": select,
        "ignore": ignore,
        "strict": strict,
        "units": units,
    }
    origins = {
        key: COMMAND_LINE if given.get(key) else _origin(configuration, key)
        for key in type(values).model_fields
        if key not in {"lines", "waiver"}
    }
    if machines:
        origins["line"] = COMMAND_LINE
    folders = [Path(p) for p in rules] or [configuration.beside(p) for p in values.rules]
    refuse_code(configuration, [Path(p) for p in rules])
    choice = Choice(
        folders=folders,
        select=tuple(select) or values.select,
        ignore=tuple(ignore) or values.ignore,
        limits=_changed(values.limits, limits or {}),
        catalogue=_catalogue(configuration),
        outcomes=values.outcomes,
        origin=configuration,
        for_this_run=limits or {},
    )
    return Settings(
        board=Path(board) if board else configuration.beside(values.board) if values.board else None,
        line=None if machines else _line(configuration, line),
        libraries=[Path(p) for p in libraries] or [configuration.beside(p) for p in values.libraries],
        answers=configuration.beside(values.answers) if values.answers else None,
        store=store or _store(configuration),
        customer=customer or values.customer,
        choice=choice,
        strict=strict or values.strict,
        product_class=values.product_class,
        stencil_thickness=values.stencil_thickness,
        units=units or values.units,
        panel=values.panel,
        waivers=values.waiver,
        configuration=configuration,
        origins=origins,
    )


def _changed(
    stated: Mapping[str, Mapping[str, str | float]], for_this_run: Mapping[str, Mapping[str, str | float]]
) -> dict[str, dict[str, str | float]]:
    """Return the limits that are stated, with those of this run in the place of theirs."""
    rules = {*stated, *for_this_run}
    return {rule: {**stated.get(rule, {}), **for_this_run.get(rule, {})} for rule in sorted(rules)}


def _store(configuration: Configuration) -> str | None:
    """Return where the configuration's store is: a file lies beside it, a server has an address."""
    stated = configuration.values.store
    if stated is None or "://" in stated:
        return stated
    return str(configuration.beside(stated))


def _origin(configuration: Configuration, key: str) -> str:
    return str(replace(configuration.where(key), column=None)) if key in configuration.stated else DEFAULT


def _line(configuration: Configuration, given: str | Path | None) -> Path | None:
    lines = configuration.values.lines
    if given is not None:
        named = str(given)
        if named in lines:
            return configuration.beside(lines[named])
        if lines and not Path(given).exists() and (hint := nearest(named, lines)):
            raise InputError.at("--line", f'there is no line "{named}"', remedy=hint)
        return Path(given)
    stated = configuration.values.line
    if stated is not None:
        return configuration.beside(lines.get(stated, stated))
    if len(lines) > 1:
        raise InputError.at(
            configuration.where("lines"), "names several lines", remedy=f"say which: --line {next(iter(lines))}"
        )
    return configuration.beside(next(iter(lines.values()))) if lines else None


def _catalogue(configuration: Configuration) -> Catalogue:
    """Return the catalogue with the shop's facts."""
    files = [configuration.beside(name) for name in configuration.values.facts]
    if not files:
        return FACTS
    from capcheck.facts import shop_catalogue

    return shop_catalogue(files)


def shown(settings: Settings) -> list[str]:
    """Return a line for each value in force: key, value, and where it comes from."""
    choice = settings.choice
    rows: list[tuple[str, str, str]] = []
    origin = settings.origins
    in_force = settings.configuration

    def add(key: str, value: object) -> None:
        rows.append((key, _text(value), origin.get(key, DEFAULT)))

    if in_force.path is not None:
        rows.append(("configuration", str(in_force.path), COMMAND_LINE if in_force.is_named else "found"))
    add("board", settings.board)
    add("line", settings.line)
    add("rules", [str(p) for p in (shipped_rules(), *choice.folders)])
    add("facts", settings.configuration.values.facts)
    add("libraries", [str(p) for p in settings.libraries])
    add("answers", settings.answers)
    add("store", None if settings.store is None else _without_password(settings.store))
    add("customer", settings.customer or None)
    add("select", choice.select)
    add("ignore", choice.ignore)
    add("strict", settings.strict)
    add("product_class", settings.product_class)
    thickness = settings.stencil_thickness
    add("stencil_thickness", None if thickness is None else f"{thickness:g} mm")
    add("units", settings.units)
    rows += [
        (f"panel.{name}", _text(getattr(settings.panel, name)), _place(in_force.where("panel", name)))
        for name in sorted(settings.panel.model_fields_set)
    ]
    rows += [
        (f"losses.{name}", ", ".join(f"{k} {v}" for k, v in row.model_dump(exclude_unset=True).items()), place)
        for name, row in in_force.values.losses.items()
        for place in [_place(in_force.where("losses", name))]
    ]
    for rule, limits in choice.limits.items():
        for name, value in limits.items():
            rows.append((f"limits.{rule}.{name}", str(value), _place(choice.where_limit(rule, name))))
    for rule, outcome in choice.outcomes.items():
        rows.append((f"outcomes.{rule}", outcome, _place(choice.origin.where("outcomes", rule))))
    for number, waiver in enumerate(settings.waivers):
        text = f"{waiver.rule} until {waiver.until}, {waiver.who}: {waiver.reason}"
        rows.append((f"waiver {number + 1}", text, _place(choice.origin.where("waiver", number))))
    rows += [("not obeyed", str(other.path), "") for other in in_force.not_obeyed]
    widths = [max(len(row[i]) for row in rows) for i in (0, 1)]
    widths[1] = min(widths[1], 60)
    return [f"{key:{widths[0]}}  {value:{widths[1]}}  {place}" for key, value, place in rows]


def _without_password(store: str) -> str:
    scheme, separator, rest = store.partition("://")
    if not separator:
        return store
    return f"{scheme}://{rest.rpartition('@')[0].partition(':')[0]}@{rest.rpartition('@')[2]}" if "@" in rest else store


def _place(where: Place) -> str:
    if where.file == "--limit":
        return COMMAND_LINE
    return where.file if where.row is None else f"{where.file}:{where.row}"


def _text(value: object) -> str:
    if value is None or (isinstance(value, list | tuple) and not value):
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)

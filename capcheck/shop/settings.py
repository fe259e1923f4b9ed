"""What is in force for a run: the command line, else the configuration, else the default; each with its origin."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.engine import (
    Level,
    PythonRule,
    Rule,
    choose,
    load_rules,
    rule_files,
    rule_files_there,
    rules_made,
    shipped_rules,
    table_files,
)
from capcheck.facts import FACTS, Catalogue
from capcheck.model import PanelAssumptions
from capcheck.shop.configuration import Configuration
from capcheck.shop.configuration_file import Assumed, Keeper, Unit, WaiverEntry
from capcheck.shop.costs import Costs
from capcheck.shop.layers import BOARDS, layer_name
from capcheck.shop.permission import refuse_code
from capcheck.values import InputError, Place, Problem, nearest

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
    made: Sequence[PythonRule | Mapping[str, object]] = ()
    """Rules made in code, beside those of files."""
    for_this_run: Mapping[str, Mapping[str, str | float]] = field(default_factory=dict)
    """Those of the limits that the caller changes, whatever the configuration says of them."""
    limits_named: str = "--limit"
    """What the caller gives those by, for messages."""

    def where_limit(self, rule: str, limit: str) -> Place:
        """Return where a limit is changed."""
        named = self.for_this_run.get(rule, {})
        if limit in named or (named and not limit):
            return Place(self.limits_named, column=f"{rule}.{limit}" if limit else rule)
        return self.origin.where("limits", rule, *([limit] if limit else []))


def all_rules(choice: Choice) -> list[Rule]:
    """Return the rules that ship and those of the choice's folders, with limits and outcomes changed.

    Raises :class:`~capcheck.values.InputError`.
    """
    files = rule_files([shipped_rules(), *choice.folders])
    made = rules_made(choice.made, choice.catalogue, choice.limits) if choice.made else []
    of_files = {name: limits for name, limits in choice.limits.items() if name not in {rule.id for rule in made}}
    rules = load_rules(files, choice.catalogue, of_files, choice.where_limit)
    taken = {rule.id: rule for rule in rules} if made else {}
    if twice := [rule for rule in made if rule.id in taken]:
        where = taken[twice[0].id]
        raise InputError.at(
            twice[0].file, f'the id "{twice[0].id}" is taken by {where.file}:{where.row}', remedy="choose another id"
        )
    rules += made
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


def rules_that_ship() -> list[Rule]:
    """Return the rules that ship, with the limits and outcomes that they ship with."""
    return all_rules(Choice())


def chosen_rules(choice: Choice) -> list[Rule]:
    """Return what the choice leaves of :func:`all_rules`. Raises :class:`~capcheck.values.InputError`."""
    return choose(all_rules(choice), choice.select, choice.ignore)


class Settings(Struct, frozen=True):
    """Everything that a check depends on beside the board's own files."""

    board: Path | None = None
    board_file: Path | None = None
    """The shop's own board.toml of the board, read instead of the folder's."""
    line: Path | None = None
    libraries: Sequence[Path] = ()
    answers: Path | None = None
    store: str | None = None
    """A file or the address of a server; None where the shop has no store."""
    customer: str = ""
    prefer: Keeper | None = None
    """Which is believed where libraries and store differ; None where both count."""
    choice: Choice = field(default_factory=Choice)
    strict: bool = False
    documentation: str = ""
    """The address below which the reference is found; blank where there is none."""
    product_class: int | None = None
    stencil_thickness: float | None = None
    """In mm, as far as the shop states it."""
    units: Unit = "mm"
    assumed: Assumed = field(default_factory=Assumed)
    panel: PanelAssumptions = field(default_factory=PanelAssumptions)
    costs: Costs = field(default_factory=Costs)
    waivers: Sequence[WaiverEntry] = ()
    configuration: Configuration = field(default_factory=Configuration)
    origins: Mapping[str, str] = field(default_factory=dict)
    again: Callable[..., Settings] | None = None
    """Settles for another board by the same configuration and command line."""

    def of_board(self, board: str | Path) -> Settings:
        """Return what holds for a board of the same run, by the layers that are its own."""
        return replace(self, board=Path(board)) if self.again is None else self.again(board=board)

    def files(self) -> list[tuple[Path, str]]:
        """Return every file of the shop's that a check hangs on, beside its line, each with its role, as far as there.

        They are configuration, rules with their tables, facts, libraries, answers, and the shop's own board.toml. The
        line's are known once it is read (:class:`~capcheck.machines.Line`), and a store changes while it is used.
        A folder that holds no rules has none here; a check says so.
        """
        rules = rule_files_there(self.choice.folders)
        facts = [self.configuration.beside(name) for name in self.configuration.values.facts]
        found = [
            *((path, "rules") for path in (*rules, *table_files(rules))),
            *((path, "facts") for path in facts),
            (self.configuration.path, "configuration"),
            *((path, "library") for path in self.libraries),
            (self.answers, "answers"),
            (self.board_file, "board"),
        ]
        return [(path, role) for path, role in found if path is not None and path.is_file()]

    @property
    def layers(self) -> tuple[object, ...]:
        """What is another one where another board of the same run is settled otherwise."""
        return self.configuration.layers, self.customer


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
    place: str | Path | None = None,
) -> Settings:
    """Return the settings: what is given here wins over *configuration*, key by key, and a layer of it over the outer.

    Which layers hold is told by the *place* where the board's files came from, else by the *board*, and by the
    *customer*. *machines* says that machine profiles were named, which leaves no room for a line. *line* may be one of
    the configuration's names. *limits* go before the configuration's, limit by limit. Raises
    :class:`~capcheck.values.InputError`.
    """
    whole = configuration.as_written
    given_board = place or board or (configuration.beside(whole.board) if whole.board else None)
    configuration = configuration.for_board(given_board, customer)
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
        if key not in {"lines", "waiver", "customers", "boards"}
    }
    if not customer and configuration.customer != values.customer:
        origins["customer"] = _whose(configuration)
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
        board_file=_board_file(configuration),
        line=None if machines else _line(configuration, line),
        libraries=[Path(p) for p in libraries] or [configuration.beside(p) for p in values.libraries],
        answers=configuration.beside(values.answers) if values.answers else None,
        store=store or _store(configuration),
        customer=configuration.customer,
        prefer=values.prefer,
        choice=choice,
        strict=strict or values.strict,
        documentation=values.documentation,
        product_class=values.product_class,
        stencil_thickness=values.stencil_thickness,
        units=units or values.units,
        assumed=values.assumed,
        panel=values.panel,
        costs=values.costs,
        waivers=values.waiver,
        configuration=configuration,
        origins=origins,
        again=partial(
            settle,
            configuration,
            line=line,
            machines=machines,
            libraries=libraries,
            store=store,
            customer=customer,
            rules=rules,
            select=select,
            ignore=ignore,
            strict=strict,
            units=units,
            limits=limits,
        ),
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


def _board_file(configuration: Configuration) -> Path | None:
    boards = (configuration.as_written.boards[layer[1]] for layer in configuration.layers if layer[:1] == (BOARDS,))
    named = [board.board_file for board in boards if board.board_file is not None]
    return configuration.beside(named[-1]) if named else None


def _whose(configuration: Configuration) -> str:
    """Return the layer that says whose board it is: its folder's, else the customer's own, which names the folder."""
    inward = [layer for layer in reversed(configuration.layers) if layer]
    of_board = (layer for layer in inward if layer[0] == BOARDS and configuration.as_written.boards[layer[1]].customer)
    return layer_name(next(of_board, inward[-1]))


def _origin(configuration: Configuration, key: str) -> str:
    if key not in configuration.stated:
        return DEFAULT
    return f"{configuration.layer_of(key)}  {replace(configuration.where(key), column=None)}"


def named_line(configuration: Configuration, name: str | Path) -> Path:
    """Return the line file of a name of the configuration, or the file itself. Raises InputError."""
    return _line(configuration, name) or Path(name)


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

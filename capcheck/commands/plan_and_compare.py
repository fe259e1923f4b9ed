"""``plan`` and ``compare``: who places what, how fast, and which line suits."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    Once,
    add_config,
    add_rules,
    add_store,
    configuration_for,
    positive,
    settings_of,
    share,
    warn_of_not_obeyed,
)
from capcheck.commands.found_once import FoundOnce, as_paper, deliver_each
from capcheck.commands.output import (
    add_format,
    add_full,
    add_outputs,
    add_quiet,
    deliver,
    endings_of,
    outputs_of,
    refuse_quiet,
    width_for,
)
from capcheck.commands.progress import Searching

if TYPE_CHECKING:
    from capcheck.checking import Prepared
    from capcheck.planning import Planned, PlanSettings, Supply

CRITERIA: Final = ("cycle", "output per area", "length", "machines", "cost")

_PLAN_SECONDS: Final = 10.0
_WHAT_IF_SECONDS: Final = 20.0
_COMPARE_SECONDS: Final = 60.0


def _common(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "boards", nargs="+", metavar="PATH[=N]", help="a board's folder or board.toml, and how many of it a year"
    )
    parser.add_argument("--library", action="append", default=[], metavar="FILE", help="package library of the shop")
    add_store(parser)
    add_rules(parser)
    add_config(parser)
    parser.add_argument("--strict", action="store_true", help="what warns or is undecided fails too")
    parser.add_argument("--no-split", action="store_true", help="a part number stands on one machine only")
    parser.add_argument(
        "--set-up",
        choices=("auto", "common", "each"),
        default="auto",
        help="one set-up for all sides and boards, or each; auto: as few as fit",
    )
    parser.add_argument(
        "--hours-per-year", type=positive, metavar="H", help="scheduled hours, to set against the demand"
    )
    parser.add_argument(
        "--uptime",
        type=share,
        metavar="SHARE",
        help="share of those hours in which a line runs, whatever its file says",
    )
    parser.add_argument(
        "--time-limit",
        type=positive,
        metavar="S",
        help="seconds for all searches together, then the best so far is taken; default 10, --what-if 20, compare 60",
    )
    parser.add_argument(
        "--reels", metavar="FILE", type=Path, help="CSV with part number and parts per container, to tell refills"
    )
    parser.add_argument(
        "--hand-seconds",
        type=positive,
        metavar="S",
        help="time to place one part by hand; default: hand_seconds of [costs]",
    )
    parser.add_argument(
        "--progress",
        action="store_true",
        help="report the progress of the search on standard error, even if that is not a terminal",
    )
    add_outputs(parser, more="; all show what one search found")
    add_quiet(parser)


def _boards(texts: list[str]) -> tuple[list[str], list[float | None]]:
    from capcheck.values import InputError

    paths: list[str] = []
    yearly: list[float | None] = []
    for text in texts:
        path, mark, number = text.rpartition("=")
        if not mark or Path(text).exists():
            paths.append(text)
            yearly.append(None)
            continue
        try:
            yearly.append(float(number))
        except ValueError:
            raise InputError.at(
                "command line", f'"{number}" is not a yearly quantity', remedy=f"write {path}=5000"
            ) from None
        paths.append(path)
    return paths, yearly


def _settings(arguments: argparse.Namespace, time_limit: float) -> PlanSettings:
    from capcheck.planning import PlanSettings

    return PlanSettings(
        split=not arguments.no_split,
        set_up=arguments.set_up,
        hours_per_year=arguments.hours_per_year,
        uptime=arguments.uptime,
        time_limit=arguments.time_limit or time_limit,
    )


def _shop(arguments: argparse.Namespace, boards: list[str]) -> Prepared:
    """Return what holds for the boards: rules, limits, waivers, libraries, as a check of each would have it."""
    from capcheck.checking import prepare
    from capcheck.shop import within

    refuse_quiet(arguments)
    outputs_of(arguments, endings_of(arguments.formats))  # before any work
    arguments.paths = boards
    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    # A line may be of a board's own layer: where there is one board, its own holds for what is not named.
    shop = prepare(settings_of(arguments, configuration, boards[0] if len(boards) == 1 else None), None)
    if arguments.hand_seconds is None and (stated := within(shop.settings.costs.hand_seconds)) is not None:
        arguments.hand_seconds = stated.high
    return shop


def _plan_arguments(parser: argparse.ArgumentParser) -> None:
    _common(parser)
    help_ = "line file, or a name of the configuration; default: the configuration's"
    parser.add_argument("--line", action=Once, metavar="FILE", help=help_)
    parser.add_argument("--sums", action="store_true", help="in the text: every second as a sum to be redone by hand")
    add_full(parser, "show everything, also of several boards by set-up, machine and part number")
    parser.add_argument("--what-if", action="store_true", help="also try single changes, and say what each brings")
    parser.add_argument(
        "--spare",
        action="append",
        default=[],
        type=Path,
        metavar="PATH",
        help="machine profile, or a folder of them, to try as an additional machine with --what-if",
    )
    parser.add_argument(
        "--break-even",
        action="store_true",
        help="also plan one set-up for all and one each: from which batch is the latter quicker?",
    )
    add_format(parser, ("text", "json", "html", "pdf", "xlsx", "quote", "quote-html"))
    parser.add_argument(
        "--set-up-list",
        metavar="FILE",
        type=Path,
        help="write machine, slot, part, tape, references: as HTML or PDF if the name ends so, else as CSV",
    )
    parser.add_argument("--hand-list", metavar="FILE", type=Path, help="write what is placed by hand, likewise")
    parser.add_argument("--quote", metavar="FILE", type=Path, help="write the quote sheet: likewise, else as text")


def _plan(arguments: argparse.Namespace) -> int:
    from capcheck.checking import devices_of, exit_code_of
    from capcheck.planning import plan
    from capcheck.values import InputError

    boards, yearly = _boards(arguments.boards)
    shop = _shop(arguments, boards)
    line = devices_of(shop.settings)
    if line is None:
        raise InputError.at("--line", "is needed: the configuration names no line", remedy="name a line file")
    longer = arguments.what_if or arguments.break_even
    with Searching(arguments) as search:
        planned = plan(
            boards,
            line,
            per_year=yearly,
            settings=_settings(arguments, _WHAT_IF_SECONDS if longer else _PLAN_SECONDS),
            changes=arguments.what_if,
            break_even=arguments.break_even,
            shop=shop,
            supply=_supply(arguments),
            spare=[profile for path in arguments.spare for profile in _profiles(path)],
            progress=search.tell,
        )
    inputs: list[str | Path] = [file.path for report in planned.reports for file in report.inputs]
    inputs += arguments.spare
    _deliver_plan(arguments, planned, inputs)
    _deliver_lists(arguments, planned, inputs)
    return int(exit_code_of(planned.plan.verdict, strict=shop.settings.strict))


def _deliver_plan(arguments: argparse.Namespace, planned: Planned, inputs: list[str | Path]) -> None:
    from capcheck import report

    plan, by_hand = planned.plan, planned.given.by_hand
    changes = planned.changes if arguments.what_if else None
    hand = {"by_hand": by_hand, "hand_seconds": arguments.hand_seconds}
    full = arguments.full or arguments.sums

    def text(width: int) -> str:
        lines = report.hand_lines(by_hand)
        return report.plan_text(plan, changes, by_hand=lines, sums=arguments.sums, width=width, full=full)

    made = FoundOnce(
        brief=lambda width: report.brief_plan(plan, width),
        text=text,
        data=lambda: report.plan_json(plan, planned.changes, **hand),
        page=lambda: report.plan_page(plan, changes, **hand),
        workbook=lambda: report.plan_xlsx(plan, changes, **hand),
        quote=lambda width: report.quote_text(report.quotes(planned, arguments.hand_seconds), width),
        quote_page=lambda: report.quote_page(report.quotes(planned, arguments.hand_seconds)),
    )
    deliver_each(arguments, made, inputs)


def _deliver_lists(arguments: argparse.Namespace, planned: Planned, inputs: list[str | Path]) -> None:
    """Write the lists for the floor, each in the form that its name asks for."""
    from capcheck import report

    plan = planned.plan
    by_hand = planned.given.by_hand, arguments.hand_seconds
    if (output := arguments.set_up_list) is not None:
        form = _form_of_list(output)
        deliver(as_paper(report.set_up_page(plan), form) if form else report.set_up_list(plan), output, inputs)
    if (output := arguments.hand_list) is not None:
        form = _form_of_list(output)
        listed = as_paper(report.hand_page(plan, *by_hand), form) if form else report.hand_list(plan, *by_hand)
        deliver(listed, output, inputs)
    if (output := arguments.quote) is not None:
        form, sheets = _form_of_list(output), report.quotes(planned, arguments.hand_seconds)
        sheet = as_paper(report.quote_page(sheets), form) if form else report.quote_text(sheets, width_for(output))
        deliver(sheet, output, inputs)


def _form_of_list(output: Path) -> str:
    """Return which paper the name of a list asks for; empty where it is CSV."""
    return {".html": "html", ".htm": "html", ".pdf": "pdf"}.get(output.suffix.lower(), "")


def _supply(arguments: argparse.Namespace) -> Supply:
    from capcheck.planning import Supply, read_containers

    containers = {} if arguments.reels is None else read_containers(arguments.reels)
    return Supply(containers, arguments.hand_seconds)


def _profiles(path: Path) -> list[Path]:
    """Return a machine profile, or those in a folder. Raises :class:`InputError` for a folder without any."""
    from capcheck.values import InputError

    if not path.is_dir():
        return [path]
    found = sorted(path.glob("*.machine.toml"))
    if not found:
        raise InputError.at(str(path), "holds no machine profile", remedy="profiles end in .machine.toml")
    return found


def _compare_arguments(parser: argparse.ArgumentParser) -> None:
    _common(parser)
    around = "line file, once for each; with --stock one, whose stations, benches and floor hold"
    parser.add_argument("--line", action="append", default=[], metavar="FILE", help=around)
    parser.add_argument("--stock", metavar="DIR", type=Path, help="compose the best line of the machine profiles there")
    parser.add_argument(
        "--max-machines", type=int, default=4, metavar="N", help="machines in a composed line; default 4"
    )
    parser.add_argument("--max-length", metavar="LENGTH", help='length of a composed line, such as "6 m"')
    parser.add_argument(
        "--by", choices=CRITERIA, default="cycle", help="what the best line has; default: cycle; cost: of lines by name"
    )
    add_format(parser, ("text", "json", "html", "pdf", "xlsx"))


def _compare(arguments: argparse.Namespace) -> int:
    from capcheck.checking import exit_code_of
    from capcheck.shop import named_line
    from capcheck.values import InputError

    boards, yearly = _boards(arguments.boards)
    if not arguments.line and arguments.stock is None:
        raise InputError.at(
            "command line", "lines are compared, or one is composed", remedy="name --line twice or more, or --stock"
        )
    shop = _shop(arguments, boards)
    if arguments.stock is not None and len(arguments.line) > 1:
        raise InputError.at("--line", "a line is composed around one", remedy="name a single --line beside --stock")
    if arguments.stock is not None:
        return _composed(arguments, boards, yearly, shop)
    from capcheck import report
    from capcheck.planning import compare

    with Searching(arguments) as search:
        comparison = compare(
            boards,
            [named_line(shop.settings.configuration, name) for name in arguments.line],
            per_year=yearly,
            by=arguments.by,
            settings=_settings(arguments, _COMPARE_SECONDS),
            shop=shop,
            supply=_supply(arguments),
            progress=search.tell,
            found=lambda row: search.tell_at_once(report.line_so_far(row)),
        )
    made = FoundOnce(
        brief=lambda width: report.brief_comparison(comparison, width),
        text=lambda width: report.comparison_text(comparison, width),
        data=lambda: report.comparison_json(comparison),
        page=lambda: report.comparison_page(comparison),
        workbook=lambda: report.comparison_xlsx(comparison),
    )
    deliver_each(arguments, made, comparison.inputs)
    return int(exit_code_of(comparison.verdict, strict=shop.settings.strict))


def _composed(arguments: argparse.Namespace, boards: list[str], yearly: list[float | None], shop: Prepared) -> int:
    from capcheck import report
    from capcheck.checking import exit_code_of
    from capcheck.planning import compose
    from capcheck.shop import named_line
    from capcheck.values import LENGTH, InputError, UnitError, read_quantity

    stock = _profiles(arguments.stock)
    around = named_line(shop.settings.configuration, arguments.line[0]) if arguments.line else None
    try:
        length = None if arguments.max_length is None else read_quantity(arguments.max_length, LENGTH)
    except UnitError as error:
        raise InputError.at("--max-length", str(error)) from None
    with Searching(arguments) as search:
        found = compose(
            boards,
            stock,
            per_year=yearly,
            by=arguments.by,
            max_machines=arguments.max_machines,
            max_length_mm=length,
            settings=_settings(arguments, _COMPARE_SECONDS),
            shop=shop,
            supply=_supply(arguments),
            around=around,
            progress=search.tell_lines,
            found=lambda machines, cycle: search.tell_at_once(report.composed_so_far(machines, cycle)),
        )
    made = FoundOnce(
        brief=lambda width: report.brief_composed(found, arguments.by, width),
        text=lambda width: report.composed_text(found, arguments.by, width),
        data=lambda: report.composed_json(found, arguments.by),
        page=lambda: report.composed_page(found, arguments.by),
        workbook=lambda: report.composed_xlsx(found, arguments.by),
    )
    deliver_each(arguments, made, found.inputs)
    verdict = "fail" if found.row is None else found.row.verdict
    return int(exit_code_of(verdict, strict=shop.settings.strict))


COMMANDS: Final = (
    Command("plan", "plan who places what on a line: feeders, cycle time, bottleneck", _plan_arguments, _plan),
    Command(
        "compare", "compare lines for boards, or compose one from a stock of machines", _compare_arguments, _compare
    ),
)

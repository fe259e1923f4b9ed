"""``diff``: two revisions of a board, as reports, folders, archives or git revisions: the data, then the findings.

Exit codes: 0 nothing new or worse fails, 1 something does (with ``--strict``: warns), 2 the later run answered nothing,
or the input or the usage is wrong. A change of the data alone fails nothing.
"""

from __future__ import annotations

import argparse
import sys
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command, Once, add_config, add_rules, add_store, settings_of, warn_of_not_obeyed
from capcheck.commands.output import (
    add_format,
    add_full,
    add_output,
    add_quiet,
    deliver,
    deliver_json,
    deliver_lines,
    deliver_made_lines,
    is_brief,
    refuse_quiet,
    width_for,
)
from capcheck.values import visible

if TYPE_CHECKING:
    from collections.abc import Callable

    from capcheck.checking import Report
    from capcheck.shop import Configuration

_NAMED: Final = "a board's folder, a zip archive, REVISION:FOLDER of a git repository, or a JSON report of check"


def _diff_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("old", metavar="OLD", help=f"the earlier revision: {_NAMED}")
    parser.add_argument("new", metavar="NEW", help="the later revision, likewise")
    parser.add_argument(
        "--line", action=Once, metavar="FILE", help="line to check the revisions against; reports have their own"
    )
    parser.add_argument(
        "--machine", action="append", default=[], metavar="FILE", help="machine profile, instead of a line"
    )
    parser.add_argument("--library", action="append", default=[], metavar="FILE", help="package library of the shop")
    add_rules(parser)
    add_config(parser)
    add_store(parser)
    parser.add_argument("--strict", action="store_true", help="new warnings and undecided rules fail too")
    add_format(parser, ("text", "json", "markdown", "html"))
    add_output(parser)
    add_quiet(parser)
    add_full(parser)


def _diff(arguments: argparse.Namespace) -> int:
    from msgspec.structs import replace

    from capcheck import report
    from capcheck.checking import names_for_others
    from capcheck.commands.progress import Working
    from capcheck.revisions import compare_revisions, read_revision

    refuse_quiet(arguments)
    check = _checks(arguments)
    with Working("reading and checking"):
        old, new = (read_revision(name, check) for name in (arguments.old, arguments.new))
        names = names_for_others((old.name, new.name))
        old, new = (replace(one, name=names.get(one.name, one.name)) for one in (old, new))
        compared = compare_revisions(old, new)
    inputs: list[str | Path] = [*old.files, *new.files]
    if arguments.quiet:
        deliver_made_lines(report.brief_difference(compared, width=width_for(None)))
    if is_brief(arguments):
        pass
    elif arguments.format == "json":
        deliver_json(report.difference_json(compared), arguments.output, inputs)
    elif arguments.format == "markdown":
        deliver(report.difference_markdown(compared, full=arguments.full), arguments.output, inputs)
    elif arguments.format == "html":
        deliver(report.difference_page(compared), arguments.output, inputs)
    else:
        deliver_lines(partial(report.styled_difference, compared), arguments, inputs)
    if new.unanswered:
        sys.stderr.write(visible(f"{new.name}: unanswered: what it does not name is not gone") + "\n")
        return 2
    found = compared.findings
    return 1 if found.fails or (arguments.strict and found.warns) else 0


def _checks(arguments: argparse.Namespace) -> Callable[[Path], Report]:
    """Return how a folder is checked: both revisions alike, by the configuration that holds for neither's own files."""

    @cache
    def configuration() -> Configuration:
        from capcheck.intake import is_git_folder
        from capcheck.shop import Configuration, configuration_of

        # A report or an archive may lie among the shop's own files; a folder, also one at a revision, is the board's.
        own = [Path(name) for name in (arguments.old, arguments.new) if Path(name).is_dir() or name.endswith(".toml")]
        own += [Path(n.partition(":")[2] or ".") for n in (arguments.old, arguments.new) if is_git_folder(n)]
        found = Configuration() if arguments.no_config else configuration_of(own, arguments.config)
        warn_of_not_obeyed(found)
        return found

    def check(folder: Path) -> Report:
        from capcheck.checking import check_as_settled, devices_of

        settings = settings_of(arguments, configuration(), folder, place=_place(arguments.old, arguments.new))
        return check_as_settled(settings, devices_of(settings, arguments.machine))

    return check


def _place(old: str, new: str) -> Path:
    """Return where the board lies, by which layers of the configuration are found: one place for both revisions."""
    from capcheck.intake import is_git_folder

    named = [Path(name) for name in (new, old) if Path(name).exists() and not name.endswith(".json")]
    of_git = [Path(name.partition(":")[2] or ".") for name in (new, old) if is_git_folder(name)]
    folders = [path for path in named if path.is_dir() or path.suffix == ".toml"]
    return next(iter([*folders, *of_git, *named, Path(new)]))


COMMANDS: Final = (
    Command(
        "diff",
        "compare two revisions of a board: what changed in the data, which findings are new, worse, gone; exit code 1"
        " where something new or worse fails (with --strict: warns), 2 where the later revision is unanswered",
        _diff_arguments,
        _diff,
    ),
)

"""``diff``: two JSON reports, of two revisions of a board or of one before and after a change."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command
from capcheck.commands.output import add_format, deliver_json, deliver_text, width_for
from capcheck.values import visible

if TYPE_CHECKING:
    from capcheck.shop import Known


def _diff_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("old", metavar="OLD", help="JSON report of the earlier revision")
    parser.add_argument("new", metavar="NEW", help="JSON report of the later revision")
    add_format(parser)
    parser.add_argument("--strict", action="store_true", help="new warnings and undecided rules fail too")
    parser.add_argument("--full", action="store_true", help="list what is unchanged as well")


def _diff(arguments: argparse.Namespace) -> int:
    from capcheck.lexicon import cautions
    from capcheck.report import known_json, wrapped
    from capcheck.shop import difference, is_unanswered, read_report

    found = difference(read_report(arguments.old), read_report(arguments.new))
    sections = {"new": found.new, "worse": found.worse, "gone": found.gone, "unchanged": found.unchanged}
    if arguments.format == "json":
        listings = {name: [known_json(known) for known in listed] for name, listed in sections.items()}
        deliver_json({**listings, "cautions": cautions()})
    else:
        for name, listed in sections.items():
            if listed and (name != "unchanged" or arguments.full):
                _print_section(name, listed)
        counts = ", ".join(f"{len(listed)} {name}" for name, listed in sections.items())
        text = "\n".join([*wrapped(cautions(), width_for(None)), counts])
        deliver_text(f"{text}\n")
    if is_unanswered(arguments.new):
        sys.stderr.write(f"{arguments.new}: unanswered: what it does not name is not gone\n")
        return 2
    return 1 if found.fails or (arguments.strict and found.warns) else 0


def _print_section(name: str, listed: Sequence[Known]) -> None:
    deliver_text(f"{name.capitalize()}\n")
    for known in listed:
        deliver_text(visible(f"  {known.outcome:9}  {known.rule}  {known.subject}: {known.statement}") + "\n")
    deliver_text("\n")


COMMANDS: Final = (
    Command("diff", "compare two JSON reports: what is new, worse, gone, unchanged", _diff_arguments, _diff),
)

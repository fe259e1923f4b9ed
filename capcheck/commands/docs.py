"""``docs``: the reference as files that readers open, of the rules and facts in force."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from capcheck.commands.command import Command, add_config, add_rules, choice_in_force
from capcheck.commands.output import add_format, add_quiet, deliver_text
from capcheck.commands.written_file import make_folder, refuse_output, write_file


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help="where the pages are written; made if it is not there")
    add_rules(parser)
    add_config(parser)
    add_format(parser, ("html", "markdown"))
    add_quiet(parser)


def _docs(arguments: argparse.Namespace) -> int:
    from capcheck.engine import catalogue_of, rule_files
    from capcheck.report import reference_as_html, reference_as_markdown, reference_pages
    from capcheck.shop import chosen_rules

    choice = choice_in_force(arguments)
    catalogue = catalogue_of(rule_files(choice.folders), choice.catalogue) if choice.folders else choice.catalogue
    pages = reference_pages(chosen_rules(choice), catalogue)
    made = dict((reference_as_html if arguments.format == "html" else reference_as_markdown)(pages))
    inputs = [Path(file) for file in arguments.rules]
    for folder in dict.fromkeys((arguments.folder / name).parent for name in sorted(made)):
        for above in [*reversed(folder.parents), folder]:
            make_folder(above, inputs) if above.is_relative_to(arguments.folder) else None
    for name in made:
        refuse_output(arguments.folder / name, inputs)
    for name, text in made.items():
        write_file(arguments.folder / name, text, inputs)
    if not arguments.quiet:
        first = arguments.folder / next(iter(made))
        deliver_text(f"{first}: {len(made)} pages\n")
    return 0


COMMANDS: Final = (
    Command("docs", "write the reference: a page for each rule and fact, fields, codes, formats", _arguments, _docs),
)

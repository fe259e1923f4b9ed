"""What one search found, in each format and to each file that was asked for: all of them show the same figures."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct

from capcheck.commands.output import deliver, deliver_json, deliver_text, endings_of, outputs_of, width_for

_PAPERS: Final = frozenset({"html", "pdf"})


class FoundOnce(Struct, frozen=True):
    """What was found by one search, as each format has it; a text takes the width."""

    brief: Callable[[int], str]
    text: Callable[[int], str]
    data: Callable[[], object]
    page: Callable[[], str]
    workbook: Callable[[], bytes]
    quote: Callable[[int], str] | None = None
    quote_page: Callable[[], str] | None = None


def deliver_each(arguments: argparse.Namespace, made: FoundOnce, inputs: Sequence[str | Path]) -> None:
    """Write what one search found to each output that was asked for, and with ``--quiet`` its verdict to the screen."""
    if arguments.quiet:
        deliver_text(made.brief(width_for(None)))
    for output, form in outputs_of(arguments, endings_of(arguments.formats)):
        if form == "json":
            deliver_json(made.data(), output, inputs)
        elif form in _PAPERS:
            deliver(as_paper(made.page(), form), output, inputs)
        elif form == "xlsx":
            deliver(made.workbook(), output, inputs)
        elif form == "quote-html" and made.quote_page is not None:
            deliver(made.quote_page(), output, inputs)
        elif output is not None or not arguments.quiet:
            text = made.quote if form == "quote" and made.quote is not None else made.text
            deliver_text(text(width_for(output)), output, inputs)


def as_paper(page: str, form: str) -> str | bytes:
    """Return a page as it is, or as it prints."""
    from capcheck.report import pdf_of

    return pdf_of(page) if form == "pdf" else page

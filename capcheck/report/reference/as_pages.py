"""The pages of the reference as files, in HTML and in Markdown; links lead from file to file, without a server."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.lexicon import cautions
from capcheck.report.markdown_text import code, escaped
from capcheck.report.papers import page_of
from capcheck.report.reference.contents import Cell, Code, Link, Page, Reference, Span, Table

_HTML: Final = ".html"
_MARKDOWN: Final = ".md"


def reference_as_html(pages: Reference) -> Iterator[tuple[str, str]]:
    """Yield path and text of each page. Raises :class:`~capcheck.values.InputError` without the extra ``html``."""
    for page in pages:
        up = "../" * page.name.count("/")
        # A template knows no kinds of spans: text, whether it is code, and where it leads.
        tables = [
            (
                table.title,
                table.columns if any(table.columns) else (),
                [
                    (table.anchors[k] if table.anchors else "", [[_span(s, up) for s in cell] for cell in row])
                    for k, row in enumerate(table.rows)
                ],
            )
            for table in page.tables
        ]
        home = "" if page.name == "index" else f"{up}index{_HTML}"
        yield f"{page.name}{_HTML}", page_of("reference.html", page=page, tables=tables, home=home)


def _span(span: Span, up: str) -> tuple[str, bool, str]:
    if isinstance(span, Link):
        return span.text, False, f"{up}{span.page}{_HTML}" + (f"#{span.place}" if span.place else "")
    return (span.text, True, "") if isinstance(span, Code) else (span, False, "")


def reference_as_markdown(pages: Reference) -> Iterator[tuple[str, str]]:
    """Yield the path and the text of each page."""
    for page in pages:
        yield f"{page.name}{_MARKDOWN}", "\n".join(_lines(page)) + "\n"


def _lines(page: Page) -> Iterator[str]:
    up = "../" * page.name.count("/")
    yield f"# {escaped(page.title)}"
    yield from ("", escaped(page.said))
    for table in page.tables:
        yield from ("", f"## {escaped(table.title)}", "") if table.title else ("",)
        yield from _table(table, up)
    yield from ("", f"*{escaped(cautions())}*")
    if page.name != "index":
        yield from ("", f"[Reference]({up}index{_MARKDOWN})")


def _table(table: Table, up: str) -> Iterator[str]:
    if len(table.columns) == 1:
        for number, row in enumerate(table.rows):
            yield from ([""] if number else [])
            yield _cell(row[0], up)
        return
    yield f"| {' | '.join(escaped(column) or ' ' for column in table.columns)} |"
    yield f"|{'---|' * len(table.columns)}"
    for number, row in enumerate(table.rows):
        anchor = f'<a id="{table.anchors[number]}"></a>' if table.anchors else ""
        yield f"| {anchor}{' | '.join(_cell(cell, up) for cell in row)} |"


def _cell(cell: Cell, up: str) -> str:
    return " ".join("".join(_marked(span, up) for span in cell).splitlines())


def _marked(span: Span, up: str) -> str:
    if isinstance(span, Link):
        place = f"#{span.place}" if span.place else ""
        return f"[{escaped(span.text)}]({up}{span.page}{_MARKDOWN}{place})"
    return code(span.text) if isinstance(span, Code) else escaped(span)

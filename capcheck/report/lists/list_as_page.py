"""A list as an HTML file, made for the screen and for print: what is acted on goes to the shop floor on paper."""

from __future__ import annotations

from capcheck.lexicon import sentence
from capcheck.lists import PartList
from capcheck.report.lists.joined_rows import joined_rows
from capcheck.report.papers import page_of


def list_page(listed: PartList) -> str:
    """Return the list as a page: its totals, a table with the rows of the text, sources and notes.

    Raises :class:`~capcheck.values.InputError`.
    """
    sources: dict[str, int] = {}
    titles, rows = joined_rows(listed, sources)
    below = list(dict.fromkeys(title for row in rows for title, _ in row.below))
    columns = [*titles, *below, "references"]
    return page_of(
        "part_list.html",
        name=listed.name.replace("-", " ").capitalize(),
        board=listed.board,
        totals=[sentence(said) for said in listed.totals],
        tables=[
            {
                "title": "",
                "columns": columns,
                "rows": [(*row.cells, *(dict(row.below).get(title, "") for title in below), row.refs) for row in rows],
            }
        ]
        if rows
        else [],
        sources=list(sources),
        notes=[sentence(said) for said in listed.notes],
    )

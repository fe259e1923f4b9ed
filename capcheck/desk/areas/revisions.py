"""A board against the one that it revises: what changed, both pictures over each other, what that does to the verdict.

Also the revisions that the shop's store keeps, with what checks of them came to.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen, data_in
from capcheck.desk.areas.changed import LineChanged, lines_changed
from capcheck.desk.areas.lines import Lines
from capcheck.desk.areas.picture import with_own_ids
from capcheck.report import DIFFERENCE_STYLES, difference_sections, difference_svg, headline_of_difference
from capcheck.store import BoardKey

_MOST: Final = 40


class ChangeLine(Struct, frozen=True):
    """One line of what changed: the parts, what is said of them, the inferences that it stands on."""

    refs: tuple[str, ...]
    words: str
    doubts: str = ""


class ChangeSection(Struct, frozen=True):
    """A heading with its lines; *first* is the number of the first, as the flags of the picture have it."""

    title: str
    first: int
    lines: tuple[ChangeLine, ...]


class Difference(Struct, frozen=True):
    """What became of a board since the one that it revises; all empty where it revises none."""

    headline: str = ""
    sections: tuple[ChangeSection, ...] = ()
    drawing: str = ""
    slots: tuple[str, ...] = ()


class KeptRevision(Struct, frozen=True):
    """A revision: what it is called, who brought it when, and its verdict on each line."""

    label: str
    who: str
    when: str
    verdicts: tuple[str, ...]


class Shown(Struct, frozen=True):
    """The difference, the lines before and after, the revised and revising boards, and what the store keeps."""

    difference: Difference | None
    lines: tuple[LineChanged, ...]
    earlier: tuple[int, str] | None
    later: tuple[tuple[int, str], ...]
    kept: tuple[KeptRevision, ...]


def made(found: Found) -> Difference:
    """Return what changed since the board that this one revises, on the line that suits this one best."""
    if found.comparison is None:
        return Difference()
    drawing = difference_svg(found.comparison)
    for style in DIFFERENCE_STYLES:
        drawing = drawing.replace(style, "")
    sections = tuple(
        ChangeSection(title, first, tuple(ChangeLine(cause.refs, cause.text, cause.doubts) for cause in causes))
        for title, first, causes in difference_sections(found.comparison)
    )
    return Difference(
        headline_of_difference(found.comparison),
        sections,
        with_own_ids(drawing.replace("<style></style>", ""), "revised-"),
    )


def shown(seen: Seen, data: Difference | None) -> Shown:
    """Return it with the verdicts of both, and what the store keeps of the board."""
    earlier = next((board for board in seen.quote.boards if board.id == seen.board.revises), None)
    was, now = (data_in(folder, "lines", Lines) for folder in (seen.earlier, seen.folder))
    later = tuple((board.id, board.name) for board in seen.quote.boards if board.revises == seen.board.id)
    return Shown(
        data if data is not None and data.headline else None,
        lines_changed(was, now),
        None if earlier is None else (earlier.id, earlier.name),
        later,
        tuple(_kept(seen)),
    )


def _kept(seen: Seen) -> list[KeptRevision]:
    key = BoardKey(seen.board.name, seen.quote.customer)
    verdicts: dict[str, list[str]] = {}
    for result in seen.store.results(key):
        verdicts.setdefault(result.sha256, []).append(f"{result.line}: {result.verdict}")
    return [
        KeptRevision(one.label, one.given.who, f"{one.given.when:%Y-%m-%d}", tuple(verdicts.get(one.sha256, ())))
        for one in reversed(seen.store.revisions(key))
    ]


AREA: Final = Area("revisions", "Revisions", shown, Difference, made, ("checked", "compared"))

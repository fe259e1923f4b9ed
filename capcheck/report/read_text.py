"""What was understood of a customer's files, as text: what the engineer looks at first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any, Final

from capcheck.lexicon import sentence, sentence_of_decision
from capcheck.model import Board, Body, Kind, Note, Side
from capcheck.report.characters import visible
from capcheck.report.formats import WIDTH_WHEN_PIPED, Line, wrapped
from capcheck.report.sentences import base_name, noted, size_of
from capcheck.values import LENGTH, shortened, show

_MOST_LINES: Final = 15


def render_reading(board: Board, *, width: int = WIDTH_WHEN_PIPED, full: bool = False) -> list[Line]:
    """Return the lines: files, decisions, what disagrees, parts by type. With *full* no list is cut short."""
    most = 10**9 if full else _MOST_LINES
    lines = [Line(f"{board.name}: {len(board.placements)} placements, board {size_of(board)}", "head")]
    lines += _counts(board)
    lines += [Line(""), Line("Files", "head")]
    for table in board.tables:
        lines += _table(table, width)
    lines += _others(board)
    lines += _decisions(board, width, most)
    lines += _disagreements(board, width, most)
    lines += _set_aside(board, most)
    lines += _types(board, width, most)
    return [Line(visible(line.text), line.style) for line in lines]


def _counts(board: Board) -> Iterator[Line]:
    placements = board.placements
    kinds = Counter(placements.kind.tolist())
    sides = Counter(placements.side.tolist())
    by_side = ", ".join(f"{sides[side]} {side}" for side in Side if sides[side])
    others = ", ".join(f"{kinds[kind]} {_KIND_WORDS[kind]}" for kind in Kind if kinds[kind] and kind != Kind.PART)
    unfitted = int(((placements.kind == Kind.PART) & ~placements.fitted).sum())
    yield Line(
        f"  {by_side}; {int(placements.is_part.sum())} parts to place, {unfitted} not fitted"
        + (f"; {others}" if others else "")
    )


_KIND_WORDS: Final = {Kind.FIDUCIAL: "fiducials", Kind.MECHANICAL: "with nothing to place", Kind.PART: "parts"}


def _table(read: Any, width: int) -> Iterator[Line]:  # noqa: ANN401  capcheck.intake.package.ReadTable
    table, columns = read.table, read.columns
    sheet = f', sheet "{table.sheet}"' if table.sheet else ""
    header = f"header in row {table.header_row}" if table.header_row else "no header"
    yield Line(f"  {read.role}: {table.file}{sheet}")
    facts = f"{table.encoding}, {table.delimiter}, {header}, {len(table)} rows, {len(table.set_aside)} set apart"
    yield Line(f"    {facts}")
    roles = []
    for role, index in columns.index.items():
        title = table.header[index] if index < len(table.header) and table.header[index] else f"column {index + 1}"
        unit = f" in {columns.units[role]}" if role in columns.units else ""
        roles.append(f'{role} ← "{title}"{unit}')
    yield from (Line(t) for t in wrapped("; ".join(roles), width, "    ", "      "))


def _others(board: Board) -> Iterator[Line]:
    shown = {read.table.file for read in board.tables}
    for item in board.inputs:
        if item.path not in shown:
            yield Line(f"  {item.role}: {item.path}")


def _decisions(board: Board, width: int, most: int) -> Iterator[Line]:
    yield Line("")
    yield Line("Inferred, with the evidence", "head")
    if not board.decisions:
        yield Line("  nothing: the files state it all")
    for decision in board.decisions[:most]:
        place = f"{base_name(decision.place.file)}: " if decision.place else ""
        style = "warn" if decision.open else ""
        yield from (Line(t, style) for t in wrapped(f"{place}{sentence_of_decision(decision)}", width, "  ", "    "))
    for note in board.notes[:most]:
        yield from (Line(t, "dim") for t in wrapped(noted(note), width, "  ", "    "))


def _disagreements(board: Board, width: int, most: int) -> Iterator[Line]:
    found = [item for item in board.discrepancies if item.about is None]
    if not found:
        return
    yield Line("")
    yield Line("Where the files disagree", "head")
    for item in found[:most]:
        yield from (Line(t) for t in wrapped(noted(Note(item.said, item.place)), width, "  ", "    "))
    if len(found) > most:
        yield Line(f"  and {len(found) - most} more (--full shows all)")


def _set_aside(board: Board, most: int) -> Iterator[Line]:
    rows = [(base_name(item.file), sentence(item.reason), item.row) for item in board.set_aside]
    if not rows:
        return
    yield Line("")
    yield Line("Rows set apart", "head")
    reasons = Counter((file, reason) for file, reason, _ in rows)
    for (file, reason), count in reasons.most_common(most):
        first = next(row for *same, row in rows if same == [file, reason])
        yield Line(f"  {file}: {count} × {reason} (first in row {first})")


def _types(board: Board, width: int, most: int) -> Iterator[Line]:
    placements = board.placements
    refs: dict[int, list[str]] = {}
    for row in placements.is_part.nonzero()[0].tolist():
        refs.setdefault(int(placements.part_type[row]), []).append(placements.ref[row])
    yield Line("")
    yield Line(f"Parts: {len(refs)} types", "head")
    for index, same in list(refs.items())[:most]:
        if index < 0:
            continue
        name, body = board.types[index], board.bodies[index]
        label = name.part_number or name.value or name.footprint or "unnamed"
        yield from (
            Line(t)
            for t in wrapped(f"{label} × {len(same)} ({shortened(same, 4)}): {_body(body)}", width, "  ", "    ")
        )
    if len(refs) > most:
        yield Line(f"  and {len(refs) - most} more types (--full shows all; --format csv for a table)")
    known = sum(len(same) for i, same in refs.items() if i >= 0 and _sized(board.bodies[i]))
    high = sum(len(same) for i, same in refs.items() if i >= 0 and board.bodies[i].height.value.high < float("inf"))
    total = sum(map(len, refs.values())) or 1
    yield Line(f"  length and width known for {known / total:.0%}, height bounded for {high / total:.0%} of the parts")


def _sized(body: Body) -> bool:
    return body.length.value.is_known and body.width.value.is_known


def _body(body: Body) -> str:
    parts = [body.family] if body.family else []
    if _sized(body):
        sides = [show(m.low, m.high, LENGTH).removesuffix(" mm") for m in (body.length, body.width)]
        parts.append(" × ".join(sides) + " mm")
    else:
        parts.append("size not known")
    parts.append(f"height {show(max(body.height.low, 0), body.height.high, LENGTH)}")
    parts.append(f"from {body.body_from}" if body.body_from else "nothing decoded")
    return ", ".join(parts)

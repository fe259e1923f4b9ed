"""What was understood of a customer's files, as text: what the engineer looks at first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from capcheck.lexicon import cautions, sentence, sentence_of_decision
from capcheck.model import Board, Kind, Note, ReadTable, Side
from capcheck.report.sentences import base_name, body_in_words, is_sized, noted, refs_of_types, size_of, without_folders
from capcheck.report.styled_lines import ALL, Line, wrapped
from capcheck.values import shortened, visible

_MOST_LINES: Final = 15


def styled_reading(board: Board, *, width: int, full: bool) -> list[Line]:
    """Return the lines: files, decisions, what disagrees, parts by type. With *full* no list is cut short."""
    most = ALL if full else _MOST_LINES
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
    lines += [Line(""), *(Line(text, "dim") for text in wrapped(cautions(), width))]
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


def _table(table: ReadTable, width: int) -> Iterator[Line]:
    sheet = f', sheet "{table.sheet}"' if table.sheet else ""
    header = f"header in row {table.header_row}" if table.header_row else "no header"
    yield Line(f"  {table.role}: {without_folders(table.file, [table.file])}{sheet}")
    yield Line(f"    {table.encoding}, {table.delimiter}, {header}, {table.rows} rows, {table.set_aside} set apart")
    roles = [f'{c.role} ← "{c.title}"' + (f" in {c.unit}" if c.unit else "") for c in table.columns]
    yield from (Line(t) for t in wrapped("; ".join(roles), width, "    ", "      "))
    if table.unused:
        names = ", ".join(f'"{title}"' for title in table.unused)
        told = f"no role: {names} (only remarks and sizes are looked for there)"
        yield from (Line(t, "dim") for t in wrapped(told, width, "    ", "      "))


def _others(board: Board) -> Iterator[Line]:
    shown = {table.file for table in board.tables}
    for item in board.inputs:
        if item.path not in shown:
            yield Line(f"  {item.role}: {without_folders(item.path, [item.path])}")


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
    if not board.set_aside:
        return
    yield Line("")
    yield Line("Rows set apart", "head")
    rows: dict[tuple[str, str], list[int | None]] = {}
    for item in board.set_aside:
        rows.setdefault((base_name(item.place.file), sentence(item.reason)), []).append(item.place.row)
    for (file, reason), same in sorted(rows.items(), key=lambda r: -len(r[1]))[:most]:
        yield Line(f"  {file}: {len(same)} × {reason} (first in row {same[0]})")


def _types(board: Board, width: int, most: int) -> Iterator[Line]:
    refs, files = refs_of_types(board), {item.path for item in board.inputs}
    yield Line("")
    yield Line(f"Parts: {len(refs)} types", "head")
    for index, same in list(refs.items())[:most]:
        if index < 0:
            continue
        name, body = board.types[index], board.bodies[index]
        label = name.part_number or name.value or name.footprint or "unnamed"
        source = f"from {body.body_from}" if body.body_from else "nothing decoded"
        text = f"{label} × {len(same)} ({shortened(same, 4)}): {body_in_words(body)}, {without_folders(source, files)}"
        yield from (Line(t) for t in wrapped(text, width, "  ", "    "))
    if len(refs) > most:
        yield Line(f"  and {len(refs) - most} more types (--full shows all; --format csv for a table)")
    known = sum(len(same) for i, same in refs.items() if i >= 0 and is_sized(board.bodies[i]))
    high = sum(len(same) for i, same in refs.items() if i >= 0 and board.bodies[i].height.value.high < float("inf"))
    total = sum(map(len, refs.values())) or 1
    yield Line(f"  length and width known for {known / total:.0%}, height bounded for {high / total:.0%} of the parts")

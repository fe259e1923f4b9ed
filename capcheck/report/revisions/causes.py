"""What changed between two revisions, in lines: one for each cause, however many parts it is about."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.model import Kind, Said
from capcheck.revisions import (
    BoardChange,
    Change,
    Comparison,
    DataChanges,
    Feeder,
    Gap,
    Mirrored,
    Motion,
    PartChange,
    Row,
)
from capcheck.shop import Known
from capcheck.values import counted, number_of, shortened, show_number

_ANGLE_DIGITS: Final = 2
_MM_DIGITS: Final = 2
"""After the decimal point: no more than decides whether a part has moved at all."""


class Cause(Struct, frozen=True):
    """One line: what it is about, what is said of it, and the numbers of the part changes behind it."""

    refs: tuple[str, ...]
    text: str
    changes: tuple[int, ...] = ()
    doubts: str = ""
    """The inferences on which it stands."""
    outcome: str = ""
    """Of a finding."""
    rule: str = ""

    def told(self, most: int) -> str:
        """Return the line, with so many references."""
        about = shortened(self.refs, most) if self.refs else ""
        line = ": ".join(filter(None, (about, self.text)))
        return f"{line} (inferred: {self.doubts})" if self.doubts else line


class Section(Struct, frozen=True):
    """A heading with its lines."""

    title: str
    causes: tuple[Cause, ...]
    key: str = ""


def data_sections(data: DataChanges) -> list[Section]:
    """Return what changed in the data, the board first, then part by part, then the feeders; none of them is empty."""
    found = [
        Section("Board", (*_origin(data), *map(_of_mirrored, data.mirrored), *map(_of_board, data.board)), "board")
    ]
    for title, key, changes, told in _KINDS:
        found.append(Section(title, tuple(_gathered(data, changes, told)), key))
    for title, key, feeders in (
        ("Feeders to add", "feeders in", data.feeders_in),
        ("Feeders to take out", "feeders out", data.feeders_out),
    ):
        found.append(Section(title, tuple(map(_of_feeder, feeders)), key))
    return [section for section in found if section.causes]


def finding_sections(comparison: Comparison, *, full: bool) -> list[Section]:
    """Return the findings new, worse and gone, and with *full* those unchanged, alike ones in one line."""
    found = comparison.findings
    listed = [("New", found.new), ("Worse", found.worse), ("Gone", found.gone)]
    listed += [("Unchanged", found.unchanged)] if full else []
    return [Section(title, tuple(_of_findings(known)), title.lower()) for title, known in listed if known]


def uncertain_lines(data: DataChanges) -> list[str]:
    """Return the inferences on which changes stand, with what each revision took."""
    lines = []
    for doubt in data.uncertain:
        was, now = (None if found is None else found.choice for found in (doubt.old, doubt.new))
        told = [_choice(choice) for choice in (was, now)]
        both = told[0] if told[0] == told[1] else f"{told[0]} → {told[1]}"
        is_open = any(found is not None and found.open for found in (doubt.old, doubt.new))
        lines.append(f"{doubt.topic}: {both}" + (", a guess" if is_open else ""))
    return lines


def gap_lines(comparison: Comparison) -> list[str]:
    """Return what could not be compared, and why."""
    lines = (comparison.old.line, comparison.new.line)
    words = {
        Gap.DATA: "the data: a report that holds no parts",
        Gap.CONTOUR: "the contour: not both revisions have a drawn outline (a report holds its length and width alone)",
        Gap.PANEL: "the panel: a report does not hold how the board is stepped",
        Gap.LINE: "findings on one line: "
        + " and ".join("no line" if line is None else line for line in lines)
        + " (--line gives one to folders)",
    }
    return [words[gap] for gap in comparison.gaps]


def headline_of_difference(comparison: Comparison) -> str:
    """Return in one sentence how much changed."""
    data = comparison.data
    if data is None:
        return "the data were not compared"
    if data.is_empty:
        moved = "" if data.motion.is_still else ", but for the origin"
        return f"no change in the data{moved}: {counted(data.compared, 'row')} compared"
    counts = {change: sum(change in part.changes for part in data.parts) for change in Change}
    words = [f"{number} {_IN_SHORT[change]}" for change, number in counts.items() if number]
    words += [counted(len(data.board), "change of the board", "changes of the board")] if data.board else []
    for way, feeders in (("in", data.feeders_in), ("out", data.feeders_out)):
        words += [f"{counted(len(feeders), 'feeder')} {way}"] if feeders else []
    return ", ".join(words)


_IN_SHORT: Final = {
    Change.ADDED: "added",
    Change.REMOVED: "removed",
    Change.RENUMBERED: "renumbered",
    Change.SIDE: "on the other side",
    Change.MOVED: "moved",
    Change.TURNED: "turned",
    Change.PLACE: "with or without coordinates",
    Change.PART_NUMBER: "with another part number",
    Change.VALUE: "with another value",
    Change.FOOTPRINT: "with another footprint",
    Change.FITTED: "fitted or not",
    Change.KIND: "of another kind",
}


def _choice(choice: Said | str | None) -> str:
    return "not inferred" if choice is None else sentence(choice)


def _origin(data: DataChanges) -> Iterator[Cause]:
    motion = data.motion
    if motion.is_still:
        return
    turned = f"turned by {90 * motion.quarter_turns}° and " if motion.quarter_turns else ""
    text = f"origin of the files {turned}shifted by {_vector(motion.dx_mm, motion.dy_mm)}"
    if motion.told_by == "outline":
        yield Cause((), f"{text}, with the outline: positions are compared on the board")
    else:
        yield Cause((), f"{text}, or all parts moved: {_why(data)}; moves below are beside that")


def _of_mirrored(found: Mirrored) -> Cause:
    way = "left to right" if found.axis == "x" else "top to bottom"
    about = f"about {found.axis} = {show_number(round(found.about_mm, _MM_DIGITS))} mm"
    text = f"{found.parts} of {counted(found.of, 'part')} lie mirrored {way}, {about}"
    return Cause((), f"{found.side} side: {text}; is one revision seen from below? Moves and turns below include it")


def _why(data: DataChanges) -> str:
    return "the outline changed too" if data.has_outlines else "without an outline in both it is not told which"


def _of_board(change: BoardChange) -> Cause:
    old, new = (_amount(value, change.what) for value in (change.old, change.new))
    return Cause((), f"{_WHAT[change.what]}: {old} → {new}")


_WHAT: Final = {
    "length": "length",
    "width": "width",
    "contour": "same size, another contour; area",
    "cut-outs": "cut-outs",
    "holes": "round holes",
    "thickness": "thickness",
    "panel": "panel",
    "circuits": "boards in the panel, of which the first is compared",
}


def _amount(value: tuple[float, float] | str | int | None, what: str) -> str:
    if value is None:
        return "one board" if what == "panel" else "not known"
    if not isinstance(value, tuple):
        return str(value)
    unit = "mm²" if what == "contour" else "mm"
    low, high = (show_number(round(end, _MM_DIGITS)) for end in value)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def _of_feeder(feeder: Feeder) -> Cause:
    sure = "" if feeder.certain else ", if a placement head places it: mounting not known"
    named = "" if feeder.numbered else ", by value and footprint: no part number"
    return Cause(feeder.refs, f"{feeder.label} ({counted(len(feeder.refs), 'placement')}{named}{sure})")


def _of_findings(listed: Sequence[Known]) -> Iterator[Cause]:
    alike: dict[tuple[str, str, str], list[str]] = {}
    for known in listed:
        alike.setdefault((known.outcome, known.rule, known.statement), []).append(known.subject)
    for (outcome, rule, text), subjects in alike.items():
        yield Cause(tuple(subjects), text, outcome=outcome, rule=rule)


_Words = Callable[[PartChange, DataChanges], str]


def _gathered(data: DataChanges, kinds: frozenset[Change], words: _Words) -> Iterator[Cause]:
    """Yield the changes of some kinds, those of which the same is said in one line, the largest groups last."""
    alike: dict[tuple[str, str], list[int]] = {}
    for number, change in enumerate(data.parts):
        if change.changes & kinds:
            doubts = ", ".join(topic for topic in data.doubts(change) if _touches(data, topic, kinds))
            alike.setdefault((words(change, data), doubts), []).append(number)
    named = {text: sorted({data.parts[n].row.ref for n in same}, key=number_of) for text, same in alike.items()}
    for (text, doubts), same in sorted(alike.items(), key=lambda item: number_of(named[item[0]][0])):
        ends = {_from_to(data.parts[n], data.motion) for n in same} if Change.TURNED in kinds else set()
        full = f"{text}{ends.pop()}" if len(ends) == 1 else text
        yield Cause(tuple(named[text, doubts]), full, tuple(same), doubts)


def _touches(data: DataChanges, topic: str, kinds: frozenset[Change]) -> bool:
    return any(doubt.topic == topic and doubt.touches & kinds for doubt in data.uncertain)


def _what(row: Row) -> str:
    """Return what a row is, with its side."""
    kind = "" if row.kind is Kind.PART else str(row.kind)
    placed = str(row.side) if row.is_placed else "in the BOM alone" if row.index < 0 else "without coordinates"
    fitted = "" if row.fitted else "not fitted"
    return ", ".join(filter(None, (kind, row.label, placed, fitted)))


def _renumbered(change: PartChange, _data: DataChanges) -> str:
    return f"was {change.old.ref}" if change.old else ""


def _side(change: PartChange, _data: DataChanges) -> str:
    if change.old is None or change.new is None:
        return ""
    angles = [_angle(row.rotation_deg) for row in (change.old, change.new)]
    return f"{change.old.side} → {change.new.side}, at {angles[0]} → {angles[1]} as seen from its own side"


def _moved(change: PartChange, _data: DataChanges) -> str:
    return f"by {_mm(change.moved_mm)} ({_vector(change.dx_mm, change.dy_mm)})"


def _turned(change: PartChange, _data: DataChanges) -> str:
    if change.old is None or change.new is None:
        return ""
    if not math.isfinite(change.old.rotation_deg + change.new.rotation_deg):
        return "the angle is known in one revision alone"
    half = abs(abs(change.turned_deg) - 180.0) < 1e-6 and change.new.polarised is False
    way = (
        ""
        if abs(change.turned_deg) >= 180.0 - 1e-6
        else " clockwise"
        if change.turned_deg < 0
        else " counter-clockwise"
    )
    harmless = ", which looks the same: no polarity" if half else ""
    return f"by {_angle(abs(change.turned_deg))}{way}{harmless}"


def _from_to(change: PartChange, motion: Motion) -> str:
    """Return from which angle to which a part was turned, on a board that lies as it does now."""
    if change.old is None or change.new is None:
        return ""
    return f" ({_angle(motion.angle(change.old) % 360.0)} → {_angle(change.new.rotation_deg)})"


def _place(change: PartChange, _data: DataChanges) -> str:
    if change.new is not None and change.new.is_placed:
        return f"coordinates now, {change.new.side}"
    return "no coordinates any more, in the BOM alone"


def _type(change: PartChange, data: DataChanges) -> str:
    if change.old is None or change.new is None:
        return ""
    pairs = (
        (Change.PART_NUMBER, change.old.part_number, change.new.part_number),
        (Change.VALUE, change.old.value, change.new.value),
        (Change.FOOTPRINT, change.old.footprint, change.new.footprint),
    )
    return "; ".join(
        # Where one revision states none at all, that is one thing to tell, and not one for each part.
        f"{kind} stated {'now' if now else 'no more'}"
        if kind in data.one_sided
        else f"{kind} {was or 'none'} → {now or 'none'}"
        for kind, was, now in pairs
        if kind in change.changes
    )


def _fitted(change: PartChange, _data: DataChanges) -> str:
    return "fitted now" if change.new and change.new.fitted else "not fitted any more"


def _kind(change: PartChange, _data: DataChanges) -> str:
    return f"{change.old.kind} → {change.new.kind}" if change.old and change.new else ""


_KINDS: Final[Sequence[tuple[str, str, frozenset[Change], _Words]]] = (
    ("Added", "added", frozenset({Change.ADDED}), lambda change, _: _what(change.row)),
    ("Removed", "removed", frozenset({Change.REMOVED}), lambda change, _: _what(change.row)),
    ("Renumbered, at the same place", "renumbered", frozenset({Change.RENUMBERED}), _renumbered),
    ("On the other side", "side", frozenset({Change.SIDE}), _side),
    ("Turned", "turned", frozenset({Change.TURNED}), _turned),
    ("Moved", "moved", frozenset({Change.MOVED}), _moved),
    ("Another part", "part", frozenset({Change.PART_NUMBER, Change.VALUE, Change.FOOTPRINT}), _type),
    ("Fitted or not", "fitted", frozenset({Change.FITTED}), _fitted),
    ("With or without coordinates", "place", frozenset({Change.PLACE}), _place),
    ("Of another kind", "kind", frozenset({Change.KIND}), _kind),
)


def _mm(value: float) -> str:
    return f"{show_number(round(value, _MM_DIGITS))} mm"


def _vector(dx: float, dy: float) -> str:
    return f"x {_signed(dx)}, y {_signed(dy)} mm"


def _signed(value: float) -> str:
    rounded = round(value, _MM_DIGITS) + 0.0
    return f"{'+' if rounded > 0 else '−' if rounded < 0 else ''}{show_number(abs(rounded))}"


def _angle(value: float) -> str:
    return f"{round(value, _ANGLE_DIGITS):g}°" if math.isfinite(value) else "not known"

"""The quote sheet: what a board costs in joints, placements, part numbers, slots, minutes, and what is open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.facts import part_label
from capcheck.lexicon import cautions, sentence
from capcheck.model import Body, Mounting, Severity
from capcheck.planning import Feeder, Plan, Planned, SetUp
from capcheck.report.papers.plan_view import figures_of
from capcheck.report.plan import (
    HandRow,
    count,
    ends,
    hand_rows,
    numbered,
    set_by,
    slots,
    span,
    tray_places,
    verdict_sentence,
)
from capcheck.report.questions import Question, questions
from capcheck.report.sentences import VERDICT_WORDS, size_of
from capcheck.report.styled_lines import WIDTH_WHEN_PIPED, wrapped
from capcheck.values import Interval, counted, cut, shortened

_HOLES: Final = "through-hole"
_NOTHING: Final = "copper alone, nothing to place"
_NOT_KNOWN: Final = "form not known"
_MOST_QUESTIONS: Final = 6
_MOST_SLOTS: Final = 8
_MOST_REFS: Final = 8
_MOST_TEXT: Final = 300


class Figure(Struct, frozen=True):
    """One line of the sheet; *note* says how far it is known, or what it leaves out."""

    label: str
    value: str
    note: str = ""


class PartClass(Struct, frozen=True):
    """The parts of one form of terminations; *unknown* are the references whose number of pins is not known."""

    name: str
    parts: int
    part_numbers: int
    joints: int
    unknown: tuple[str, ...]

    @property
    def joints_text(self) -> str:
        """The joints, a lower bound where pins are not known."""
        if not self.unknown:
            return f"{self.joints:,}"
        return f"at least {self.joints:,}" if self.joints else "not known"


class Quote(Struct, frozen=True):
    """The sheet of one board on one line; *per* is what all counts are for: a board, or a panel of so many."""

    board: str
    line: str
    verdict: str
    sentence: str
    per: str
    sections: tuple[tuple[str, tuple[Figure, ...]], ...]
    classes: tuple[PartClass, ...]
    """By the form of the terminations; the last is all together."""
    asked: tuple[tuple[int, str, str], ...]
    """The first open questions: number in the list for the customer, whom it is about, what is asked."""
    more_asked: int


def quotes(planned: Planned, hand_seconds: float | None = None) -> list[Quote]:
    """Return the sheet of each board of a plan; *hand_seconds* is the time to place one part by hand."""
    return [_quote(planned, report, hand_seconds) for report in planned.reports]


def _quote(planned: Planned, report: Report, hand_seconds: float | None) -> Quote:
    plan, board = planned.plan, report.board
    passes = [k for k, p in enumerate(plan.job.passes) if p.board == board.name]
    pieces = _pieces(plan, passes)
    names = {board.name, *(plan.job.passes[k].name for k in passes)}
    by_hand = [row for row in hand_rows(plan, planned.given.by_hand, hand_seconds) if row.board in names]
    classes = _classes(plan, report, passes)
    asked = list(enumerate(questions(report), 1))
    hurry = asked[:_MOST_QUESTIONS]
    several = len(planned.reports) > 1
    total = classes[-1]
    each = _a_board(Interval.exactly(total.joints), pieces)
    joints = Figure("joints", total.joints_text, _unknown_pins(total) + each)
    return Quote(
        board.name,
        plan.line,
        plan.verdict,
        verdict_sentence(plan),
        "board" if pieces == 1 else f"panel of {pieces} boards",
        (
            ("Board", tuple(_board(plan, report, passes, pieces))),
            ("Placements", (joints, *_placements(plan, passes, by_hand))),
            ("Part numbers, feeders, slots", tuple(_set_up(plan, passes, by_hand, several=several))),
            ("Time", tuple(_time(plan, board.name, passes, by_hand, hand_seconds))),
            ("Open questions", tuple(_open(asked))),
        ),
        classes,
        tuple((number, _about(question), cut(question.ask, _MOST_TEXT)) for number, question in hurry),
        len(asked) - len(hurry),
    )


def _pieces(plan: Plan, passes: Sequence[int]) -> int:
    """Return how many boards the conveyor carries at a time, which all counts are for."""
    return plan.job.passes[passes[0]].boards if passes else 1


def _a_board(number: Interval, pieces: int, unit: str = "") -> str:
    """Return a panel's figure for one of its boards, as the rest of a remark."""
    return f"; {ends(number.scaled(1 / pieces), 2 if unit else 0)}{unit} a board" if pieces > 1 else ""


def _unknown_pins(total: PartClass) -> str:
    if not total.unknown:
        return "leads, balls and chips' terminations, as the numbers of pins say"
    refs = shortened(total.unknown, _MOST_REFS)
    return f"{counted(len(total.unknown), 'part')} with an unknown number of pins not counted: {refs}"


def _classes(plan: Plan, report: Report, passes: Sequence[int]) -> tuple[PartClass, ...]:
    """Return the parts by the form of their terminations, the most frequent first, and all together."""
    board = report.board
    planned = {ref: part.name for part in plan.job.parts if part.refs for k in passes for ref in part.refs[k]}
    found: dict[str, list[tuple[str, str, int | None]]] = {}
    for row in board.placements.is_part.nonzero()[0].tolist():
        kind, ref = int(board.placements.part_type[row]), board.placements.ref[row]
        body = board.bodies[kind] if kind >= 0 else Body()
        number = planned.get(ref) or (part_label(board, kind) if kind >= 0 else "unnamed")
        found.setdefault(_class_of(body), []).append((ref, number, body.pins))
    circuits = plan.job.passes[passes[0]].circuits if passes else 1
    classes = [_class(name, parts, circuits) for name, parts in found.items()]
    placed = [part for name, parts in found.items() if name != _NOTHING for part in parts]
    last = {_HOLES, _NOT_KNOWN, _NOTHING}
    return (*sorted(classes, key=lambda c: (c.name in last, -c.parts)), _class("all", placed, circuits))


def _class_of(body: Body) -> str:
    """Return the form of a body's terminations; parts with leads through holes are one class."""
    if body.mounting == Mounting.THROUGH_HOLE:
        return _HOLES
    if body.mounting == Mounting.NONE:
        return _NOTHING
    return str(body.lead_style) if body.lead_style else _NOT_KNOWN


def _class(name: str, parts: Sequence[tuple[str, str, int | None]], circuits: int) -> PartClass:
    """Return the class of *parts* of one board, counted for so many of it in a panel."""
    soldered = [] if name == _NOTHING else parts
    return PartClass(
        name,
        circuits * len(parts),
        len({number for _, number, _ in parts}),
        circuits * sum(pins for *_, pins in soldered if pins is not None),
        tuple(ref for ref, _, pins in soldered if pins is None),
    )


def _board(plan: Plan, report: Report, passes: Sequence[int], pieces: int) -> Iterator[Figure]:
    yield Figure("size", size_of(report.board))
    sent = sentence(report.in_panel.said) if report.in_panel else "as sent"
    yield Figure("runs", sent, f"panel of {pieces} boards" if pieces > 1 else "")
    sides = ", ".join(plan.job.passes[k].side for k in passes)
    yield Figure("sides with machine placements", str(len(passes)), sides)
    yearly = [plan.job.passes[k].per_year for k in passes if plan.job.passes[k].per_year is not None]
    yield Figure("quantity a year", f"{yearly[0] * pieces:,.0f}" if yearly and yearly[0] else "not known")


def _mine(plan: Plan, passes: Sequence[int]) -> list[tuple[SetUp, Feeder, int]]:
    """Return the feeders that give to these passes, each with its set-up and how many parts it gives to them."""
    found = []
    for set_up in plan.set_ups:
        for f in set_up.feeders:
            given = sum(c for p, c in zip(set_up.passes, f.counts, strict=True) if p in passes)
            if given:
                found.append((set_up, f, given))
    return found


def _placements(plan: Plan, passes: Sequence[int], by_hand: Sequence[HandRow]) -> Iterator[Figure]:
    mine = _mine(plan, passes)
    placed = sum(given for *_, given in mine)
    not_proved = sum(given for _, f, given in mine if f.undecided)
    note = f"{not_proved} of them not proved where planned" if not_proved else ""
    each = _a_board(Interval.exactly(placed), _pieces(plan, passes))
    yield Figure("by machine", str(placed), f"{note}{each}".lstrip("; "))
    yield from (
        Figure(f"by machine, {plan.job.passes[k].side}", str(figures.placements))
        for k in passes
        for s in plan.set_ups
        for p, figures in zip(s.passes, s.figures, strict=True)
        if p == k and len(passes) > 1
    )
    hand = _hand_range(plan, passes, by_hand)
    yield Figure(
        "by hand or odd-form", count(hand), "the most if what is not proved goes by hand too" if not_proved else ""
    )
    planned = {p for s in plan.set_ups for p in s.passes}
    if left := [plan.job.passes[k].name for k in passes if k not in planned]:
        yield Figure("no plan", "not known", ", ".join(left))


def _hand_range(plan: Plan, passes: Sequence[int], by_hand: Sequence[HandRow]) -> Interval:
    """Return how many parts go by hand: at least what no machine takes, at most also what is not proved."""
    sure = sum(row.count for row in by_hand)
    return Interval(sure, sure + sum(given for _, f, given in _mine(plan, passes) if f.undecided))


def _set_up(plan: Plan, passes: Sequence[int], by_hand: Sequence[HandRow], *, several: bool) -> Iterator[Figure]:
    mine = _mine(plan, passes)
    machine, hand = {f.part for _, f, _ in mine}, {row.part for row in by_hand}
    yield Figure("distinct part numbers", str(len(machine | hand)), f"{len(machine)} by machine, {len(hand)} by hand")
    feeders = {(f.machine, f.part, f.supply) for _, f, _ in mine}
    kinds = [s or "packing not known" for *_, s in feeders]
    told = ", ".join(f"{kinds.count(kind)} {kind}" for kind in sorted(set(kinds), key=lambda k: -kinds.count(k)))
    yield Figure("feeders and trays", str(len(feeders)), told)
    rows = [(s, o) for s in plan.set_ups if set(s.passes) & set(passes) for o in s.occupied]
    for s, o in rows[:_MOST_SLOTS]:
        which = f", {sentence(s.name)}" if len(plan.set_ups) > 1 else ""
        trays = f"tray places {tray_places(o)}" if o.trays_needed.high else ""
        shared = "all boards of the set-up" if several and len(s.passes) > len(passes) else ""
        yield Figure(f"slots, {o.where}{which}", slots(o), "; ".join(piece for piece in (trays, shared) if piece))
    if len(rows) > _MOST_SLOTS:
        yield Figure("slots", f"of {len(rows) - _MOST_SLOTS} more machines", "in the plan")
    changes = plan.changeovers
    off, on = sum(len(c.out) for c in changes), sum(len(c.into) for c in changes)
    yield Figure("feeders changed between set-ups", f"{off} off, {on} on" if changes else "none: one set-up")


def _time(
    plan: Plan, board: str, passes: Sequence[int], by_hand: Sequence[HandRow], hand_seconds: float | None
) -> Iterator[Figure]:
    pieces = _pieces(plan, passes)
    for s in plan.set_ups:
        for p, figures in zip(s.passes, s.figures, strict=True):
            if p in passes:
                told = "not known" if s.by_count else span(figures.cycle, "s")
                note = "times are not stated" if s.by_count else f"as planned, {set_by(figures)}"
                note += _a_board(figures.cycle, pieces, " s")
                yield Figure(f"cycle, {plan.job.passes[p].side}", told, note)
    others = {p.board for p in plan.job.passes} - {board}
    yield from (
        Figure(f.label, f.value, f.note) for f in figures_of(plan) if not any(f.label.endswith(o) for o in others)
    )
    yield _hand_minutes(_hand_range(plan, passes, by_hand), {row.each for row in by_hand} or {hand_seconds})


def _hand_minutes(parts: Interval, each: set[float | None]) -> Figure:
    """Return the minutes of placing by hand, as a range where it is open what goes there."""
    label = "hand minutes"
    if parts.high == 0:
        return Figure(label, "0", "nothing goes by hand")
    if len(each) > 1 or None in each:
        return Figure(label, "not known", f"{_parts(parts)} by hand; --hand-seconds gives the time for one")
    seconds = next(iter(each)) or 0.0
    minutes = Interval(*(round(end * seconds / 60, 2) for end in (parts.low, parts.high)))
    return Figure(label, count(minutes), f"{_parts(parts)} × {seconds:g} s; placing alone, not soldering")


def _parts(parts: Interval) -> str:
    """Return a number of parts: ``11 parts``, ``11 to 18 parts``."""
    return numbered(int(parts.low), "part") if parts.is_exact else f"{count(parts)} parts"


def _open(asked: Sequence[tuple[int, Question]]) -> Iterator[Figure]:
    yield Figure("questions", str(len(asked)), "" if asked else "none")
    words = {Severity.STOP: "hold the order", Severity.ASSUMED: "assumed", Severity.ADVICE: "advice"}
    for group, word in words.items():
        number = sum(q.group is group for _, q in asked)
        if number:
            yield Figure(word, str(number))


def _about(question: Question) -> str:
    """Return the designators that a question is about, or the names of its parts; empty where it names none."""
    refs = question.refs or tuple(ref for row in question.rows for ref in row.refs or (row.name,))
    return shortened(refs, _MOST_REFS)


def quote_text(found: Sequence[Quote], width: int = WIDTH_WHEN_PIPED) -> str:
    """Return the sheets as text."""
    lines: list[str] = []
    for q in found:
        lines += wrapped(f"{VERDICT_WORDS[q.verdict]}  Quote sheet of {q.board} on {q.line}", width, "", "    ")
        lines += [*wrapped(q.sentence, width, "  ", "  "), f"  all counts for one {q.per}"]
        for title, figures in q.sections:
            lines += ["", title]
            wide = max((len(f.label) for f in figures), default=0)
            for f in figures:
                text = f"{f.label.ljust(wide)}  {f.value}" + (f" ({f.note})" if f.note else "")
                lines += wrapped(text, width, "  ", " " * (wide + 4))
            if title == "Placements":
                lines += ["", *_class_table(q)]
        asked = [f"{number}. {f'{about}: ' if about else ''}{ask}" for number, about, ask in q.asked]
        lines += [t for text in asked for t in wrapped(text, width, "  ", "      ")]
        if q.more_asked:
            lines.append(f"  and {q.more_asked} more: capcheck check … --format questions")
        lines.append("")
    return "".join(f"{line}\n" for line in [*lines, *wrapped(cautions(), width)])


def _class_table(q: Quote) -> Iterator[str]:
    rows = [("by class", "parts", "part numbers", "joints")]
    rows += [(c.name, str(c.parts), str(c.part_numbers), c.joints_text) for c in q.classes]
    widths = [max(len(row[k]) for row in rows) for k in range(4)]
    for name, *numbers in rows:
        cells = "  ".join(n.rjust(w) for n, w in zip(numbers, widths[1:], strict=True))
        yield f"  {name.ljust(widths[0])}  {cells}"

"""What a reader wants first of a plan: verdict, what is not placed, cycle and bottleneck, output, slots; then why."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from capcheck.lexicon import sentence
from capcheck.planning import Occupied, PassFigures, Plan, SetUp
from capcheck.report.plan.spans import count, ends, numbered, some, span, why_lines
from capcheck.values import counted

_WORDS: Final = {"pass": "PASS", "warn": "WARN", "fail": "FAIL", "unanswered": "UNANSWERED"}
_INDENT: Final = "      "


def verdict_word(plan: Plan) -> str:
    """Return the verdict as every text prints it."""
    return _WORDS[plan.verdict]


def verdict_sentence(plan: Plan) -> str:
    """Return the verdict in one sentence: that all is placed is said only where it is, and what is open beside it."""
    if plan.unanswered:
        return f"not answered, so nothing is proved: {sentence(plan.unanswered[0])}"
    if plan.failed:
        stop = counted(len(plan.failed), "thing stops", "things stop")
        return f"does not build as planned: {stop} it; first, {sentence(plan.failed[0])}"
    if not plan.job.passes:
        open_ = f": {counted(len(plan.warned), 'thing')} to settle or look at first" if plan.warned else ""
        return f"nothing to place by machine{open_}"
    if not plan.set_ups:
        return "no plan was found in the time limit"
    placed = "every part has a place"
    if plan.shortage is not None:
        left = plan.shortage.take_off
        placements = numbered(sum(number for _, number in left), "placement")
        placed = f"all but {numbered(len(left), 'part number')} ({placements}) have a place"
    found = plan.board_figures()
    rate = ""
    if len(found) == 1:
        panels = f", in panels of {found[0].pieces}" if found[0].pieces > 1 else ""
        rate = f", {span(found[0].per_hour, 'boards/h', 1)} while the line runs{panels}"
    open_ = f"; {counted(len(plan.warned), 'thing')} to settle or look at first" if plan.warned else ", proved"
    return f"{placed}{rate}{open_}"


def summary(plan: Plan) -> Iterator[str]:
    """Yield the head of a plan: at most a screen, whatever follows."""
    yield f"{verdict_word(plan)}  Plan of {plan.job.name} on {plan.line}"
    yield f"{_INDENT}machines: {', '.join(plan.machines)}"
    yield f"{_INDENT}not placed: {left_over_line(plan)}"
    for set_up in plan.set_ups:
        yield from (f"{_INDENT}{line}" for line in _cycles(set_up))
    yield from (f"{_INDENT}{line}" for line in boards(plan))
    for set_up in plan.set_ups:
        of = f"{sentence(set_up.name)}, slots" if len(plan.set_ups) > 1 else "slots"
        yield f"{_INDENT}{of}: {'; '.join(f'{o.where} {slots(o)}' for o in set_up.occupied)}"
        trays = [f"{o.where} {tray_places(o)}" for o in set_up.occupied if o.trays_needed.high]
        if trays:
            yield f"{_INDENT}tray places: {'; '.join(trays)}"
    if plan.why:
        yield ""
        yield (
            "What is not answered"
            if plan.unanswered
            else "What fails"
            if not plan.warned
            else "What fails or warns"
            if plan.failed
            else "What warns"
        )
    yield from (f"  {text}" for text in why_lines(plan))


def left_over_line(plan: Plan) -> str:
    """Return what has no place on the line, the first part numbers by name."""
    if plan.shortage is None:
        return "nothing" if plan.set_ups or not plan.job.passes else "everything, as there is no plan"
    parts = plan.shortage.take_off
    placements = numbered(sum(number for _, number in parts), "placement")
    listed = some([part for part, _ in parts])
    return f"{numbered(len(parts), 'part number')}, {placements}: {listed}; what follows is without them"


def _cycles(set_up: SetUp) -> Iterator[str]:
    for figures in set_up.figures:
        placements = f"{figures.board}, {numbered(figures.placements, 'placement')}"
        yield f"{placements}: {'cycle not computed' if set_up.by_count else cycle(figures)}"


def cycle(figures: PassFigures) -> str:
    """Return a pass's cycle with what sets it, and what is planned where that differs from the fast end."""
    known = math.isclose(figures.cycle.low, figures.planned)
    planned = "" if known else f"planned {figures.planned:.2f} s, "
    return f"cycle {span(figures.cycle, 's')}, {planned}{set_by(figures)}"


def set_by(figures: PassFigures) -> str:
    """Return what sets a pass's cycle; where some time is not stated, only which of the others is the longest."""
    return f"set by {figures.bottleneck}{' as far as times are stated' if figures.untimed else ''}"


def slots(o: Occupied) -> str:
    """Return the slots that a machine's set-up takes of those there are, in words."""
    if math.isfinite(o.slots_needed.high):
        need = count(o.slots_needed)
    elif o.slots_needed.low > 0:
        need = f"{o.slots_needed.low:g} and more"
    else:
        need = "unknown"
    return _of(need, o.slots)


def tray_places(o: Occupied) -> str:
    """Return the tray places that a machine's set-up takes of those there are, in words."""
    need = f"at most {o.trays_needed.high:g}" if o.trays_needed.low == 0 else count(o.trays_needed)
    return _of(need, o.trays)


def _of(need: str, there: int | None) -> str:
    if there is None:
        return f"{need}; how many there are is not stated"
    return f"{need} of {there}" if need != "unknown" else f"unknown, there are {there}"


def boards(plan: Plan) -> Iterator[str]:
    """Yield what the line makes of each board, all its passes and the boards of a panel."""
    for board in plan.board_figures():
        uptime = ""
        if plan.uptime is not None:
            uptime = f"; with the uptime {span(board.per_scheduled_hour(plan.uptime), 'boards/h', 1)}"
        made = f"{span(board.per_hour, 'boards/h', 1)}{uptime}"
        panels = f" a panel of {board.pieces}, {span(board.seconds_a_board, 's')} a board" if board.pieces > 1 else ""
        if board.sides > 1:
            sides = " + ".join(ends(c) for c in board.cycles)
            yield f"{board.board}, both sides on this line: {sides} = {span(board.seconds, 's')}{panels}: {made}"
        else:
            pieces = f" of a panel × {board.pieces}" if board.pieces > 1 else ""
            each = f"; {span(board.seconds_a_board, 's')} a board" if board.pieces > 1 else ""
            yield f"{board.board}: 3600 s / cycle{pieces} = {made}{each}"

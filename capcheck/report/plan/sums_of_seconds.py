"""The seconds of a plan as sums that can be redone by hand, and the accuracy of placing likewise."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.lexicon import sentence
from capcheck.model import Said
from capcheck.planning import CPK_CAPABLE, GantrySum, MachineTime, Placing, Term
from capcheck.report.plan.spans import numbered, some, span

_TIGHTEST: Final = 8
_FEW: Final = 4


def _term(term: Term) -> str:
    return f"{term.work}: {term.count:g} × {term.seconds:.4g} s = {term.total:.3f} s  ({sentence(term.source)})"


def machine_sum(time: MachineTime) -> Iterator[str]:
    """Yield the sum of one machine's time for one board, and where its fast end differs."""
    if not time.placements:
        yield f"    {time.machine}: {span(time.seconds, 's')}, places nothing: transfer and fiducials alone"
    else:
        bases = "; ".join(map(str, time.bases))
        yield f"    {time.machine}: {span(time.seconds, 's')} for {numbered(time.placements, 'placement')} ({bases})"
    yield from (f"      {_term(term)}" for term in (time.transfer, time.fiducials))
    if time.stop.count:
        yield f"      {_term(time.stop)}"
    for gantry in time.gantries:
        yield from (
            f"      gantry {gantry.gantry}, {h}: {_term(t)}" for h, terms in gantry.heads for t in terms if t.total
        )
    if time.placements:
        yield from _placing(time.gantries, time.placing, "placing")
    yield f"      {_whole(time, time.placing, hides=time.hidden_transfer)}"
    if time.placements and not math.isclose(time.seconds.low, time.planned):
        yield from _other_end(time, "best case", time.fast, time.fast_placing, hides=time.fast_hides)
    if time.placements and time.most_placing > time.placing:
        what = "worst case, kinds of nozzles not known"
        yield from _other_end(time, what, time.most, time.most_placing, hides=time.hidden_transfer)
    if time.rated:
        yield f"      at rated speed, placing alone: {time.rated:.3f} s (for comparison, not an expectation)"
    if time.missing:
        yield f"      not stated, so at least this: {', '.join(time.missing)}"


def _placing(gantries: Sequence[GantrySum], placing: float, what: str) -> Iterator[str]:
    sums = [f"gantry {g.gantry} {g.total:.3f}" for g in gantries]
    if len(gantries) == 1:
        yield f"      {what}: sum of these {placing:.3f} s"
        return
    above = " + ".join(f"{g.over_board:.3f}" for g in gantries)
    over = sum(g.over_board for g in gantries)
    yield (
        f"      {what}: the longest of {', '.join(sums)} s, but at least the time over the board (place and moves "
        f"between places), where one gantry works at a time: {above} = {over:.3f} s; so {placing:.3f} s"
    )


def _whole(time: MachineTime, placing: float, *, hides: bool, fast: bool = False) -> str:
    transfer = time.fast_transfer if fast else time.transfer.total
    marks = time.fiducials.total + (time.fast_stop if fast else time.stop.total)
    if not hides:
        return f"{transfer:.3f} + {marks:.3f} + {placing:.3f} = {transfer + marks + placing:.3f} s"
    half = (transfer + marks + placing) / 2
    return (
        f"two lanes hide the transfer: the larger of {marks:.3f} + {placing:.3f} = {marks + placing:.3f} and "
        f"({transfer:.3f} + {marks:.3f} + {placing:.3f}) / 2 = {half:.3f}: {max(marks + placing, half):.3f} s"
    )


def _other_end(
    time: MachineTime, what: str, gantries: Sequence[GantrySum], placing: float, *, hides: bool
) -> Iterator[str]:
    """Yield the terms in which one end of the time differs from what is planned, and its sum."""
    for planned, other in zip(time.gantries, gantries, strict=True):
        for (head, before), (_, after) in zip(planned.heads, other.heads, strict=True):
            kinds = {t.work for t in after}
            gone = [f"no {t.work}" for t in before if t.work not in kinds and t.total]
            new = [_term(t) for t in after if t not in before]
            if new or gone:
                yield f"      {what}, gantry {planned.gantry}, {head}: {'; '.join([*new, *gone])}"
    end = what.split(",", maxsplit=1)[0]
    yield from _placing(gantries, placing, f"{end}, placing")
    yield f"      {end}: {_whole(time, placing, hides=hides, fast=gantries is time.fast)}"


def accuracy_lines(placings: Sequence[Placing]) -> Iterator[str]:
    """Yield the tightest placements of the heads in use with their Cpk as a sum."""
    known: dict[tuple[str, float, Said], list[Placing]] = {}
    for placing in placings:
        if placing.used and not placing.missing:
            known.setdefault((placing.machine, placing.capability.cpk.low, placing.joint.formula), []).append(placing)
    if not known:
        return
    yield (
        f"Accuracy, tightest first: Cpk = (allowed − rotation at the outermost lead) / (3 × sigma), on a land as wide "
        f"as the lead; {CPK_CAPABLE:g} is usual"
    )
    every = list(known.values())
    for alike in every[:_TIGHTEST]:
        yield f"  {_cpk(alike)}"
    rest = dict.fromkeys(p.part for alike in every[_TIGHTEST:] for p in alike if p.reaches is not True)
    if rest:
        yield f"  not proved to reach {CPK_CAPABLE:g} either: {some(list(rest))}"
    reached = {p.part for alike in every[_TIGHTEST:] for p in alike if p.reaches is True}
    if reached:
        yield f"  {CPK_CAPABLE:g} reached by {numbered(len(reached), 'part number')} more"


def _cpk(alike: Sequence[Placing]) -> str:
    placing = alike[0]
    found = placing.capability
    error = f"({found.allowed.low:.4f} − {found.rotation.high:.4f}) mm"
    low = f"{error} / (3 × {found.sigma.high:.5f} mm) = {found.cpk.low:.2f}"
    word = {True: "reached", False: "not reached", None: "undecided"}[placing.reaches]
    upper = "" if found.cpk.is_exact else f" at least, {found.cpk.high:.2f} at most"
    assumed = f"; taken for it: {sentence(placing.joint.assumed)}" if placing.joint.assumed else ""
    parts, heads = (list(dict.fromkeys(names)) for names in zip(*((p.part, p.head) for p in alike), strict=True))
    more = f" and {len(parts) - _FEW} more" if len(parts) > _FEW else ""
    where = f"{', '.join(parts[:_FEW])}{more} on {placing.machine}/{', '.join(heads)}"
    return f"{where}: {low}{upper}: {word} (allowed: {sentence(placing.joint.formula)}{assumed})"

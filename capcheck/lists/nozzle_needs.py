"""Which bodies need which nozzle of the line's profiles, and what no nozzle takes.

A nozzle holds a body whose sides are within its own, by what lies on top or by the sides. It counts where its
head takes the part too, by the rules of the check.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from capcheck.checking import Report
from capcheck.engine import TypeTakers
from capcheck.facts import names_of
from capcheck.lists.order_quantity import longer_side
from capcheck.lists.part_list import Cell, ListRow, PartList, body_of_type, label_of_type, refs_of
from capcheck.lists.tables import Top, tops
from capcheck.machines import Head, Nozzle
from capcheck.model import Basis, Board, Body, Mounting, Said, say
from capcheck.packages import class_named
from capcheck.values import Interval

COLUMNS = ("part number", "result", "length mm", "width mm", "top", "nozzles", "perhaps")
_UNSHOWN = frozenset({"part number"})
_RESULT = COLUMNS.index("result")


class _Top(Struct, frozen=True):
    """What lies on top to hold the body by, and the row of the table that says so."""

    form: Top
    source: Said


class _Held(Struct):
    """What could hold the parts of one type: nozzles for certain and perhaps by head, and heads without a table."""

    sure: dict[str, list[str]]
    perhaps: dict[str, list[str]]
    silent: list[str]


def nozzle_list(report: Report) -> PartList:
    """Return a row for each type of part, those without a nozzle first; the report must have a line.

    Every fitted part is in one row; what no placement head is asked about is said to be placed by hand.
    """
    board, heads = report.board, list(_heads(report))
    rows = [_row(board, taker, heads) for taker in report.takers]
    rows.sort(key=lambda row: (_ORDER.index(str(row.cells[_RESULT])), str(row.cells[0])))
    fitted = {result: sum(len(row.refs) for row in rows if row.cells[_RESULT] == result) for result in _ORDER}
    total = say(
        "lists.nozzles",
        fitted=sum(fitted.values()),
        held=fitted["held"],
        none=fitted["no nozzle"],
        unknown=fitted["not known"],
        hand=fitted["by hand"],
        bare=fitted["nothing"],
    )
    needs = _needs(board, report.takers, heads)
    return PartList("nozzles", board.name, COLUMNS, rows, [total, *needs], list(_notes(report)), unshown=_UNSHOWN)


_ORDER = ("no nozzle", "not known", "held", "by hand", "nothing")


def _heads(report: Report) -> Iterator[tuple[str, Head]]:
    """Yield each head of the line with its name, in the order of the answers."""
    for machine in report.line.machines if report.line else ():
        for head in machine.head:
            yield f"{machine.name} / {head.name}", head


def _row(board: Board, taker: TypeTakers, heads: Sequence[tuple[str, Head]]) -> ListRow:
    body, label = body_of_type(board, taker.index), label_of_type(board, taker.index)
    length, width = longer_side(body), shorter_side(body)
    top = top_of(body)
    refs = refs_of(board, taker.rows)
    sizes = tuple(None if not side.is_known else side for side in (length, width))
    form = None if top.form == "open" else top.form
    if not taker.on_heads:
        is_nothing = body.mounting is Mounting.NONE
        source = say("lists.nothing placed") if is_nothing else say("lists.not on heads")
        return ListRow(refs, (label, "nothing" if is_nothing else "by hand", *sizes, form, "", ""), source)
    held = _held(board, taker, heads)
    result, source = _result(taker, held, top)
    is_sized = length.is_known and width.is_known
    perhaps = () if held.sure else _told(held.perhaps) if is_sized else None
    cells: tuple[Cell, ...] = (label, result, *sizes, form, _told(held.sure), perhaps)
    return ListRow(refs, cells, source)


def _told(nozzles: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    return tuple(f"{head}: {', '.join(names)}" for head, names in nozzles.items())


def _held(board: Board, taker: TypeTakers, heads: Sequence[tuple[str, Head]]) -> _Held:
    body = body_of_type(board, taker.index)
    names = names_of(board, taker.index) if taker.index >= 0 else []
    length, width, form = longer_side(body), shorter_side(body), top_of(body).form
    held = _Held({}, {}, [])
    for take, (name, head) in zip(taker.takes, heads, strict=True):
        if take.state < 0:
            continue
        if head.nozzle is None:
            held.silent.append(name)
            continue
        for nozzle in head.nozzle:
            fits = holds(nozzle, length, width, form, names)
            if fits is not False:
                sure = fits is True and take.state > 0
                (held.sure if sure else held.perhaps).setdefault(name, []).append(nozzle.name)
    return held


def holds(nozzle: Nozzle, length: Interval, width: Interval, top: Top, names: Sequence[str]) -> bool | None:
    """Whether a nozzle holds a part with these sides, longer and shorter, and names; None where that is not decided."""
    answers = nozzle.fits(length, width), _by_form(nozzle, top), nozzle.is_for(names)
    return False if False in answers else None if None in answers else True


def _by_form(nozzle: Nozzle, top: Top) -> bool | None:
    """Whether it holds what lies on top; a gripper takes the sides of all that is not round."""
    if nozzle.holds == "sides":
        return top != "round"
    return None if top == "open" else top == nozzle.holds


def _result(taker: TypeTakers, held: _Held, top: _Top) -> tuple[str, Said]:
    if held.sure:
        return "held", say("lists.nozzle holds", top=top.source)
    if held.silent or held.perhaps:
        states = [take.state for take in taker.takes]
        rules = sorted({take.rule for take in taker.takes if take.state == 0 and take.rule})
        if held.silent and not held.perhaps:
            return "not known", say("lists.no nozzle table", heads=held.silent)
        if max(states, default=0) == 0 and rules:
            return "not known", say("lists.head undecided", rules=rules, top=top.source)
        return "not known", say("lists.nozzle undecided", top=top.source)
    rules = sorted({take.rule for take in taker.takes if take.rule})
    if all(take.state < 0 for take in taker.takes):
        return "no nozzle", say("lists.no head takes it", rules=rules)
    return "no nozzle", say("lists.no nozzle holds", top=top.source)


def shorter_side(body: Body) -> Interval:
    """Return the shorter side by code where one is named, else as known."""
    by_name = body.nominal_width.basis is not Basis.UNKNOWN
    return (body.nominal_width if by_name else body.width).proved.value


def top_of(body: Body) -> _Top:
    """Return what lies on top of a part: by its class, its family, the form of its terminations."""
    known = None if body.part_class is None else class_named(body.part_class)
    if known is not None and known.flat_top is not None:
        return _Top("flat" if known.flat_top else "none", say("lists.top by class", name=known.name))
    table = tops()
    if body.family_key in table.families:
        return _Top(table.families[body.family_key], say("lists.top by family", name=str(body.family_key)))
    if body.lead_style in table.forms:
        return _Top(table.forms[body.lead_style], say("lists.top by form", name=str(body.lead_style)))
    return _Top("open", say("lists.top not known"))


def _needs(board: Board, takers: Sequence[TypeTakers], heads: Sequence[tuple[str, Head]]) -> Iterator[Said]:
    """Yield how many parts each nozzle of each head can hold, and how many no other nozzle of the line can."""
    can: Counter[tuple[str, str]] = Counter()
    only: Counter[tuple[str, str]] = Counter()
    for taker in takers:
        held = _held(board, taker, heads) if taker.on_heads else _Held({}, {}, [])
        pairs = [(head, nozzle) for head, nozzles in held.sure.items() for nozzle in nozzles]
        can.update(dict.fromkeys(pairs, len(taker.rows)))
        if len(pairs) == 1:
            only[pairs[0]] += len(taker.rows)
    idle = []
    for name, head in heads:
        named = [nozzle.name for nozzle in head.nozzle or ()]
        counts = {nozzle: can[name, nozzle] for nozzle in named if can[name, nozzle]}
        if unused := [nozzle for nozzle in named if nozzle not in counts]:
            idle.append(f"{name}: {', '.join(unused)}")
        if counts:
            yield say("lists.nozzles of head", head=name, nozzles=[f"{n} {count}" for n, count in counts.items()])
        if head.nozzle_kinds is not None and len(counts) > head.nozzle_kinds:
            yield say("lists.more kinds", head=name, used=len(counts), kinds=head.nozzle_kinds)
    if idle:
        yield say("lists.nozzles of no use", nozzles=idle)
    for (name, nozzle), count in only.items():
        yield say("lists.only nozzle", head=name, nozzle=nozzle, count=count)


def _notes(report: Report) -> Iterator[Said]:
    silent = [name for name, head in _heads(report) if head.nozzle is None]
    if silent:
        yield say("lists.profile without nozzles", heads=silent)
    yield say("lists.holes on top")

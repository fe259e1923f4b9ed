"""Facts about the board on the conveyor of each machine, in the direction chosen for it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.machine import all_of, any_of
from capcheck.facts.place import contour_of, size_of
from capcheck.geometry import (
    BoxSide,
    SideProfile,
    TransportLimits,
    Travel,
    TravelReason,
    Wish,
    aspect,
    bow_height,
    choose_travel,
    corner_radius,
    cutout_behind_edge,
    hole_at_edge,
    ratio,
    side_profiles,
    twist_height,
)
from capcheck.lexicon import sentence
from capcheck.machines import BoardLimits, Line
from capcheck.model import Board, Note, Said, say
from capcheck.values import LENGTH, NUMBER, UNKNOWN, UNKNOWN_SIZE, Interval

facts = Catalogue()


def lane_modes(board: BoardLimits) -> tuple[TransportLimits, ...]:
    """Return the board sizes that the conveyor takes: with both lanes running, then with one."""

    def between(low: float | None, high: float | None) -> Interval:
        return Interval(low or 0.0, math.inf if high is None else high)

    along = between(board.min_length, board.max_length)
    single = TransportLimits(along, between(board.min_width, board.max_width), "one lane")
    narrow = board.max_dual_lane_width
    if narrow is None or narrow < (board.min_width or 0.0):
        return (single,)
    return TransportLimits(along, between(board.min_width, narrow), "both lanes"), single


def wished_travel(board: Board) -> Wish | None:
    """Return the way that board.toml states, else the one in which a panel's wider pair of rails is carried."""
    stated, panel = board.manifest.travel, board.manifest.panel
    if stated is not None:
        return Wish(stated == "along y", TravelReason.STATED, only=True)
    if panel is None:
        return None
    rails = panel.rails
    along_x, along_y = min(rails.bottom, rails.top), min(rails.left, rails.right)
    return None if along_x == along_y else Wish(along_y > along_x)


def travels(board: Board, line: Line) -> list[Travel]:
    """Return how the board travels through each machine: the same way through all of them where one way fits all.

    Machines stand one behind the other, and a board is not turned in between where it need not be.
    """
    length, width = (side.value for side in size_of(board))

    def through_all(wish: Wish | None) -> list[Travel]:
        return [choose_travel(length, width, lane_modes(m.board), wish) for m in line.machines]

    each = through_all(wished_travel(board))
    fitting = [travel.turned for travel in each if travel.fits is not False]
    if len(set(fitting)) > 1:
        for turned in sorted({True, False}, key=lambda way: (-fitting.count(way), way)):
            alike = through_all(Wish(turned, TravelReason.SUITS_ALL_MACHINES, only=True))
            if all(same.fits is own.fits or own.fits is False for same, own in zip(alike, each, strict=True)):
                return alike
    return each


def each_way(board: Board, line: Line) -> list[tuple[bool | None, bool | None]]:
    """Return for each machine whether it takes the board along the board's x, and along its y; None is undecided.

    A way that board.toml rules out is not taken.
    """
    length, width = (side.value for side in size_of(board))
    stated = board.manifest.travel
    allowed = [stated in {None, "along x"}, stated in {None, "along y"}]

    def taken(modes: tuple[TransportLimits, ...], *, turned: bool) -> bool | None:
        return choose_travel(length, width, modes, Wish(turned, only=True)).fits if allowed[turned] else False

    modes = [lane_modes(machine.board) for machine in line.machines]
    return [(taken(mode, turned=False), taken(mode, turned=True)) for mode in modes]


def travel_notes(session: Session, board: Board, line: Line) -> list[Note]:
    """Return a note for each way of travel, with the edges that are carried and the line that overrides it."""
    if not all(side.value.is_known for side in size_of(board)):
        return []
    every = [(t.turned, t.fits is False, t.reason) for t in session.shared(travels)]
    ways = [way for at, way in enumerate(every) if way not in every[:at]]
    notes = []
    for turned, refused, reason in ways:
        names = [m.name for m, way in zip(line.machines, every, strict=True) if way == (turned, refused, reason)]
        by = [say("facts.every machine")] if len(names) == len(line.machines) > 1 else names
        key = "facts.judged as carried" if refused else "facts.carried"
        said = say(key, turned=turned, machines=by, reason=reason)
        stated = board.manifest.travel is not None
        notes.append(Note(said if stated or refused else say("facts.to override", said=said, turned=turned)))
    if len({turned for turned, refused, _ in ways if not refused}) > 1:
        notes.append(Note(say("facts.turned between machines")))
    return notes


def _profiles(board: Board) -> dict[BoxSide, SideProfile] | None:
    outline = contour_of(board)
    return None if outline is None else side_profiles(outline.polygon)


def _hole_at_edge(board: Board) -> tuple[float, Said] | None:
    outline = contour_of(board)
    return None if outline is None else hole_at_edge(outline.polygon, outline.holes)


@facts.number("transport.length", LENGTH, "board or panel along the conveyor", needs="outline")
def _length(session: Session, board: Board) -> Numbers:
    return Numbers.of([t.along for t in session.shared(travels)], lambda _: board.size.length.source)


@facts.number("transport.width", LENGTH, "board or panel across the conveyor", needs="outline")
def _width(session: Session, board: Board) -> Numbers:
    return Numbers.of([t.across for t in session.shared(travels)], lambda _: board.size.width.source)


@facts.text("transport.direction", "which way the board travels", choices=("long edge", "short edge"), needs="outline")
def _direction(session: Session) -> Texts:
    return Texts.of(["long edge" if t.along.high >= t.across.high else "short edge" for t in session.shared(travels)])


@facts.text("transport.lanes", "lanes that the board can run in", choices=("both lanes", "one lane"), needs="outline")
def _lanes(session: Session) -> Texts:
    return Texts.of([t.mode or "one lane" for t in session.shared(travels)])


@facts.flag("transport.takes_spread", "whether the conveyor takes a board at least as large as the placements' spread")
def _takes_spread(session: Session, board: Board) -> Truths:
    known = board.unit_settled and board.size.length.value.low > 0
    return Truths.of((t.fits is not False) if known else None for t in session.shared(travels))


def takes_one_way(ways: Iterable[tuple[bool | None, bool | None]]) -> bool | None:
    """Whether one way round suits all machines that take the board; *ways* are those of :func:`each_way`.

    A machine that takes it neither way is the matter of another rule.
    """
    taking = [way for way in ways if way != (False, False)]
    return any_of(all_of(same) for same in zip(*taking, strict=True)) if taking else True


@facts.flag(
    "line.takes_one_way", "whether the machines that take the board take it the same way round", needs="outline"
)
def _one_way(session: Session) -> Truths:
    return Truths.of([takes_one_way(session.shared(each_way))])


@facts.text("line.ways", "which machines take the board along its x only, and which along its y only", needs="outline")
def _ways(session: Session, line: Line) -> Texts:
    told = {(True, False): "along x", (False, True): "along y"}
    ways = zip(line.machines, session.shared(each_way), strict=True)
    return Texts.of([", ".join(f"{machine.name} {told[way]}" for machine, way in ways if way in told)])


@facts.number("board.aspect", NUMBER, "longer side over shorter side", needs="outline")
def _aspect(board: Board) -> Numbers:
    length, width = (side.value for side in size_of(board))
    return Numbers.of([aspect(length, width)])


@facts.number("transport.width_to_thickness", NUMBER, "width across the conveyor over thickness", needs="outline")
def _slenderness(session: Session, board: Board) -> Numbers:
    return Numbers.of(ratio(t.across, board.size.thickness.value) for t in session.shared(travels))


@facts.number("board.corner_radius", LENGTH, "least radius or chamfer of the four corners", needs="outline")
def _corner(session: Session) -> Numbers:
    profiles = session.shared(_profiles)
    return Numbers.of([UNKNOWN if profiles is None else Interval.exactly(round(corner_radius(profiles), 3))])


def _of_sides(
    session: Session, sides: str, measure: Callable[[SideProfile], float], worst: Callable[..., float]
) -> Numbers:
    profiles = session.shared(_profiles)
    if profiles is None:
        return Numbers.of([UNKNOWN] * len(session.shared(travels)))
    return Numbers.of(
        Interval.exactly(round(worst(measure(profiles[s]) for s in getattr(travel, sides)), 4))
        for travel in session.shared(travels)
    )


def _away(profile: SideProfile) -> float:
    return max(profile.notch, profile.start_gap, profile.end_gap)


@facts.number("transport.notch", LENGTH, "longest stretch in which a conveyor edge leaves the rail", needs="outline")
def _notch(session: Session) -> Numbers:
    return _of_sides(session, "transported", _away, max)


@facts.number(
    "transport.carried",
    NUMBER,
    "share of a conveyor edge that lies on the rail: at least what does, at most from the first stretch to the last",
    needs="outline",
)
def _carried(session: Session) -> Numbers:
    """Feet at both ends of an edge carry a board that a single one would not: what lies between them is open."""
    least = _of_sides(session, "transported", lambda p: p.carried_share, min)
    most = _of_sides(session, "transported", lambda p: p.carried_reach, min)
    return Numbers(least.low, most.high)


@facts.number("transport.leading_straight", NUMBER, "share of the leading edge that is straight", needs="outline")
def _leading(session: Session) -> Numbers:
    return _of_sides(session, "leading", lambda p: p.straight_share, min)


@facts.number("board.hole_web", LENGTH, "narrowest web between a hole or cut-out and the board's edge", needs="outline")
def _web(session: Session) -> Numbers:
    found = session.shared(_hole_at_edge)
    return Numbers.of([UNKNOWN if found is None else Interval.exactly(round(found[0], 4))])


@facts.text("board.hole_at_edge", "the hole or cut-out nearest to the board's edge", needs="outline")
def _web_place(session: Session) -> Texts:
    found = session.shared(_hole_at_edge)
    return Texts.of(["none" if found is None else sentence(found[1])])


@facts.number(
    "transport.stop_cutout", LENGTH, "cut-out or hole nearest to the leading edge, its distance", needs="outline"
)
def _stop(session: Session, board: Board) -> Numbers:
    outline = contour_of(board)
    if outline is None:
        return Numbers.of([UNKNOWN] * len(session.shared(travels)))
    return Numbers.of(
        Interval.exactly(min(cutout_behind_edge(outline.polygon, side, outline.holes) for side in travel.leading))
        for travel in session.shared(travels)
    )


def _stated(percent: float | None) -> Interval:
    return UNKNOWN_SIZE if percent is None else Interval.exactly(percent)


@facts.number("transport.bow", LENGTH, "rise across the conveyor of a board bowed as far as stated", needs="outline")
def _bow(session: Session, board: Board) -> Numbers:
    percent = _stated(board.manifest.bow_percent)
    return Numbers.of(bow_height(t.across, percent) for t in session.shared(travels))


@facts.number("transport.twist", LENGTH, "lift of one corner of a board twisted as far as stated", needs="outline")
def _twist(session: Session, board: Board) -> Numbers:
    percent = _stated(board.manifest.twist_percent)
    return Numbers.of(twist_height(t.along, t.across, percent) for t in session.shared(travels))

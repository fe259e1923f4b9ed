"""Facts about the parts to place: one row for each fitted part of the placement data."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session, UsualNames
from capcheck.facts.columns import Numbers, Texts, Truths, expected
from capcheck.lexicon import is_named, sentence
from capcheck.machines import TAPE_WIDTHS_MM
from capcheck.model import (
    UNKNOWN_MEASURE,
    Basis,
    Board,
    Body,
    Flags,
    Ints,
    LeadStyle,
    Measure,
    Mounting,
    Packaging,
    PartName,
    Said,
    Topic,
)
from capcheck.values import ANGLE, LENGTH, MASS, NUMBER, Interval, Place

if TYPE_CHECKING:
    from capcheck.packages import PartClass

facts = Catalogue()
_Said = TypeVar("_Said")

PART_LENGTHS: dict[str, tuple[str, Callable[[Body], Measure]]] = {
    "length": ("longer side of the body", lambda b: b.length),
    "width": ("shorter side of the body", lambda b: b.width),
    "height": ("height of the body above the board", lambda b: b.height),
    "nominal_length": (
        "longer side by code or name, without tolerance",
        lambda b: _nominal(b.nominal_length, b.length),
    ),
    "nominal_width": ("shorter side by code or name, without tolerance", lambda b: _nominal(b.nominal_width, b.width)),
    "span": ("width over the leads", lambda b: b.span),
    "pitch": ("least distance between the centres of neighbouring leads, lands or balls", lambda b: b.pitch),
    "ball_diameter": ("diameter of the balls", lambda b: b.ball_diameter),
    "lead_width": ("width of a lead", lambda b: b.lead_width),
    "lead_length": ("length of leads or pegs below the body, into holes of the board", lambda b: b.lead_length),
    "tape_width": ("width of the carrier tape", lambda b: b.tape_width),
}


def _nominal(nominal: Measure, actual: Measure) -> Measure:
    return actual if nominal.basis is Basis.UNKNOWN else nominal


def part_rows(board: Board) -> Ints:
    """Return the placement rows of the parts to place; a part's row in every ``part`` fact is its place here."""
    return np.flatnonzero(board.placements.is_part)


def type_of_part(session: Session, board: Board) -> Ints:
    """Return the part type of each part to place."""
    types: Ints = board.placements.part_type[session.shared(part_rows)]
    return types


def _by_type(session: Session, measures: Sequence[Measure]) -> Numbers:
    # A part without a type would take the last row: it is unknown.
    return Numbers.measured([*measures, UNKNOWN_MEASURE]).take(session.shared(type_of_part))


def _texts(session: Session, values: Sequence[str | None]) -> Texts:
    return Texts.of([*values, None]).take(session.shared(type_of_part))


def _flags(session: Session, values: Sequence[bool | None]) -> Truths:
    return Truths.of([*values, None]).take(session.shared(type_of_part))


def part_label(board: Board, index: int) -> str:
    """Return what a reader calls a type of part: its number, else its value and footprint, else its description."""
    name = board.types[index]
    several = " ".join(filter(is_named, (name.value, name.footprint or name.bom_package)))
    return next(filter(is_named, (name.part_number, several, name.description, "unnamed")))


def _length_provider(of: Callable[[Body], Measure]) -> Callable[[Session, Board], Numbers]:
    def provide(session: Session, board: Board) -> Numbers:
        return _by_type(session, [of(body).proved for body in board.bodies])

    return provide


for name, (text, of) in PART_LENGTHS.items():
    facts.number(f"part.{name}", LENGTH, text)(_length_provider(of))


@facts.text("part.ref", "reference designator")
def _ref(session: Session, board: Board) -> Texts:
    rows, placements = session.shared(part_rows), board.placements

    def source(part: int) -> Place:
        row = rows[part]
        return Place(placements.files[placements.file[row]], int(placements.row[row]))

    return Texts(np.arange(len(rows)), [placements.ref[int(r)] for r in rows], source)


@facts.text("part.type", "part number, or value and footprint where there is none")
def _type(session: Session, board: Board) -> Texts:
    return _texts(session, [part_label(board, i) for i in range(len(board.types))])


@facts.text("part.part_number", "part number, empty where none is given")
def _part_number(session: Session, board: Board) -> Texts:
    return _texts(session, [name.part_number for name in board.types])


@facts.text("part.footprint", "footprint as the customer names it")
def _footprint(session: Session, board: Board) -> Texts:
    return _texts(session, [name.footprint for name in board.types])


def _family_names() -> tuple[str, ...]:
    from capcheck.packages import family_names

    return family_names()


def _name_meant(text: str) -> str | None:
    from capcheck.packages import name_meant

    return name_meant(text)


@facts.text("part.family", "name of the package as understood", names=UsualNames(_family_names, _name_meant))
def _family(session: Session, board: Board) -> Texts:
    return _texts(session, [body.family for body in board.bodies])


def _of_class(board: Board, of: Callable[[PartClass], _Said]) -> list[_Said | None]:
    """Return what the class of each type of part says; None where it has no class."""
    named = {body.part_class for body in board.bodies} - {None}
    if not named:
        return [None] * len(board.bodies)
    from capcheck.packages import class_named

    said = {name: None if (found := class_named(name)) is None else of(found) for name in filter(None, named)}
    return [said.get(body.part_class or "") for body in board.bodies]


def _classes() -> tuple[str, ...]:
    from capcheck.packages import class_names

    return class_names()


@facts.text("part.part_class", "class of parts known by their names, such as 'key switch'", choices=_classes)
def _class(session: Session, board: Board) -> Texts:
    return _texts(session, [body.part_class for body in board.bodies])


@facts.text(
    "part.placed_by", "who places parts of its class", choices=("machine", "hand", "hand after reflow", "nothing")
)
def _placed_by(session: Session, board: Board) -> Texts:
    return _texts(session, _of_class(board, lambda found: found.placed_by))


@facts.flag("part.washable", "whether parts of its class may go through an aqueous wash")
def _washable(session: Session, board: Board) -> Truths:
    return _flags(session, _of_class(board, lambda found: found.washable))


@facts.flag("part.survives_reflow", "whether parts of its class survive reflow soldering")
def _survives_reflow(session: Session, board: Board) -> Truths:
    return _flags(session, _of_class(board, lambda found: found.reflow))


@facts.flag("part.flat_top", "whether parts of its class have a plane on top to hold them by")
def _flat_top(session: Session, board: Board) -> Truths:
    return _flags(session, _of_class(board, lambda found: found.flat_top))


@facts.text("part.mounting", "how the part is mounted", choices=tuple(Mounting))
def _mounting(session: Session, board: Board) -> Texts:
    return _texts(session, [body.mounting for body in board.bodies])


@facts.text("part.lead_style", "form of the terminations", choices=tuple(LeadStyle))
def _lead_style(session: Session, board: Board) -> Texts:
    return _texts(session, [body.lead_style for body in board.bodies])


@facts.text("part.supply", "packaging: tape, tray, tube or bowl", choices=tuple(Packaging))
def _supply(session: Session, board: Board) -> Texts:
    return _texts(session, [body.supply for body in board.bodies])


@facts.text(
    "part.stated_tape",
    "width of the carrier tape as stated",
    choices=tuple(f"{w} mm" for w in TAPE_WIDTHS_MM),
)
def _stated_tape(session: Session, board: Board) -> Texts:
    tapes = [body.tape_width if body.supply is Packaging.TAPE else UNKNOWN_MEASURE for body in board.bodies]
    return _texts(session, [f"{tape.low:g} mm" if tape.basis is Basis.STATED else None for tape in tapes])


@facts.number("part.pins", NUMBER, "terminations")
def _pins(session: Session, board: Board) -> Numbers:
    measures = [
        UNKNOWN_MEASURE if b.pins is None else Measure(Interval.exactly(b.pins), Basis.DECODED, b.body_from)
        for b in board.bodies
    ]
    return _by_type(session, measures)


@facts.number("part.mass", MASS, "mass of the part, where it is stated")
def _mass(session: Session, board: Board) -> Numbers:
    return _by_type(session, [body.mass.proved for body in board.bodies])


@facts.number("part.mass_estimate", MASS, "mass of the part as stated, else estimated from the volume of its body")
def _mass_estimate(session: Session, board: Board) -> Numbers:
    return _by_type(session, [body.mass for body in board.bodies])


@facts.number("part.usual_tape", LENGTH, "width of the carrier tape as stated, else usual for such a body")
def _usual_tape(session: Session, board: Board) -> Numbers:
    return _by_type(session, [body.tape_width for body in board.bodies])


@facts.flag("part.hidden_joints", "whether joints are hidden under the body")
def _hidden(session: Session, board: Board) -> Truths:
    return _flags(session, [body.hidden_joints for body in board.bodies])


@facts.flag("part.in_bom", "whether a line of the bill of materials names the part", needs="bom")
def _in_bom(session: Session, board: Board) -> Truths:
    return Truths.known(board.placements.bom_line[session.shared(part_rows)] >= 0)


@facts.flag("part.named", "whether anything is given that could name the part: number, footprint or package")
def _named(session: Session, board: Board) -> Truths:
    return _flags(session, [bool(n.part_number or n.footprint or n.bom_package) for n in board.types])


@facts.flag("part.fits_land", "whether no text or number names another body than the land pattern's name does")
def _fits_land(session: Session, board: Board) -> Truths:
    return _flags(session, [not body.misfits for body in board.bodies])


@facts.text("part.misfit", "sources that name another body than the land pattern's name does")
def _misfit(session: Session, board: Board) -> Texts:
    return _texts(session, ["; ".join(map(sentence, body.misfits)) or "none" for body in board.bodies])


@facts.flag("part.sources_agree", "whether all texts of the part agree, leaving the land pattern aside")
def _agree(session: Session, board: Board) -> Truths:
    return _flags(session, [not body.conflicts_of_texts for body in board.bodies])


@facts.text("part.conflict", "texts of the part that disagree, leaving the land pattern aside")
def _conflict(session: Session, board: Board) -> Texts:
    return _texts(session, ["; ".join(map(sentence, body.conflicts_of_texts)) or "none" for body in board.bodies])


@facts.flag("part.records_differ", "whether the shop's list and its store state different bodies of the part")
def _records_differ(session: Session, board: Board) -> Truths:
    return _flags(session, [bool(body.of_records) for body in board.bodies])


@facts.flag("part.records_settled", "whether an entry says which is believed where the shop's list and store differ")
def _records_settled(session: Session, board: Board) -> Truths:
    return _flags(session, [all(said.key == "packages.conflict" for said in body.of_records) for body in board.bodies])


@facts.text("part.records", "what the shop's list and its store state differently")
def _records(session: Session, board: Board) -> Texts:
    return _texts(session, ["; ".join(map(sentence, body.of_records)) or "none" for body in board.bodies])


_OF_SIZE_CODES = frozenset(
    f"packages.{key}" for key in ("size code of two systems", "several size codes", "higher than its metric size")
)
_OF_SUPPLY = frozenset({"packages.supply not fed"})


def _about_codes(body: Body) -> list[Said]:
    return [said for said in body.questions if said.key in _OF_SIZE_CODES]


def _about_supply(body: Body) -> list[Said]:
    return [said for said in body.questions if said.key in _OF_SUPPLY]


def _about_sizes(body: Body) -> list[Said]:
    return [said for said in body.questions if said.key not in _OF_SIZE_CODES | _OF_SUPPLY]


def _with_room(body: Body, asked: Sequence[Said]) -> Sequence[Said]:
    """Return what is asked of a size, with what the neighbours tell of the bodies that it may be."""
    return [*asked, *body.no_room] if asked else asked


def _asked(asked: Iterable[Said]) -> str:
    return "; ".join(map(sentence, asked)) or "none"


@facts.flag("part.size_code_settled", "whether the size code can be read in one way only")
def _code_settled(session: Session, board: Board) -> Truths:
    return _flags(session, [not _about_codes(body) for body in board.bodies])


@facts.text("part.question", "what would settle an ambiguous size code")
def _code_question(session: Session, board: Board) -> Texts:
    return _texts(session, [_asked(_with_room(body, _about_codes(body))) for body in board.bodies])


@facts.flag("part.size_settled", "whether every size that a file or a name states can be read, in one way only")
def _size_settled(session: Session, board: Board) -> Truths:
    return _flags(session, [not _about_sizes(body) for body in board.bodies])


@facts.text("part.size_question", "what would settle a size that cannot be read, or in several ways")
def _size_question(session: Session, board: Board) -> Texts:
    return _texts(session, [_asked(_with_room(body, _about_sizes(body))) for body in board.bodies])


@facts.flag("part.supply_settled", "whether what the part is supplied in is known to suit a feeder, where a file tells")
def _supply_settled(session: Session, board: Board) -> Truths:
    return _flags(session, [not _about_supply(body) for body in board.bodies])


@facts.text("part.supply_question", "what would settle how the part is supplied")
def _supply_question(session: Session, board: Board) -> Texts:
    return _texts(session, [_asked(_about_supply(body)) for body in board.bodies])


@facts.number("part.side_index", NUMBER, "0 on the top, 1 on the bottom, -1 where unknown")
def _side_index(session: Session, board: Board) -> Numbers:
    side = board.placements.side[session.shared(part_rows)].astype(np.float64)
    return Numbers(side, side)


@facts.number("part.rotation", ANGLE, "rotation, counter-clockwise, as stated for the part's own side")
def _rotation(session: Session, board: Board) -> Numbers:
    return Numbers.exactly(board.placements.rotation_deg[session.shared(part_rows)])


@facts.flag("part.is_part", "whether it is sure that this is a part, and no feature of the board")
def _is_part(session: Session, board: Board) -> Truths:
    doubted = {ref for told in board.discrepancies if told.topic is Topic.PART_OR_NOT for ref in told.refs}
    from capcheck.packages import says_no_part

    bare = [
        body.mounting is Mounting.NONE and bool(n.part_number or n.dimensions) and not says_no_part(n)
        for body, n in _bodies(board)
    ]
    placed, stated = board.placements, board.manifest.mounting
    rows, types = session.shared(part_rows).tolist(), session.shared(type_of_part).tolist()
    sure = [
        not (placed.ref[row] in doubted or ([*bare, False][kind] and not _matched(placed.ref[row], stated)))
        for row, kind in zip(rows, types, strict=True)
    ]
    return Truths.of([True if s else None for s in sure])


def sure_parts(session: Session) -> Flags:
    """Return which of the parts to place are sure to be parts."""
    return expected(session.get("part.is_part"), Truths).yes


def _bodies(board: Board) -> Iterable[tuple[Body, PartName]]:
    return zip(board.bodies, board.types, strict=True)


def _matched(ref: str, patterns: Iterable[str]) -> bool:
    return any(fnmatchcase(ref, pattern) for pattern in patterns)


@facts.flag("part.located", "whether both coordinates are known")
def _located(session: Session, board: Board) -> Truths:
    rows, placements = session.shared(part_rows), board.placements
    located = np.isfinite(placements.x_mm[rows]) & np.isfinite(placements.y_mm[rows])
    is_open = np.zeros(len(rows), dtype=np.bool_) if placements.place_open is None else placements.place_open[rows]
    return Truths(located & ~is_open, ~located & ~is_open)


@facts.text("part.place_stated", "what the file states in the place of coordinates that cannot be read")
def _place_stated(session: Session, board: Board) -> Texts:
    told = [d for d in board.discrepancies if d.topic is Topic.NO_POSITION]
    of_ref = {ref: sentence(d.evidence) for d in told if d.evidence is not None for ref in d.refs}
    refs = [board.placements.ref[row] for row in session.shared(part_rows).tolist()]
    return Texts.of([of_ref.get(ref, "no coordinates") for ref in refs])

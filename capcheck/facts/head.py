"""Facts about the heads: the profile's fields, in the order of machines and of heads within a machine."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Numbers, Sets, Texts, Truths
from capcheck.machines import TAPE_WIDTHS_MM, Head, Line
from capcheck.model import Packaging
from capcheck.packages import nominal_size
from capcheck.values import ANGLE, FORCE, LENGTH, MASS, NUMBER, RATE, Interval

facts = Catalogue()

NUMBERS = (
    ("max_body_length", LENGTH),
    ("max_body_width", LENGTH),
    ("max_part_height", LENGTH),
    ("min_part_height", LENGTH),
    ("max_part_mass", MASS),
    ("max_lead_length", LENGTH),
    ("min_force", FORCE),
    ("max_force", FORCE),
    ("max_pins", NUMBER),
    ("min_lead_pitch", LENGTH),
    ("min_ball_pitch", LENGTH),
    ("min_ball_diameter", LENGTH),
    ("accuracy", LENGTH),
    ("accuracy_sigma", NUMBER),
    ("rotation_accuracy", ANGLE),
    ("rated", RATE),
    ("nozzles", NUMBER),
)


def heads_of(line: Line) -> list[tuple[int, Head]]:
    """Return every head with the index of its machine, in order."""
    return [(index, head) for index, machine in enumerate(line.machines) for head in machine.head]


def _source(line: Line) -> Callable[[int], str]:
    heads = heads_of(line)

    @cache  # each finding on a head names it, and there are few heads
    def source(row: int) -> str:
        machine, head = line.machines[heads[row][0]], heads[row][1]
        chosen = line.options_of(machine.name)
        mine = [option.name for option in machine.option if option.name in chosen and option.is_for(head)]
        beside = f", with {' and '.join(mine)}" if mine else ""
        return f"profile of {machine.name}, head {head.name}{beside}"

    return source


def _help(field: str) -> str:
    return Head.model_fields[field].description or ""


def _numbers(field: str) -> Callable[[Line], Numbers]:
    def provide(line: Line) -> Numbers:
        return Numbers.stated([getattr(head, field) for _, head in heads_of(line)], _source(line))

    return provide


def _smallest(line: Line) -> list[tuple[Interval, Interval]]:
    unknown = (Interval(0.0, float("inf")), Interval(0.0, float("inf")))
    return [unknown if head.smallest_chip is None else nominal_size(head.smallest_chip) for _, head in heads_of(line)]


def _flag(field: str) -> Callable[[Line], Truths]:
    def provide(line: Line) -> Truths:
        return Truths.of([getattr(head, field) for _, head in heads_of(line)], _source(line))

    return provide


@facts.text("head.name", "name of the head")
def _name(line: Line) -> Texts:
    names = [head.name for _, head in heads_of(line)]
    return Texts(np.arange(len(names)), names)


@facts.number("head.machine_index", NUMBER, "place of its machine in the line, from 0")
def _machine(line: Line) -> Numbers:
    return Numbers.exactly(np.array([float(index) for index, _ in heads_of(line)]))


for field, dimension in NUMBERS:
    facts.number(f"head.{field}", dimension, _help(field))(_numbers(field))


@facts.number("head.smallest_chip_length", LENGTH, "nominal length of the smallest chip")
def _chip_length(line: Line) -> Numbers:
    return Numbers.of((length for length, _ in _smallest(line)), _source(line))


@facts.number("head.smallest_chip_width", LENGTH, "nominal width of the smallest chip")
def _chip_width(line: Line) -> Numbers:
    return Numbers.of((width for _, width in _smallest(line)), _source(line))


@facts.text("head.smallest_chip", _help("smallest_chip"))
def _chip(line: Line) -> Texts:
    return Texts.of([head.smallest_chip for _, head in heads_of(line)])


for field in ("recognises_balls", "coplanarity_check"):
    facts.flag(f"head.{field}", _help(field))(_flag(field))


@facts.set_of("head.takes", "how the parts are mounted that the head places", choices=("surface", "through hole"))
def _takes(line: Line) -> Sets:
    stated = [head.takes or ("surface",) for _, head in heads_of(line)]
    return Sets([frozenset(one.replace("-", " ") for one in takes) for takes in stated], _source(line))


@facts.set_of("head.supplies", _help("supplies"), choices=tuple(Packaging))
def _supplies(line: Line) -> Sets:
    sets = [head.supplies for _, head in heads_of(line)]
    return Sets([None if s is None else frozenset(s) for s in sets], _source(line))


@facts.set_of(
    "head.tapes",
    "widths of carrier tape for which the profile's table has a feeder",
    choices=tuple(f"{w} mm" for w in TAPE_WIDTHS_MM),
)
def _tapes(line: Line) -> Sets:
    tables = [line.machines[index].feeders.slots_used for index, _ in heads_of(line)]
    return Sets([None if table is None else frozenset(table) for table in tables], _source(line))


@facts.number(
    "head.sigma", LENGTH, "one standard deviation of the placement error: the accuracy over its number of sigmas"
)
def _sigma(line: Line) -> Numbers:
    heads = [head for _, head in heads_of(line)]
    sigmas = [h.accuracy / h.accuracy_sigma if h.accuracy is not None and h.accuracy_sigma else None for h in heads]
    return Numbers.stated(sigmas, _source(line))

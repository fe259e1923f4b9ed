"""How bodies are taken to lie at 0 degrees: the way in which neighbours on the board would overlap is the wrong one.

Names of packages give sizes and seldom say along which axis the longer side lies. Two soldered bodies cannot share
a place, so a board with close neighbours tells of many types of parts. Common practice, no source.

It is no proof: a board whose bodies do overlap is what a check is there to find, and none is found that is argued away.
What neighbours leave is drawn and counted by, and no limit is judged by it; lands and entries prove the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies, body_rectangles, least_sides
from capcheck.geometry.spacing import LaidPairs, pairs
from capcheck.model import Body, Decision, Flags, Floats, Ints, Placements, Said, Topic, say

CLEAR_OVERLAP_MM: Final = 0.05
"""Overlaps below this may come from rounding of places and sizes."""
_LEAST_EVIDENCE: Final = 2
LEAST_ODDS: Final = 4
"""A way is ruled out by two impossible pairs, and four more for each that its rival has. All of them must not share one
part, which may lie in a wrong place, unless no other part hangs on it."""
_ROUNDS: Final = 6
_TAKEN: Final = {None: -1, "x": 0, "y": 1}
_NAMED: Final = 5


class Fit(Struct, frozen=True):
    """For each part type the way its longer side lies: 0 along x at 0 degrees, 1 along y, −1 open.

    *impossible* has shape (types, 2): pairs of bodies that would overlap for certain with the one way and the other.
    *witness*, shape (types, 2, 2), has the rows of one such pair, −1 where there is none.
    """

    way: Ints
    impossible: Ints
    witness: Ints


def orientation_fit(
    placements: Placements,
    bodies: Sequence[Body],
    footprints: Sequence[str] = (),
    evidence: Flags | None = None,
    *,
    nominal: bool = False,
    near: Near | None = None,
) -> Fit:
    """Return which way each type's longer side lies, where only one way leaves its parts room.

    *evidence* says which rows count: those of one circuit of a panel, whose copies say nothing more. Least bodies that
    would overlap in either way settle nothing. With *nominal* bodies of nominal size need room too, and no pair is the
    only witness against a way, so that none clears itself.
    *near* is what :func:`near_parts` gives, to share it between fits.

    Types of one footprint (*footprints*, a text for each type, empty where unknown) were drawn once and lie alike.
    Only types that are not oriented and whose least length exceeds their greatest width can be told apart. A type that
    is taken to lie one way keeps to it.
    """
    group = lying_alike(bodies, footprints)
    groups = int(group.max(initial=-1)) + 1
    open_types = np.array([not b.oriented and b.length.low > b.width.high for b in bodies], bool)
    open_groups = np.ones(groups, bool)
    np.logical_and.at(open_groups, group, open_types)
    allowed = np.ones((groups + 1, 2), bool)
    allowed[:-1, 1] = open_groups
    for number, body in zip(group.tolist(), bodies, strict=True):
        if body.longer_taken_along is not None:
            allowed[number] = np.arange(2) == _TAKEN[body.longer_taken_along]
    impossible, witness = np.zeros((groups, 2), np.int64), np.full((groups, 2, 2), -1)
    near = near_parts(placements, bodies, evidence) if near is None else near
    i, j, counted = near.i, near.j, near.counted
    overlaps = _overlaps(near.rectangles, _ways(placements, bodies, near.rectangles, nominal=nominal), i, j)
    of = np.append(group, groups)[placements.part_type]
    alone = (np.bincount(of[counted], minlength=groups + 1)[:-1, None] == 1) & (not nominal)
    for _ in range(_ROUNDS):
        impossible, most_of_one, witness = _impossible(overlaps, (i, j), of, allowed)
        ruled_out = impossible >= _LEAST_EVIDENCE + LEAST_ODDS * impossible[:, ::-1]
        ruled_out &= alone | (impossible > most_of_one)
        ruled_out &= nominal | (impossible[:, ::-1] == 0)
        before = allowed.copy()
        allowed[:-1] &= ~(ruled_out & open_groups[:, None])
        if np.array_equal(before, allowed):
            break
    settled = open_groups & (allowed[:-1].sum(axis=1) == 1)
    return Fit(np.where(settled, allowed[:-1].argmax(axis=1), -1)[group], impossible[group], witness[group])


class Near(Struct, frozen=True):
    """Pairs *i*, *j* of rows whose greatest bodies may overlap, among the rows *counted*."""

    rectangles: Bodies
    counted: Flags
    i: Ints
    j: Ints


def near_parts(placements: Placements, bodies: Sequence[Body], evidence: Flags | None = None) -> Near:
    """Return the pairs by which orientations are told; *evidence* as in :func:`orientation_fit`."""
    rectangles = body_rectangles(placements, bodies, over_leads=False)
    counted = placements.is_part & rectangles.bounded
    counted = counted if evidence is None else counted & evidence
    close = pairs(rectangles, -CLEAR_OVERLAP_MM, present=counted)
    # A crowd, whose pairs are not all measured, shows nothing of how its bodies lie.
    sure = np.isfinite(close.gap_high) & ~(close.left_out[close.i] & close.left_out[close.j])
    return Near(rectangles, counted, close.i[sure], close.j[sure])


def lying_alike(bodies: Sequence[Body], footprints: Sequence[str]) -> Ints:
    """Return a number for each type, the same for types of one footprint whose bodies agree in size."""
    names = footprints or [""] * len(bodies)
    keys = [
        (name, b.length.value, b.width.value, b.oriented) if name else (str(k), None, None, None)
        for k, (name, b) in enumerate(zip(names, bodies, strict=True))
    ]
    numbers = {key: n for n, key in enumerate(dict.fromkeys(keys))}
    return np.array([numbers[key] for key in keys], np.int64)


def _ways(placements: Placements, bodies: Sequence[Body], rectangles: Bodies, *, nominal: bool) -> Floats:
    """Return the half sides of every row, least or nominal, shape (n, 2, 2): the longer side along x, and along y."""
    sides = _nominal_sides if nominal else least_sides
    sizes = np.array([sides(b) for b in (*bodies, Body())]) / 2
    each = sizes[placements.part_type]
    oriented = np.array([b.oriented for b in (*bodies, Body())])[placements.part_type]
    turned = np.where(oriented[:, None], each, each[:, ::-1])
    ways = np.stack([each, turned], axis=1)
    known = np.isfinite(placements.rotation_deg)[:, None, None]
    return np.where(known, ways, rectangles.inner[:, None, :])


def _nominal_sides(body: Body) -> tuple[float, float]:
    """Return the nominal length and width in mm; where either is not one figure, what is covered for certain."""
    length, width = body.nominal_length.proved.value, body.nominal_width.proved.value
    if body.centred and length.is_exact and width.is_exact:
        return length.low, width.low
    return least_sides(body)


def _overlaps(rectangles: Bodies, ways: Floats, i: Ints, j: Ints) -> Flags:
    """Return for each pair whether its least bodies overlap, shape (pairs, 2, 2): way of the one, way of the other."""
    found = np.zeros((len(i), 2, 2), bool)
    laid = LaidPairs(rectangles.take(i), rectangles.take(j))
    for a in (0, 1):
        for b in (0, 1):
            gap = laid.gaps(ways[i, a], ways[j, b])
            found[:, a, b] = gap < -CLEAR_OVERLAP_MM
    return found


def _impossible(overlaps: Flags, pair: tuple[Ints, Ints], of: Ints, allowed: Flags) -> tuple[Ints, Ints, Ints]:
    """Count for each group of types and way the pairs that overlap whichever allowed way the neighbour lies.

    *of* is the group of each row. The second count is the most of these pairs that have one and the same part; the
    last are the rows of the first of them.
    """
    groups = len(allowed) - 1
    against = np.zeros((len(pair[0]), 2, 2), bool)
    one, other = of[pair[0]], of[pair[1]]
    same = (one == other)[:, None]
    # Parts of one group lie alike, so a pair within it is judged with both the same way.
    # It counts once, though it is met from both ends.
    alike = np.stack([overlaps[:, 0, 0], overlaps[:, 1, 1]], axis=-1)
    for n, (neighbour, table) in enumerate(((other, overlaps), (one, overlaps.transpose(0, 2, 1)))):
        whichever = (table | ~allowed[neighbour][:, None, :]).all(axis=2)
        against[:, n] = np.where(same, alike & (n == 0), whichever)
    counts, most = np.zeros((groups + 1, 2), np.int64), np.zeros((groups + 1, 2), np.int64)
    first = np.full((groups + 1, 2, 2), -1)
    ends = np.stack(pair, axis=-1)
    for way in (0, 1):
        k, end = np.nonzero(against[:, :, way])
        group = np.where(end == 0, one[k], other[k])
        np.add.at(counts[:, way], group, 1)
        # Each pair has two parts, and either may be the one in a wrong place.
        met, times = np.unique(np.tile(group, 2) * len(of) + ends[k].T.ravel(), return_counts=True)
        np.maximum.at(most[:, way], met // len(of), times)
        # Of a group that is met again the last one stays: in turned order that is the first.
        first[group[::-1], way] = ends[k[::-1]]
    return counts[:-1], most[:-1], first[:-1]


def orient_by_fit(
    placements: Placements,
    bodies: Sequence[Body],
    footprints: Sequence[str] = (),
    near: Near | None = None,
) -> tuple[list[Body], list[Decision]]:
    """Return the bodies with the way in which they are taken to lie, where neighbours leave one, and the decisions.

    *near* as in :func:`orientation_fit`. Least bodies that would overlap are asked first, then bodies of nominal size.
    """
    decisions: list[Decision] = []
    near = near_parts(placements, bodies) if near is None else near
    for nominal in (False, True):
        fit = orientation_fit(placements, bodies, footprints, nominal=nominal, near=near)
        new = np.array([b.longer_taken_along is None for b in bodies], bool)
        fit = replace(fit, way=np.where(new, fit.way, -1))
        decisions += _decisions(fit, placements, bodies, footprints, nominal=nominal)
        bodies = [_taken(b, int(way)) for b, way in zip(bodies, fit.way, strict=True)]
    return list(bodies), decisions


def _decisions(
    fit: Fit, placements: Placements, bodies: Sequence[Body], footprints: Sequence[str], *, nominal: bool
) -> list[Decision]:
    decisions = []
    for way, topic in enumerate((Topic.ORIENTATION_X, Topic.ORIENTATION_Y)):
        types = np.flatnonzero(fit.way == way)
        if len(types):
            # Types of one footprint share their evidence; it counts once.
            shared = np.unique(np.column_stack([lying_alike(bodies, footprints), fit.impossible])[types], axis=0)
            pair = fit.witness[types[0], 1 - way].tolist()
            against, kept = int(shared[:, 2 - way].sum()), int(shared[:, 1 + way].sum())
            refs = [placements.ref[row] for row in pair]
            decisions.append(
                Decision(
                    topic,
                    _settled(way, list(dict.fromkeys(bodies[t].family for t in types.tolist()))),
                    say("geometry.orientation fits", against=against, kept=kept, refs=refs, nominal=nominal),
                    settle=say("geometry.oriented sizes"),
                )
            )
    return decisions


def _settled(way: int, families: list[str | None]) -> Said:
    names = [family or say("geometry.unnamed") for family in families]
    some = say("geometry.orientation", along_y=way, families=names[:_NAMED])
    return say("geometry.and more", some=some, more=len(names) - _NAMED) if len(names) > _NAMED else some


def _taken(body: Body, way: int) -> Body:
    return body if way < 0 else replace(body, longer_taken_along="y" if way else "x")

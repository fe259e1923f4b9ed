"""Prints how long spacing and edge distances take on boards of constant density, and the exponent of their growth.

Run: ``python tests/benchmarks/bench_geometry.py [SEARCH_MM]``. Nothing here passes or fails.
"""

from __future__ import annotations

import sys
import time

import numpy as np
import shapely

from capcheck.geometry.bodies import Bodies, rectangles
from capcheck.geometry.edges import contour_distance, cutout_distance, transported_distance
from capcheck.geometry.spacing import pairs

COUNTS = (5_000, 20_000, 50_000, 100_000)
AREA_PER_PART_MM2 = 9.0


def board(count: int) -> tuple[Bodies, shapely.Polygon]:
    """Return invented parts on a jittered grid, mostly chips, some larger, on a board of constant density."""
    rng = np.random.default_rng(count)
    side = (count * AREA_PER_PART_MM2) ** 0.5
    columns = int(np.ceil(count**0.5))
    x = (np.arange(count) % columns + 0.5 + rng.uniform(-0.2, 0.2, count)) * side / columns
    y = (np.arange(count) // columns + 0.5 + rng.uniform(-0.2, 0.2, count)) * side / columns
    length = np.where(rng.random(count) < 0.03, rng.uniform(3, 8, count), rng.choice([0.6, 1.0, 1.6, 2.0], count))
    bodies = rectangles(
        x,
        y,
        rng.choice([0, 90, 45, 30], count, p=[0.45, 0.45, 0.05, 0.05]),
        (length * 0.95, length * 1.05),
        (length * 0.45, length * 0.55),
        oriented=rng.random(count) < 0.7,
        side=rng.integers(0, 2, count),
    )
    holes = [shapely.Point(*p).buffer(2.0).exterior for p in rng.uniform(5, side - 5, (20, 2))]
    return bodies, shapely.Polygon(shapely.box(0, 0, side, side).exterior, holes[:1])


def main() -> None:
    """Print seconds for each count, and the fitted exponents."""
    search = float(sys.argv[1]) if len(sys.argv) > 1 else 2.0
    spacing, edges = [], []
    for count in COUNTS:
        bodies, polygon = board(count)
        start = time.perf_counter()
        found = pairs(bodies, search)
        found.closest(count)
        middle = time.perf_counter()
        transported_distance(bodies, polygon.bounds, turned=False)
        contour_distance(bodies, polygon)
        cutout_distance(bodies, polygon)
        end = time.perf_counter()
        spacing.append(middle - start)
        edges.append(end - middle)
        sys.stdout.write(
            f"{count:>7} parts: spacing {spacing[-1]:.3f} s ({len(found)} pairs), edges {edges[-1]:.3f} s\n"
        )
    for name, seconds in (("spacing", spacing), ("edges", edges)):
        exponent = np.polyfit(np.log(COUNTS), np.log(seconds), 1)[0]
        sys.stdout.write(f"{name} grows with the number of parts to the power {exponent:.2f}\n")
    _finely_divided(*board(COUNTS[-1]), seconds=edges[-1])


def _finely_divided(bodies: Bodies, polygon: shapely.Polygon, *, seconds: float) -> None:
    """Print what a contour of 10,000 corners costs, as a ratio to the square one of the same run."""
    side = polygon.bounds[2]
    turn = np.linspace(0, 2 * np.pi, 10_000, endpoint=False)
    for name, wave in (("round", 0.0), ("wavy", 2.0)):
        radius = 0.7 * side + wave * np.sin(400 * turn)
        points = side / 2 + np.column_stack([np.cos(turn), np.sin(turn)]) * radius[:, None]
        start = time.perf_counter()
        contour_distance(bodies, shapely.Polygon(points))
        taken = time.perf_counter() - start
        sys.stdout.write(f"{name} contour of 10,000 corners: {taken:.3f} s, {taken / seconds:.2f} of all edges above\n")
    _toothed(len(bodies), side, seconds=seconds)


def _toothed(count: int, side: float, *, seconds: float) -> None:
    """Print what a contour like a comb of 10,000 corners costs, with every body across a slot of it."""
    teeth = 2_500
    pitch = side / teeth
    slots = [shapely.box((k + 0.25) * pitch, 20, (k + 0.75) * pitch, side + 1) for k in range(teeth)]
    comb = shapely.box(0, 0, side, side).difference(shapely.union_all(slots))
    rng = np.random.default_rng(1)
    x, length = (rng.integers(1, teeth - 1, count) + 0.5) * pitch, np.full(count, 0.8 * pitch)
    bodies = rectangles(
        x,
        rng.uniform(30, side - 10, count),
        np.zeros(count),
        (length * 0.95, length),
        (length * 0.4, length * 0.5),
        oriented=True,
    )
    start = time.perf_counter()
    contour_distance(bodies, comb)
    taken = time.perf_counter() - start
    sys.stdout.write(f"comb of 10,000 corners: {taken:.3f} s, {taken / seconds:.2f} of all edges above\n")


if __name__ == "__main__":
    main()

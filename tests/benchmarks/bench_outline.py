"""Prints how long an outline of 10,000 entities takes beyond ezdxf's own reading, and as a ratio to it.

The garbage collector rests for both, as it does when a board is read.

Run: python tests/benchmarks/bench_outline.py
"""

import gc
import math
import tempfile
import time
from pathlib import Path

import ezdxf

from capcheck.intake.outline.outline_file import OutlineOptions, read_outline

ENTITIES = 10_000
REPEATS = 3


def wavy_edge(space):
    """Draw a board whose edge is 10,000 lines and arcs."""
    count = ENTITIES // 2
    points = [
        (200 + 150 * math.cos(math.tau * k / count), 200 + 120 * math.sin(math.tau * k / count)) for k in range(count)
    ]
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
        mx, my = (x0 + x1) / 2, (y0 + y1) / 2
        space.add_line((x0, y0), (mx, my))
        space.add_lwpolyline([(mx, my, 0.4), (x1, y1, 0)], format="xyb")


def many_holes(space):
    """Draw a board with 10,000 round holes and short slots."""
    space.add_lwpolyline([(-5, -5), (505, -5), (505, 505), (-5, 505)], close=True)
    for k in range(ENTITIES // 2):
        x, y = (k % 70) * 7.0, (k // 70) * 7.0
        space.add_circle((x, y), 1.1)
        space.add_lwpolyline(
            [(x + 3, y, 1), (x + 4, y, 0), (x + 4, y + 2, 1), (x + 3, y + 2, 0)], format="xyb", close=True
        )


def loose_slots(space):
    """Draw a board with 2,500 rectangular slots of loose lines, on three layers."""
    space.add_lwpolyline([(-5, -5), (505, -5), (505, 505), (-5, 505)], close=True, dxfattribs={"layer": "outline"})
    for k in range(ENTITIES // 4):
        x, y = (k % 50) * 10.0, (k // 50) * 10.0
        corners = [(x, y), (x + 4, y), (x + 4, y + 2), (x, y + 2)]
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            space.add_line(a, b, {"layer": ("outline", "cutouts", "silk")[k % 3]})


def curves_and_blocks(space):
    """Draw a board of 2,500 splines, 2,500 ellipse arcs and 5,000 inserted holes."""
    doc = space.doc
    block = doc.blocks.new("HOLE")
    block.add_circle((0, 0), 1.1)
    count = ENTITIES // 4
    turns = [math.tau * k / (2 * count) for k in range(2 * count + 1)]
    for a, b in zip(turns[:-1:2], turns[1::2], strict=True):
        middle = (a + b) / 2
        places = [(250 + 250 * math.cos(t), 250 + 250 * math.sin(t)) for t in (a, middle, b)]
        space.add_spline(places)
    for a, b in zip(turns[1::2], turns[2::2], strict=True):
        space.add_ellipse((250, 250), (250, 0), 1.0, a, b)
    for k in range(ENTITIES // 2):
        space.add_blockref("HOLE", (120 + (k % 70) * 3.6, 120 + (k // 70) * 3.6))


def best_of(action):
    """Return the least time in seconds of a few runs."""
    times = []
    for _ in range(REPEATS):
        gc.collect()
        gc.disable()
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
        gc.enable()
    return min(times)


def main():
    """Print one line a case."""
    with tempfile.TemporaryDirectory() as folder:
        for draw in (wavy_edge, many_holes, loose_slots, curves_and_blocks):
            doc = ezdxf.new("R2010")
            doc.header["$INSUNITS"] = 4
            draw(doc.modelspace())
            file = Path(folder) / f"{draw.__name__}.dxf"
            doc.saveas(file)
            reading = best_of(lambda file=file: ezdxf.readfile(file))
            whole = best_of(lambda file=file: read_outline(file, OutlineOptions()))
            beyond = whole - reading
            line = f"{draw.__name__:12} ezdxf {reading:.3f} s, with the outline {whole:.3f} s"
            print(f"{line}: {beyond:.3f} s beyond, ratio {whole / reading:.2f}")


if __name__ == "__main__":
    main()

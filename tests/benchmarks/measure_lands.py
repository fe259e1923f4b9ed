"""How often the lands found for parts agree with what netlists and attributes of layers state, and who is refused.

Run it with ``python tests/benchmarks/measure_lands.py FOLDER``: each folder in it is a board with its layers beside its
placements. Boards with an IPC-D-356 netlist or pads that name pins are compared, netlist before layers. Names alone say
how many pins a part has; nothing of the netlist is used to find lands. Fiducials are looked for as if none were listed,
and compared with those that are, on sides that list some and show copper. With ``--pairs`` the layers of each board
are laid onto the placements of every other one too, which none should fit.
"""

from __future__ import annotations

import argparse
import warnings
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from msgspec.structs import replace

from capcheck.intake.exchange.form import Form
from capcheck.intake.exchange.lands import PartLands as StatedLands
from capcheck.intake.exchange.read_together import read_set, sets_of
from capcheck.intake.folder.file_kinds import sorted_out
from capcheck.intake.layers import time_of_a_board
from capcheck.intake.package import Package
from capcheck.intake.read import read_package
from capcheck.lands.layer_set import LayerSet, lay_onto, layers_of, places_of_side
from capcheck.lands.marks import marks_of_layers
from capcheck.lands.part_lands import lands_of_board
from capcheck.lands.registration import Spots, holds, register
from capcheck.model import Body, How, Kind, LayerKind, Side
from capcheck.packages import bodies_of, names_body
from capcheck.values import InputError

PITCH_MM = 0.02
MARK_MM = 0.2


def stated_of(folder: Path) -> tuple[Mapping[str, StatedLands], int]:
    """Return what the netlist of a board, else its layers, states of each reference, and where references are cut."""
    known = sorted_out(sorted(file for file in folder.iterdir() if file.is_file())).fabrication
    for form, files in sets_of([one for one in known if one[1] in {Form.NETLIST, Form.PADS}]):
        read = read_set(form, files, frozenset())
        if read.parts:
            return read.parts, read.cut_at
    return {}, 0


def read(folder: Path) -> tuple[Package, list[Body], LayerSet | None]:
    package = read_package(folder, names_body=names_body, layers=True)
    types = [replace(name, other_dimensions=(), joints=()) for name in package.types]
    return package, list(bodies_of(types)), layers_of(package.layers, package.drills, time_of_a_board())


def compare(folder: Path, totals: Counter[str]) -> None:
    package, bodies, layers = read(folder)
    if layers is None:
        return
    lay_onto(layers, package.placements)
    stated, cut = stated_of(folder)
    found = lands_of_board(layers, package.placements, bodies, [name.footprint for name in package.types])
    for row, ref in enumerate(package.placements.ref):
        told = stated.get(ref[:cut] if cut else ref)
        if told is None or told.pins is None:
            continue
        totals["two-land parts stated"] += told.pins == 2
        own = found.of.get(row)
        if own is None:
            continue
        # A land in the middle is no pin by some names, and one by others.
        right = len(own.lands) in {told.pins, told.pins + 1, told.pins - 1} if told.pins > 3 else None
        right = len(own.lands) == told.pins if right is None else right
        totals[f"{own.how.name} called"] += 1
        totals[f"{own.how.name} right"] += right
        if own.how in {How.COUNTED, How.REPEATED} and own.pitch and told.pitch:
            totals[f"pitch {own.how.name} called"] += 1
            totals[f"pitch {own.how.name} right"] += abs(np.mean(own.pitch) - np.mean(told.pitch)) < PITCH_MM
        if own.in_holes is not None and told.mounting is not None:
            totals["holes called"] += 1
            totals["holes right"] += own.in_holes == (told.mounting == "through hole")


def compare_marks(folder: Path, totals: Counter[str]) -> None:
    """Compare the fiducials found without any list with the listed ones, and count those that get a diameter."""
    package, _, layers = read(folder)
    if layers is None:
        return
    lay_onto(layers, package.placements)
    placed = package.placements
    is_mark = placed.kind == Kind.FIDUCIAL
    found = marks_of_layers(layers, replace(placed, x_mm=np.where(is_mark, np.nan, placed.x_mm)))
    totals["settled"] += sum(mark.listed for mark in marks_of_layers(layers, placed))
    for side, code in (("top", Side.TOP), ("bottom", Side.BOTTOM)):
        rows = is_mark & (placed.side == code)
        totals["listed"] += int(rows.sum())
        if side not in layers.registered or (LayerKind.COPPER, side) not in layers.files:
            continue
        certain = np.array([(m.x_mm, m.y_mm) for m in found if m.side == side and m.certain]).reshape(-1, 2)
        if not rows.any():
            totals["called on sides that list none"] += len(certain)
            continue
        listed = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
        near = np.hypot(*(listed[:, None] - certain[None]).transpose(2, 0, 1)) <= MARK_MM
        totals["listed and comparable"] += len(listed)
        totals["found of these"] += int(near.any(axis=1).sum())
        totals["called"] += len(certain)
        totals["right"] += int(near.any(axis=0).sum())


def pairs(folders: list[Path]) -> None:
    sides = {}
    for folder in folders:
        package, _, layers = read(folder)
        for side in ("top", "bottom") if layers else ():
            kind = layers.kind_of_lands(side)
            drawn = None if kind is None else layers.as_drawn(kind, side)
            if drawn is not None:
                sides[folder.name, side] = Spots(drawn.box), places_of_side(package.placements, side)
    tried, taken = 0, []
    for board, (spots, _) in sides.items():
        for other, (_, places) in sides.items():
            if other[0] != board[0] and len(places):
                tried += 1
                if holds(register(spots, places)):
                    taken.append(f"{' '.join(board)} on {' '.join(other)}")
    print(f"layers of another board: {tried} pairs, taken {len(taken)}: {', '.join(taken) or 'none'}")


def main() -> None:
    warnings.simplefilter("ignore")
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pairs", action="store_true", help="lay the layers of each board onto every other one")
    given = parser.parse_args()
    folders = sorted(path for path in given.folder.iterdir() if path.is_dir())
    totals: Counter[str] = Counter()
    marks: Counter[str] = Counter()
    for folder in folders:
        try:
            compare(folder, totals)
            compare_marks(folder, marks)
        except InputError as error:
            print(f"{folder.name}: {error}")
    print(f"two-land parts stated {totals['two-land parts stated']}")
    for what in ("PAIR", "COUNTED", "REPEATED", "pitch COUNTED", "pitch REPEATED", "holes"):
        called, right = totals[f"{what} called"], totals[f"{what} right"]
        print(f"{what:15} called {called:6}  right {right:6}  {right / called if called else float('nan'):.2%}")
    print("fiducials: " + ", ".join(f"{what} {count}" for what, count in marks.items()))
    if given.pairs:
        pairs(folders)


if __name__ == "__main__":
    main()

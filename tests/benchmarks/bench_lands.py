"""What layers cost a check: the same board without them, with mask, paste and drills, and with copper for fiducials.

Run it with ``python tests/benchmarks/bench_lands.py [FOLDER …]``: without a folder invented boards of 100 and 1,000
parts, else the boards named. Each command runs in a new process, as a hook runs it; the best of several counts. Without
copper means that no rule asks for fiducials. To hold: at most +15 % at 100 parts and +50 % at 1,000 without copper.
"""

from __future__ import annotations

import argparse
import ctypes
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
RUNS = 3
PR_SET_CHILD_SUBREAPER = 36
"""By prctl(2); Linux alone has it."""
HEAD = "%TF.FileFunction,{function}*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10R,{w}X{h}*%\n%ADD11C,0.3*%\n%ADD12C,{mark}*%\n"
COMMAND = [
    sys.executable,
    "-m",
    "capcheck",
    "check",
    "--line",
    str(ROOT / "fixtures/lines/full.line.toml"),
    "--no-config",
]


def write_board(folder: Path, parts: int) -> None:
    """Write a board of resistors in a grid with the layers, drills and vias that such a board has."""
    across = max(10, int(parts**0.5 * 1.2))
    at = [(6.0 * (k % across) + 5 + 0.2 * (k % 3), 4.0 * (k // across) + 5) for k in range(parts)]
    rows = "".join(f"R{k},{k % 40}k,RESC1608X50N,{x},{y},0,top\n" for k, (x, y) in enumerate(at))
    (folder / "placements.csv").write_text(f"Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n{rows}")
    lines = "".join(
        f"{number},{' '.join(f'R{k}' for k in range(number, parts, 40))},RC{number}\n"
        for number in range(min(40, parts))
    )
    (folder / "bom.csv").write_text(f"Item,References,Part number\n{lines}")
    marks = [(1.5, 1.5), (6.0 * across, 4.0 * (parts // across + 1))]

    def point(x: float, y: float, code: int = 3) -> str:
        return f"X{round(x * 1e6)}Y{round(y * 1e6)}D0{code}*\n"

    lands = "".join(point(x + dx, y) for x, y in at for dx in (-0.8, 0.8))
    vias = [(x + 2.4, y + 1.2 * side) for x, y in at for side in (-1, 1)]
    discs = "".join(point(x, y) for x, y in marks)
    tracks = "".join(point(x + 0.8, y, 2) + point(x + 2.4, y + 1.2 * s, 1) for x, y in at for s in (-1, 1))
    for name, function, w, h, mark in (
        ("mask.gbr", "Soldermask,Top", 0.9, 1.0, 2.0),
        ("paste.gbr", "Paste,Top", 0.8, 0.9, 2.0),
        ("copper.gbr", "Copper,L1,Top", 0.8, 0.9, 1.0),
    ):
        text = HEAD.format(function=function, w=w, h=h, mark=mark) + "D10*\n" + lands
        if name != "paste.gbr":
            text += "D12*\n" + discs
        if name == "copper.gbr":
            text += "D11*\n" + "".join(point(x, y) for x, y in vias) + tracks
        (folder / name).write_text(text + "M02*\n")
    hits = "".join(f"X{x:.3f}Y{y:.3f}\n" for x, y in vias)
    (folder / "vias.drl").write_text(f"M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C0.300\n%\nT1\n{hits}M30\n")


class Took(NamedTuple):
    """Processor seconds of a check: of its own process, and of the one that reads files for it beside it."""

    own: float
    reading: float

    def over(self, other: Took) -> str:
        """Return the ratios to another check: of its own process, which is waited for, and of both together."""
        return f"{self.own / other.own:4.2f} ({sum(self) / sum(other):4.2f} with the reading process)"


def took(folder: Path, *further: str) -> Took:
    """Return what a check takes in its own process, the best of some: other work on the machine counts for little."""
    found = []
    for _ in range(RUNS):
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        process = subprocess.Popen(
            [*COMMAND, *further, str(folder)], env={**os.environ, "PYTHONPATH": str(ROOT)}, **quiet
        )
        times = {}
        while True:
            try:
                pid, _, usage = os.wait4(-1, 0)
            except ChildProcessError:
                break
            times[pid] = usage.ru_utime + usage.ru_stime
        own = times.pop(process.pid)
        found.append(Took(own, sum(times.values())))
    return min(found, key=sum)


def measure(folder: Path, name: str) -> None:
    with tempfile.TemporaryDirectory() as room:
        without = Path(room) / "board"
        shutil.copytree(folder, without)
        toml = without / "board.toml"
        toml.write_text("layers = false\n" + (toml.read_text() if toml.exists() else ""))
        bare, unmarked = took(without), took(without, "--ignore", "fiducials")
        lands, whole = took(folder, "--ignore", "fiducials"), took(folder)
        print(
            f"{name:12} without layers {sum(bare):5.2f} s; with mask, paste, drills times {lands.over(unmarked)}; "
            f"with copper for fiducials times {whole.over(bare)}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="*")
    given = parser.parse_args()
    # What a check leaves running comes to this process, so that its time can be told.
    ctypes.CDLL(None).prctl(PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)
    for folder in given.folder:
        measure(folder, folder.name)
    for parts in () if given.folder else (100, 1000):
        with tempfile.TemporaryDirectory() as room:
            write_board(Path(room), parts)
            measure(Path(room), f"{parts} parts")


if __name__ == "__main__":
    main()

"""Whole commands beside the start-up of Python and the libraries that they need.

Run it with ``python tests/benchmarks/bench_check.py``; it prints ratios.
"""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SHOP = Path(__file__).resolve().parents[2] / "fixtures"
FOOTPRINTS = [
    "CAPC1005X55N",
    "RESC1005X35N",
    "CAPC1608X90N",
    "RESC1608X50N",
    "SOT95P280X145-5N",
    "SOIC127P600X175-8N",
    "QFN50P500X500X100-33N",
    "QFP50P1200X1200X160-64N",
    "C0805",
    "R1206",
]
FLOOR = "import numpy, pydantic, pint"
FLOOR_WITH_OUTLINE = FLOOR + ", ezdxf, shapely"


def seconds(command: list[str], cache: str, repeat: int = 9) -> float:
    """Return the median time of a command, whatever its exit code, with modules compiled as after an installation."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = cache
    times = []
    for _ in range(repeat + 1):
        start = time.perf_counter()
        subprocess.run(command, capture_output=True, check=False, env=environment)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def board(folder: Path, count: int, *, outline: bool) -> Path:
    generator = random.Random(1)
    kinds = [(generator.choice(FOOTPRINTS), f"v{n}") for n in range(60)]
    rows = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
    for n in range(1, count + 1):
        x, y = (n % 40) * 15 + 10, (n // 40) * 15 + 10
        footprint, value = generator.choice(kinds)
        rows.append(f"U{n},{x},{y},{generator.choice([0, 90, 180, 270])},top,{value},{footprint}")
    folder.mkdir()
    (folder / "placements.csv").write_text("\n".join(rows) + "\n")
    lines = ['placements = "placements.csv"']
    if outline:
        import ezdxf

        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (610, 0), (610, 400), (0, 400)], close=True)
        drawing.saveas(folder / "outline.dxf")
        lines.append('outline = "outline.dxf"')
    (folder / "board.toml").write_text("\n".join(lines) + "\n")
    return folder


def main() -> None:
    python = sys.executable
    line = str(SHOP / "lines" / "mixed.line.toml")
    cache = tempfile.mkdtemp()
    bare = seconds([python, "-c", "pass"], cache)
    version = seconds([python, "-m", "capcheck", "--version"], cache)
    print(
        f"capcheck --version {version * 1000:.0f} ms, bare Python {bare * 1000:.0f} ms: {version / bare:.2f} × (goal 3)"
    )
    with tempfile.TemporaryDirectory() as name:
        folder = board(Path(name) / "hook", 300, outline=False)
        floor = seconds([python, "-c", FLOOR], cache)
        hook = seconds([python, "-m", "capcheck", "check", "--format", "lines", str(folder), "--line", line], cache)
        print(
            f"hook on 300 placements {hook * 1000:.0f} ms, imports alone {floor * 1000:.0f} ms: "
            f"{hook / floor:.2f} × (goal 1.5)"
        )
        for outline, floor_code in ((False, FLOOR), (True, FLOOR_WITH_OUTLINE)):
            folder = board(Path(name) / f"board-{outline}", 1000, outline=outline)
            floor = seconds([python, "-c", floor_code], cache)
            check = seconds([python, "-m", "capcheck", "check", str(folder), "--line", line], cache)
            what = "with" if outline else "without"
            print(
                f"check of 1,000 placements {what} outline {check * 1000:.0f} ms, imports alone {floor * 1000:.0f} ms: "
                f"{check / floor:.2f} × (goal 1.5)"
            )


if __name__ == "__main__":
    main()

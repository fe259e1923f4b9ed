"""Whole commands beside the start-up of Python and the libraries that they need.

Run it with ``python tests/benchmarks/bench_check.py``; it prints ratios to three floors: the libraries imported; the
same with a first pydantic model, which every program that uses pydantic pays for; and all modules that the command
loads, imported and nothing more.
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
# pint loads dask where it lies in the environment: what the program needs is not more for that.
FLOOR = "import sys; sys.modules['dask'] = None; import numpy, pydantic, pint"
FLOOR_WITH_OUTLINE = FLOOR + ", ezdxf, shapely"
FIRST_MODEL = "\nclass One(pydantic.BaseModel): one: int\nOne(one=1)"


def compared(floor: list[str], command: list[str], cache: str, repeat: int = 11) -> tuple[float, float, float]:
    """Return the median times of two commands and the median ratio of the second to the first.

    They run in turn, so that a load that comes and goes meets both; modules are compiled as after an installation.
    """
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = cache

    def seconds(arguments: list[str]) -> float:
        start = time.perf_counter()
        subprocess.run(arguments, capture_output=True, check=False, env=environment)
        return time.perf_counter() - start

    pairs = [(seconds(floor), seconds(command)) for _ in range(repeat + 1)][1:]
    least, most = (statistics.median(times) for times in zip(*pairs, strict=True))
    return least, most, statistics.median(one / other for other, one in pairs)


def imports_of(command: list[str], folder: Path) -> str:
    """Return a program that imports what a command of ours has loaded at its end, in the same order."""
    told = f"import atexit, os, sys; os._exit = sys.exit; sys.argv = {command[2:]!r}; from capcheck.cli import run; "
    told += "atexit.register(lambda: print(*sys.modules, file=sys.stderr)); run()"
    done = subprocess.run([command[0], "-c", told], capture_output=True, text=True, check=False)
    names = [name for name in done.stderr.splitlines()[-1].split() if name not in {"__main__", "dask"}]
    file = folder / f"imports_{len(list(folder.iterdir()))}.py"
    file.write_text("import sys\nsys.modules['dask'] = None\n" + "".join(_one_import(name) for name in names))
    return f"import sys; sys.path.append({str(folder)!r}); import {file.stem}"


def _one_import(name: str) -> str:
    return f"try: import {name}\nexcept Exception: pass\n" if all(map(str.isidentifier, name.split("."))) else ""


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
    python, cache = sys.executable, tempfile.mkdtemp()
    line = str(SHOP / "lines" / "mixed.line.toml")
    check = [python, "-m", "capcheck", "check", "--line", line]

    def tell(what: str, floor: list[str], command: list[str], than: str, goal: float | None = None) -> None:
        alone, whole, ratio = compared(floor, command, cache)
        wanted = "" if goal is None else f" (goal {goal:g})"
        print(f"{what} {whole * 1000:.0f} ms, {than} {alone * 1000:.0f} ms: {ratio:.2f} ×{wanted}")

    def tell_floors(what: str, floor: str, command: list[str], folder: Path) -> None:
        tell(what, [python, "-c", floor], command, "imports alone", 1.5)
        tell(what, [python, "-c", floor + FIRST_MODEL], command, "imports and a first model")
        tell(what, [python, "-c", imports_of(command, folder)], command, "all its modules imported")

    tell("capcheck --version", [python, "-c", "pass"], [python, "-m", "capcheck", "--version"], "bare Python", 3)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        hook = [*check, "--format", "lines", str(board(folder / "hook", 300, outline=False))]
        tell_floors("hook on 300 placements", FLOOR, hook, folder)
        for outline, floor, side in ((False, FLOOR, "without"), (True, FLOOR_WITH_OUTLINE, "with")):
            one = board(folder / f"board-{side}", 1000, outline=outline)
            tell_floors(f"check of 1,000 placements {side} outline", floor, [*check, str(one)], folder)


if __name__ == "__main__":
    main()

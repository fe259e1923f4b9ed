"""How a check grows: with placements and fiducials, with the gaps of an outline; and its memory at 100,000 placements.

Run it with ``python tests/benchmarks/bench_scale.py [PLACEMENTS]``; it prints exponents of processor time, ratios and
their goals, which are of 100,000 placements.
"""

from __future__ import annotations

import math
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import ezdxf

from capcheck.checking import check_prepared, prepare
from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.machines import read_line
from capcheck.shop import Settings

LINE = Path(__file__).resolve().parents[2] / "fixtures" / "lines" / "mixed.line.toml"
FOOTPRINTS = (
    "CAPC1005X55N",
    "RESC1608X50N",
    "SOT95P280X145-5N",
    "SOIC127P600X175-8N",
    "QFN50P500X500X100-33N",
    "C0805",
)
PITCH_MM = 8
PLACES_A_FIDUCIAL = 55
"""So that 100,000 placements have 1,819 fiducials: a large panel of small boards."""


def board(folder: Path, count: int) -> Path:
    """Write a board of so many placements at constant density, a fiducial among each 55, in a square outline."""
    generator = random.Random(1)
    columns = math.ceil(math.sqrt(count))
    rows = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
    for n in range(count):
        at = f"{n % columns * PITCH_MM + 10},{n // columns * PITCH_MM + 10}"
        if n % PLACES_A_FIDUCIAL:
            footprint = generator.choice(FOOTPRINTS)
            rows.append(f"U{n},{at},{generator.choice((0, 90, 180, 270))},top,v{generator.randrange(9)},{footprint}")
        else:
            rows.append(f"FID{n},{at},0,top,FID,FIDUCIAL1MM")
    folder.mkdir()
    (folder / "placements.csv").write_text("\n".join(rows) + "\n")
    side = columns * PITCH_MM + 20
    corners = [(0, 0), (side, 0), (side, side), (0, side)]
    _draw(folder / "outline.dxf", list(zip(corners, corners[1:] + corners[:1], strict=True)))
    (folder / "board.toml").write_text('placements = "placements.csv"\noutline = "outline.dxf"\n')
    return folder


def _draw(file: Path, lines: list[tuple[tuple[float, float], tuple[float, float]]]) -> None:
    drawing = ezdxf.new(units=4)
    for start, end in lines:
        drawing.modelspace().add_line(start, end)
    drawing.saveas(file)


def gaps(file: Path, count: int) -> Path:
    """Draw a round board whose edge is so many lines, each 0.01 mm short of the next."""
    radius, turn = 150.0, math.tau / count
    spare = 0.01 / radius
    ends = [(k * turn + spare / 2, (k + 1) * turn - spare / 2) for k in range(count)]
    points = [[(200 + radius * math.cos(t), 200 + radius * math.sin(t)) for t in pair] for pair in ends]
    _draw(file, [(a, b) for a, b in points])
    return file


def processor_time(action: Callable[[], object], repeat: int = 3) -> float:
    """Return the median processor time of an action."""
    times = []
    for _ in range(repeat):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main() -> None:
    """Print exponents and memory."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    given = prepare(Settings(), read_line(LINE))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small, large = board(folder / "small", count // 10), board(folder / "large", count)
        check_prepared(given, small)  # what is loaded and compiled once
        tenth, whole = (processor_time(lambda path=path: check_prepared(given, path)) for path in (small, large))
        exponent = f"exponent {math.log10(whole / tenth):.2f} (1.1)"
        print(f"{count:,} placements {whole / tenth:.1f} × as long as {count // 10:,}: {exponent}")
        for form in ("text", "json", "html", "csv", "xlsx"):
            peak = _peak_mb([str(large), "--line", str(LINE), "--format", form, "--output", str(folder / "out")])
            print(f"  as {form}: {peak:.0f} MB at most (goal 500)")
        few, many = gaps(folder / "few.dxf", 675), gaps(folder / "many.dxf", 2_700)
        read_outline(few, OutlineOptions())
        quarter, all_ = (processor_time(lambda file=file: read_outline(file, OutlineOptions())) for file in (few, many))
        print(
            f"an outline with 2,700 gaps {all_ / quarter:.1f} × as long as with 675: exponent "
            f"{math.log(all_ / quarter, 4):.2f} (1.1)"
        )


def _peak_mb(arguments: list[str]) -> float:
    """Return the greatest memory of a check in a process of its own."""
    program = "import sys; from capcheck.cli import main; main(['check', *sys.argv[1:], '--no-config', '--quiet'])"
    program += "; import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    done = subprocess.run([sys.executable, "-c", program, *arguments], capture_output=True, text=True, check=True)
    return int(done.stdout.split()[-1]) / (1e3 if sys.platform == "linux" else 1e6)


if __name__ == "__main__":
    main()

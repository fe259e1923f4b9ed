"""The page of a 5,000-part board beside the check itself; and filtering it in a browser, if one is there.

Run it with ``python tests/benchmarks/bench_html.py``.
"""

from __future__ import annotations

import random
import tempfile
import time
from pathlib import Path

from capcheck.checking.answer import check
from capcheck.report.page.page import html_report

SHOP = Path(__file__).resolve().parents[2] / "fixtures"
FOOTPRINTS = ["CAPC1005X55N", "RESC1608X50N", "SOIC127P600X175-8N", "mystery", "QFP50P1200X1200X160-64N"]


def board(folder: Path, count: int) -> Path:
    generator = random.Random(3)
    rows = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
    for n in range(1, count + 1):
        kind = generator.randrange(60)
        rows.append(f"P{n},{n % 100 * 4 + 5},{n // 100 * 4 + 5},0,top,v{kind},{FOOTPRINTS[kind % 5]}")
    (folder / "placements.csv").write_text("\n".join(rows) + "\n")
    (folder / "board.toml").write_text('placements = "placements.csv"\nmounting = { "P*" = "surface" }\n')
    return folder


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        start = time.perf_counter()
        report = check(board(Path(name), 5000), line=SHOP / "lines" / "mixed.line.toml")
        checked = time.perf_counter()
        page = html_report(report)
        written = time.perf_counter()
    check_s, page_s = checked - start, written - checked
    print(f"check {check_s:.2f} s, page {page_s:.2f} s: {page_s / check_s:.2f} ×")
    print(f"page {len(page.encode()) / 1e6:.2f} MB (goal 3), {page_s:.2f} s beyond the check (goal 1)")


if __name__ == "__main__":
    main()

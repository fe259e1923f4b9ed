"""How long the store takes to find 1,000 parts of a known board among 1,000,000, beside SQLite's own look-up of them.

``python tests/benchmarks/bench_store.py [ADDRESS]``; without an address a file is made, and removed.
"""

from __future__ import annotations

import datetime as dt
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

from sqlalchemy import insert

from capcheck.model import PartName
from capcheck.store import BoardKey, Given, PartKey, Revision, Statement, Store, Used, open_store
from capcheck.store.keys import part_row, time_text
from capcheck.store.tables import FIGURE, GIVEN as GIVEN_ROW, PART
from capcheck.values import Interval

PARTS, ASKED, ROUNDS = 1_000_000, 1_000, 15
BOARDS, TYPES = 200, 200
BEFORE = 10_000
"""Numbers of rows that were written before the bulk."""
LOW = Interval.exactly(0.4)
GIVEN = Given("Ada Example", dt.datetime(2026, 1, 2, tzinfo=dt.UTC), "imported")


def number(i: int) -> str:
    return f"AB-{i * 7919 % PARTS:07d}-X{i % 7}"


def fill(store: Store) -> None:
    """Write the parts in bulk: half by number, the rest by value and footprint, with two figures each.

    As an import writes them, each with the row of the list that it was read from. Kept boards use some of them, and
    state the height of every second.
    """
    store.record([Statement(PartKey(part_number="AB-*"), {"mounting": "surface"}, GIVEN)])
    for board in range(BOARDS):
        used = [
            Used(key_of(2 * i + 1), (f"U{i}",), {"height": (LOW, f"bom.csv:{i}")} if i % 2 else {})
            for i in range(board * TYPES, (board + 1) * TYPES)
        ]
        store.keep_revision(Revision(BoardKey(f"Board {board}"), f"{board:064d}", (), GIVEN), used)
    with store._database.writing() as connection:
        for start in range(1, PARTS, 50_000):
            some = range(start, start + 50_000)
            by = {"who": GIVEN.who, "at": time_text(GIVEN.when), "source": GIVEN.source, "link": ""}
            said = [{"id": BEFORE + i, **by, "place": f"parts.csv:{i}"} for i in some]
            connection.execute(insert(GIVEN_ROW), said)
            connection.execute(insert(PART), [part_of(i) for i in some])
            figures = [
                {"part_id": BEFORE + i, "field": field, "low": low, "high": high, "unit": "mm", "given_id": BEFORE + i}
                for i in some
                for field, low, high in (("height", LOW.low, highest(i)), ("length", 2.0, 2.1))
            ]
            connection.execute(insert(FIGURE), figures)


def part_of(i: int) -> dict[str, object]:
    standing = f'[["height",{LOW.low},{highest(i)},null,{BEFORE + i}],["length",2.0,2.1,null,{BEFORE + i}]]'
    return {"id": BEFORE + i, **part_row(key_of(i), (None, None)), "standing": standing}


def highest(i: int) -> float:
    return (400 + i * 31 % 4000) / 1000


def key_of(i: int) -> PartKey:
    return PartKey(part_number=number(i)) if i % 2 else PartKey(footprint=f"FP{i % 400}", value=f"{i}R")


def bare(file: str, keys: list[str]) -> float:
    """Return the seconds that SQLite alone takes to find the parts' rows, one key after the other."""
    connection = sqlite3.connect(file)
    start = time.perf_counter()
    for key in keys:
        connection.execute("SELECT id FROM part WHERE found_by = ?", (key,)).fetchall()
    return time.perf_counter() - start


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        address = sys.argv[1] if len(sys.argv) > 1 else f"{folder}/parts.db"
        with open_store(address) as store:
            fill(store)
        generator = random.Random(5)
        times, own, bares = [], [], []
        with open_store(address, read_only=True) as store:
            for count in range(ROUNDS):
                numbers = generator.sample(range(1, PARTS), ASKED)
                chosen = [key_of(i) for i in numbers]
                # As a board names them: a number has a value and a footprint beside it.
                types = [
                    PartName(part_number=key.part_number, footprint=key.footprint or "SMD9", value=key.value or "x")
                    for key in chosen
                ]
                library = None
                start, used = time.perf_counter(), time.process_time()
                library = store.library(types, board=f"Board {count}")
                times.append(time.perf_counter() - start)
                own.append(time.process_time() - used)
                heights = [Interval(LOW.low, highest(i)) for i in numbers]
                found = sum(
                    any(c.height == height for c in library.candidates(name))
                    for name, height in zip(types, heights, strict=True)
                )
                if found != ASKED:
                    sys.exit(f"{found} of {ASKED} found")
                if Path(address).is_file():
                    bares.append(bare(address, [f"n{key.part_number}" for key in chosen]))
        shown = f"look-up of {ASKED:,} among {PARTS:,}: {1000 * statistics.median(times):.1f} ms"
        shown += f", of which this program's own {1000 * statistics.median(own):.1f} ms"
        print(f"{shown} (worst {1000 * max(times):.1f}, first {1000 * times[0]:.1f})")
        if bares:
            print(f"that is {statistics.median(times) / statistics.median(bares):.1f} x SQLite's own {ASKED:,} selects")


if __name__ == "__main__":
    main()

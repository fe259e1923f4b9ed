"""How long the store takes to find 1,000 parts among 1,000,000, beside SQLite's own look-up of as many keys.

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
from capcheck.store import Given, PartKey, Statement, Store, open_store
from capcheck.store.keys import Givers, part_row
from capcheck.store.tables import FIGURE, PART
from capcheck.values import Interval

PARTS, ASKED, ROUNDS = 1_000_000, 1_000, 15
GIVEN = Given("Ada Example", dt.datetime(2026, 1, 2, tzinfo=dt.UTC), "imported")
HEIGHT = Interval(0.9, 1.1)


def number(i: int) -> str:
    return f"AB-{i * 7919 % PARTS:07d}-X{i % 7}"


def fill(store: Store) -> None:
    """Write the parts in bulk: half by number, the rest by value and footprint, with two figures each."""
    with store._database.writing() as connection:
        by = Givers(connection).id_of(GIVEN)
        for start in range(0, PARTS, 50_000):
            ids = range(start + 1, start + 50_001)
            standing = f'[["height",0.9,1.1,null,{by}],["length",2.0,2.1,null,{by}]]'
            rows = [{"id": i, **part_row(key_of(i), (None, None)), "standing": standing} for i in ids]
            connection.execute(insert(PART), rows)
            figures = [
                {"part_id": i, "field": field, "low": low, "high": high, "unit": "mm", "given_id": by}
                for i in ids
                for field, low, high in (("height", 0.9, 1.1), ("length", 2.0, 2.1))
            ]
            connection.execute(insert(FIGURE), figures)


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
            store.record([Statement(PartKey(part_number="AB-*"), {"mounting": "surface"}, GIVEN)])
        generator = random.Random(5)
        times, own, bares = [], [], []
        with open_store(address, read_only=True) as store:
            for _ in range(ROUNDS):
                chosen = [key_of(generator.randrange(1, PARTS)) for _ in range(ASKED)]
                # As a board names them: a number has a value and a footprint beside it.
                types = [
                    PartName(part_number=key.part_number, footprint=key.footprint or "SMD9", value=key.value or "x")
                    for key in chosen
                ]
                start, used = time.perf_counter(), time.process_time()
                library = store.library(types)
                times.append(time.perf_counter() - start)
                own.append(time.process_time() - used)
                found = sum(1 for name in types if any(c.height == HEIGHT for c in library.candidates(name)))
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

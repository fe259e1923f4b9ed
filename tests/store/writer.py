"""A program that writes figures into a store: ``python writer.py ADDRESS NAME``.

It prints "ready" when it has the store open. Each line that comes in says how many figures it writes next, until none
comes. Each further line that it prints is the number of a figure that the store said it has.

Figures: invented.
"""

import datetime as dt
import sys
from itertools import count, islice

from capcheck.store import Given, PartKey, Statement, open_store
from capcheck.values import Interval

address, name = sys.argv[1:]
with open_store(address, wait_s=120) as store:
    print("ready", flush=True)  # noqa: T201  what reads it lets this program go
    numbers = count()
    for line in sys.stdin:
        for i in islice(numbers, int(line)):
            own, shared = PartKey(part_number=f"{name} {i}"), PartKey(part_number="shared")
            given = Given(
                name, dt.datetime(2026, 1, 1, tzinfo=dt.UTC) + dt.timedelta(seconds=i), "answered", str(i)
            )  # invented
            # Both writers also supersede one figure of one part, over and over.
            height = Interval.exactly(1 + i / 1000 + (0.5 if name == "Ben" else 0))
            both = {"pins": i + 1, "height": height}
            store.record([Statement(own, both, given), Statement(shared, {"height": height}, given)])
            print(i, flush=True)  # noqa: T201  what reads it kills this program

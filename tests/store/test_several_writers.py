"""Two programs write at once and nothing is lost; one that is killed leaves whole figures or none.

Figures: invented.
"""

import signal
import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path

from capcheck.store import PartKey, Statement, open_store

WRITER = Path(__file__).with_name("writer.py")
EACH = 200
SHARED = PartKey(part_number="shared")


def started(address, name, count):
    return subprocess.Popen(
        [sys.executable, str(WRITER), address, name, str(count)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def let_go(*writers):
    """Let all write from the same moment: however long a program takes to start, they are in each other's way."""
    for writer in writers:
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        writer.stdin.write("\n")
        writer.stdin.flush()


def test_two_writers_lose_nothing(address):
    open_store(address).close()
    writers = [started(address, name, EACH) for name in ("Ada", "Ben")]
    let_go(*writers)
    for writer in writers:
        out, _ = writer.communicate(timeout=500)
        assert (writer.returncode, len(out.split())) == (0, EACH)
    with open_store(address, read_only=True) as store:
        own = {(f.key.part_number, f.field): f.value for f in store.figures() if f.key != SHARED}
        assert {key: value for key, value in own.items() if key[1] == "pins"} == {
            (f"{name} {i}", "pins"): i + 1 for name in ("Ada", "Ben") for i in range(EACH)
        }
        assert len(own) == 4 * EACH
        past = store.history(SHARED)
        # All of both are there, each writer's in its order, and one stands.
        assert Counter(f.given.who for f in past) == {"Ada": EACH, "Ben": EACH}
        for name in ("Ada", "Ben"):
            assert [int(f.given.where) for f in past if f.given.who == name] == list(range(EACH))
        assert [f.superseded for f in past].count(None) == 1
        assert past[-1].superseded is None
        turns = sum(one.given.who != other.given.who for one, other in pairwise(past))
        assert turns > 1, "one had written all before the other began"


def test_a_writer_that_is_killed_leaves_whole_figures_and_a_store_that_works(address, given):
    open_store(address).close()
    confirmed = 0
    for round_ in range(3):
        with started(address, f"Ada{round_}", 100_000) as writer:
            let_go(writer)
            for _ in range(15 + 7 * round_):
                last = int(writer.stdout.readline())
            writer.send_signal(signal.SIGKILL)
            writer.stdout.read()
        assert writer.returncode == -signal.SIGKILL
        confirmed += last + 1
        with open_store(address) as store:
            own = {}
            for figure in store.figures():
                if figure.given.who.startswith("Ada") and figure.key != SHARED:
                    own.setdefault(figure.key.part_number, set()).add(figure.field)
            assert set(map(frozenset, own.values())) == {frozenset({"pins", "height"})}
            assert {f"Ada{round_} {i}" for i in range(last + 1)} <= own.keys()
            past = store.history(SHARED)
            assert len(past) == len(own) >= confirmed
            assert [f.superseded for f in past].count(None) == 1
            store.record([Statement(PartKey(part_number=f"after {round_}"), {"pins": 1}, given("Eve"))])

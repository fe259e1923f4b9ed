"""Two programs write at once and nothing is lost; one that is killed leaves whole figures or none.

Figures: invented.
"""

import signal
import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path

from depth import sample_size

from capcheck.store import PartKey, Statement, open_store

WRITER = Path(__file__).with_name("writer.py")
EACH, TURNS = 1000, 50
"""Of a whole sample; a small one is of a fifth."""
SHARED = PartKey(part_number="shared")


def started(address, name):
    writer = subprocess.Popen(
        [sys.executable, str(WRITER), address, name],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert writer.stdout.readline() == "ready\n"
    return writer


def let_go(count, *writers):
    """Let each write so many figures, all from the same moment."""
    for writer in writers:
        writer.stdin.write(f"{count}\n")
        writer.stdin.flush()


def test_two_writers_lose_nothing(address):
    each, turns_taken = sample_size(EACH), sample_size(TURNS)
    open_store(address).close()
    writers = [started(address, name) for name in ("Ada", "Ben")]
    for turn in range(turns_taken):
        # One write of each, again and again: left alone, a loaded machine may let one run to its end first.
        let_go(1, *writers)
        assert [writer.stdout.readline() for writer in writers] == [f"{turn}\n"] * 2
    let_go(each - turns_taken, *writers)
    for writer in writers:
        out, _ = writer.communicate(timeout=500)
        assert (writer.returncode, len(out.split())) == (0, each - turns_taken)
    with open_store(address, read_only=True) as store:
        own = {(f.key.part_number, f.field): f.value for f in store.figures() if f.key != SHARED}
        assert {key: value for key, value in own.items() if key[1] == "pins"} == {
            (f"{name} {i}", "pins"): i + 1 for name in ("Ada", "Ben") for i in range(each)
        }
        assert len(own) == 4 * each
        past = store.history(SHARED)
        # All of both are there, each writer's in its order, and one stands.
        assert Counter(f.given.who for f in past) == {"Ada": each, "Ben": each}
        for name in ("Ada", "Ben"):
            assert [int(f.given.where) for f in past if f.given.who == name] == list(range(each))
        assert [f.superseded for f in past].count(None) == 1
        assert past[-1].superseded is None
        turns = sum(one.given.who != other.given.who for one, other in pairwise(past))
        assert turns >= turns_taken


def test_a_writer_that_is_killed_leaves_whole_figures_and_a_store_that_works(address, given):
    open_store(address).close()
    confirmed = 0
    for round_ in range(3):
        with started(address, f"Ada{round_}") as writer:
            let_go(100_000, writer)
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

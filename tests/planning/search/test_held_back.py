"""A request to end while the solver runs ends the plan: what a callback raises, the solver would swallow.

Figures: invented.
"""

import os
import signal
import threading
import time

import numpy as np
import pytest

from capcheck.planning.search.held_back import requests_to_end
from capcheck.planning.search.milp import Program


def hard():
    """Sums that no choice meets exactly: the search tree is far larger than can be looked through."""
    rng = np.random.default_rng(1)
    program = Program()
    chosen = [program.variable(0, 1, integer=True) for _ in range(50)]
    for _ in range(6):
        weights = rng.integers(0, 100, 50)
        half = float(weights.sum() // 2)
        over, under = program.variable(cost=1.0), program.variable(cost=1.0)
        program.row([*chosen, over, under], [*map(float, weights), 1.0, -1.0], half, half)
    return program


def test_an_interrupt_within_the_solver_is_one():
    timer = threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        hard().solve(time_limit=20.0)
    timer.join()
    assert time.monotonic() - begun < 15


def test_what_came_is_handled_as_before_and_handlers_stay():
    handler = signal.getsignal(signal.SIGINT)
    seen = []

    def interrupted_twice():
        with requests_to_end() as came:
            os.kill(os.getpid(), signal.SIGINT)
            os.kill(os.getpid(), signal.SIGINT)
            seen.extend(came)

    with pytest.raises(KeyboardInterrupt):
        interrupted_twice()
    assert signal.getsignal(signal.SIGINT) is handler
    assert set(seen) == {signal.SIGINT}


@pytest.mark.parametrize("seconds", [0.9, 3.0])
def test_what_is_raised_by_whoever_is_told_ends_the_search(seconds):
    def gone(*_):
        raise BrokenPipeError

    with pytest.raises(BrokenPipeError):
        hard().solve(time_limit=seconds, progress=gone)

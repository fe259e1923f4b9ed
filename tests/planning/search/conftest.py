"""Lines as textbooks have them: machines of one head, a time for each type, and one pass."""

import math

import numpy as np
import pytest

from capcheck.planning.search.stations import Stations, Unit


@pytest.fixture(name="plain_machines")
def textbook_machines():
    """Return a function: machines of one head each with a time for each type (None: cannot), and one pass."""
    return plain_machines


def plain_machines(counts, seconds, *, fixed=None, slots=None, slots_there=None, split=True, after=()):
    types, machines = len(seconds), len(seconds[0])
    each = np.array([[math.nan if t is None else t for t in row] for row in seconds], dtype=np.float64)
    width = np.array(slots if slots is not None else [0.0] * types, dtype=np.float64)
    return Stations(
        counts=np.array(counts, dtype=np.int64)[:, None],
        weights=np.ones(1),
        units=tuple(Unit(m) for m in range(machines)),
        seconds=each,
        on_board=np.zeros_like(each),
        fixed=np.array(fixed if fixed is not None else [0.0] * machines)[:, None],
        hidden=np.zeros((machines, 1)),
        slots=np.repeat(width[:, None], machines, axis=1),
        slots_there=np.array(slots_there if slots_there is not None else [math.inf] * machines, dtype=np.float64),
        trays=np.zeros((types, machines)),
        trays_there=np.full(machines, math.inf),
        tray_unit=np.zeros(machines),
        kind=np.full(types, -1, dtype=np.int64),
        split=split,
        after=after,
    )

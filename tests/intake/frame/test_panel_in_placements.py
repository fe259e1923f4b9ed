"""Panels are recognised by repeated references, half turns and suffixes.

Figures: invented, or the digits of the text.
"""

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.intake.frame import panel_in_placements
from capcheck.lexicon import sentence

X, Y = np.array([3.0, 10.0, 17.5, 8.0]), np.array([2.0, 9.0, 4.0, 15.0])


def find_panel(refs, x, y, side):
    return panel_in_placements.find_panel(refs, x, y, side, unique=len(set(refs)) == len(refs))


REFS = ["R1", "C1", "U1", "L1"]


def repeated(moves):
    """Return the circuit's rows once for each way of moving it."""
    x = np.concatenate([m(X, Y)[0] for m in moves])
    y = np.concatenate([m(X, Y)[1] for m in moves])
    return x, y, np.zeros(len(x), dtype=np.int8)


def moved(dx, dy):
    return lambda x, y: (x + dx, y + dy)


def turned(cx, cy):
    return lambda x, y: (cx - x, cy - y)


@given(st.integers(1, 4), st.integers(1, 3), st.floats(20, 60), st.floats(20, 60))
def test_repeated_references_by_common_steps_are_a_panel(columns, rows, pitch_x, pitch_y):
    moves = [moved(i * pitch_x, j * pitch_y) for j in range(rows) for i in range(columns)]
    found = find_panel(REFS * len(moves), *repeated(moves))
    if len(moves) == 1:
        assert found is None
    else:
        panel, decision = found
        assert panel.circuits == len(moves)
        assert panel.circuit.tolist() == list(np.repeat(np.arange(1, len(moves) + 1), 4))
        assert sentence(decision.choice) == f"the file holds {len(moves)} boards"
        assert "by the same translations; offsets" in sentence(decision.evidence)


def test_rows_in_any_order_are_still_a_panel():
    x, y, side = repeated([moved(0, 0), moved(30, 0)])
    order = [0, 5, 2, 3, 4, 1, 7, 6]
    refs = [(REFS * 2)[i] for i in order]
    assert find_panel(refs, x[order], y[order], side)[0].circuits == 2


@pytest.mark.parametrize("sense", [1, -1])
def test_circuits_turned_by_a_quarter_are_a_panel(sense):
    def quarter(x, y):
        return -sense * y + 90, sense * x + 40

    panel, decision = find_panel(REFS * 2, *repeated([moved(0, 0), quarter]))
    assert panel.circuits == 2
    assert "some of them turned" in sentence(decision.choice)


def test_half_turned_circuits_are_a_panel():
    panel, decision = find_panel(REFS * 2, *repeated([moved(0, 0), turned(60, 20)]))
    assert panel.circuits == 2
    assert "some of them turned" in sentence(decision.choice)
    assert "by the same translations and turns" in sentence(decision.evidence)


def test_a_reference_copied_by_mistake_is_no_panel():
    x, y, side = repeated([moved(0, 0)])
    assert find_panel(["R1", "R1", "U1", "L1"], x, y, side) is None


def test_circuits_that_differ_are_no_panel():
    x, y, side = repeated([moved(0, 0), moved(30, 0)])
    x[5] += 3.0
    x[6] -= 2.0
    assert find_panel(REFS * 2, x, y, side) is None


def test_suffixes_number_the_circuits():
    refs = [f"{r}_{k}" for k in (1, 2, 3) for r in REFS]
    panel, decision = find_panel(refs, *repeated([moved(0, 0), moved(30, 0), moved(60, 0)]))
    assert panel.circuits == 3
    assert "carry the suffixes 1, 2, 3" in sentence(decision.evidence)
    assert list(panel.base[4:8]) == REFS


def test_numbered_connectors_are_no_circuits():
    x, y, side = repeated([moved(0, 0)])
    assert find_panel(["J1_1", "J1_2", "R1", "R2"], x, y, side) is None

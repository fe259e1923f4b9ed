"""References are shortened to runs, and copies on a panel's circuits are told once.

Figures: invented; sums worked by hand.
"""

import pytest

from capcheck.values.refs import shortened


def on(circuits, *refs):
    """Return references as a stepped panel has them: the second circuit carries /2 behind them."""
    return [ref if k == 1 else " and ".join(f"{r}/{k}" for r in ref.split(" and ")) for k in circuits for ref in refs]


@pytest.mark.rows(
    ("refs", "text"),
    [
        (["C4", "C1", "C3", "C2", "R9", "R10"], "C1–C4, R9, R10"),
        (["R1", "R1"], "R1"),
        (on([1, 2], "FID2", "FID1"), "FID1, FID2 on circuits 1–2"),
        (on(range(1, 7), "R1", "R2", "R3"), "R1–R3 on circuits 1–6"),
        (on([1, 3], "R1"), "R1 on circuits 1, 3"),
        ([*on([1, 2], "R1", "R2"), "C7", "R9/2"], "R1, R2 on circuits 1–2; C7, R9/2"),
        (on([1, 2], "R1 and R2"), "R1 and R2 on circuits 1–2"),
        # Names of their own with a stroke are no copies.
        (["IC1/1", "IC1/2"], "IC1/1, IC1/2"),
        (["R1/2", "R2/2"], "R1/2, R2/2"),
        (["R1", "R1/1", "R1/2"], "R1, R1/1, R1/2"),
        (["J1", "J1/2", "C7", "R3"], "C7, J1, J1/2, R3"),
        (on([1, 2], "J1"), "J1 on circuits 1–2"),
        (["R1 and R2", "R1 and R2/2"], "R1 and R2, R1 and R2/2"),
        ([], ""),
    ],
)
def test_references_read_as_a_person_would_write_them(refs, text):
    assert shortened(refs) == text


def test_what_is_left_out_is_counted_with_its_copies():
    refs = on([1, 2], *(f"R{3 * n}" for n in range(12)))
    assert shortened(refs, 10) == "R0, R3, R6, R9, R12, R15, R18, R21, R24, R27 on circuits 1–2 and 4 more"
    assert shortened([f"R{3 * n}" for n in range(12)]).endswith(", R27 and 2 more")

"""A text that names two values or two packages, of which one counts, is asked about.

Boards and texts are invented.
"""

import pytest

from capcheck import read_board


@pytest.fixture
def asked(tmp_path):
    def refs(ref, *, value="1k", package="0603", description=""):
        (tmp_path / "places.csv").write_text(f"Ref,X (mm),Y (mm),Rot,Side\n{ref},10,20,0,top\nR9,15,20,0,top\n")
        lines = f'{ref},1,"{value}","{package}",PN-1,"{description}"\nR9,1,2k,0603,PN-9,\n'
        (tmp_path / "list.csv").write_text(
            "Reference,Qty,Value,Package,Part number,Description\n" + lines, encoding="utf-8"
        )
        return [d.refs for d in read_board(tmp_path).discrepancies if d.said.key == "compare.one of two"]

    return refs


@pytest.mark.parametrize(
    ("ref", "texts"),
    [
        ("R1", {"value": "1k or 0R"}),
        ("R1", {"description": "resistor 1k or 0R, thick film"}),
        ("R1", {"value": "1k oder 2k2"}),
        ("C1", {"value": "100n, or 1u"}),
        ("R1", {"value": "1k ou 0R"}),
        ("U1", {"value": "QX-1", "package": "SOIC-8 or QFN-8"}),
        ("U1", {"value": "QX-1", "description": "amplifier, SOIC-8 or QFN-8"}),
    ],
)
def test_a_choice_of_two_is_asked_about(asked, ref, texts):
    assert asked(ref, **texts) == [(ref,)]


@pytest.mark.parametrize(
    ("ref", "texts"),
    [
        ("R1", {"value": "1k or 1000R"}),
        ("U1", {"value": "QX-1", "description": "transceiver RS232 or RS485"}),
        ("U1", {"value": "QX-1", "description": "regulator 3.3V or 5V"}),
        ("R1", {"description": "resistor 1k 1% or better"}),
    ],
)
def test_what_is_no_choice_of_parts_asks_nothing(asked, ref, texts):
    assert asked(ref, **texts) == []

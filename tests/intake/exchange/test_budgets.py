"""What a fabrication file lists is counted before it is read: a file of more than any board needs is refused at once.

Figures: invented, and by arithmetic one more than a limit.
"""

from pathlib import Path

import pytest

from capcheck.intake.exchange import idf, netlist, pads
from capcheck.intake.outline.forms import idf as outline_idf
from capcheck.values import InputError

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Copper,L1,Top*%\n%ADD10C,0.1*%\nD10*\n"


@pytest.mark.rows(
    ("read", "text", "what"),
    [
        (netlist.read_here, "P  UNITS CUST 0\n" + "327\n" * 300_000, "300,000 lines"),
        (netlist.read_here, "P  UNITS CUST 0\n" + "327\x85" * 300_000, "300,000 lines"),
        (idf.read_here, ".HEADER\n" + "a\n" * 300_000, "300,000 lines"),
        (lambda file, _: outline_idf.FORM.read(Path(file), None), ".HEADER\n" + "a\n" * 300_000, "300,000 lines"),
        (pads.read_here, HEAD + "%TO.P,U1,1*%\n" + "X1Y1D01*\n" * 600_000, "600,000 commands"),
        (pads.read_here, HEAD + "%TO.P,U1,1*%\n" + "%TO.P,U1,1*%\n" * 60_000, "60,000 pads"),
    ],
)
def test_a_file_of_more_than_any_board_needs_is_refused_before_it_is_read(read, text, what, tmp_path, in_time):
    file = tmp_path / "file"
    file.write_text(text, encoding="latin-1")
    with in_time(0.2), pytest.raises(InputError, match=f"more than {what}"):
        read(str(file), b"")

"""Texts that name a body that is placed, and texts that do not.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.packages import names_body

NAMES = [
    "SOT-363",
    "SO-16",
    "64-LQFP",
    "QFN24",
    "CAPC1005X55N",
    "01005",
    "0402(1005)",
    "CAP-0805-2012M",
    "SMD-0805",
    "DIO_SMB",
    "DO-214AA",
    "MiniMELF",
    "EIA-3528-21",
    "Case A",
    "CRYSTAL_3225",
    "LED_0603",
    "0402X4",
    "BGA256",
    "DIP-8",
    "TO-92",
    "TO-220-3 upright",
    "boîtier SOT-23",
    "Größe 0805",
    "封装0603",
]

NO_NAMES = [
    "",
    "SMD",
    "THT",
    "THT 1.0",
    "TP_40C",
    "TESTPOINT drilled",
    "SMD20-A",
    "ROUND-1",
    "MTG450_900",
    "3V3",
    "SDA1",
    "RST",
    "C1-0",
    "hole_2mm",
    "STAND-OFF-TIGHT",
    "Mark1.0",
    "OSHW-LOGO-S",
    "PAD.02X.02",
    "5001",
    "SOLDERJUMPER_ARROW",
]


@pytest.mark.rows("text", NAMES)
def test_a_package_code_or_land_pattern_names_a_body(text):
    assert names_body(text)


@pytest.mark.rows("text", NO_NAMES)
def test_words_nets_and_names_of_copper_name_none(text):
    assert not names_body(text)

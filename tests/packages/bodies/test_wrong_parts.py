"""A part that is listed as another body than its land: always a conflict, and never a proof of one of the two.

Figures: bodies by the tables in capcheck/packages/data/, each with its source there; part numbers follow their makers'
published schemes.
"""

import pytest

from capcheck.model import LeadStyle, PartName
from capcheck.packages.bodies.weighing import bodies_of

MEASURES = ("length", "width", "height", "pitch")
# reference/size_codes.csv, reference/package_outlines.csv.
FOOTPRINTS = {
    "R": ["R0402", "RESC1608X55N", "RES-0805", "R_1206_3216M", "R2512"],
    "C": ["C0402", "CAPC2012X140N", "C1210", "CAP-TANT-A", "CAPAE660X550N"],
    "L": ["L_0603_1608M", "INDM5030X300N", "IND-4x4x2.0", "L1210"],
    "D": ["SOD-123", "SOD-323", "D_SMA", "DO-214AB", "SOT-23", "LED_0603", "MiniMELF"],
    "Q": ["SOT-23-3", "SOT-323", "SOT-363", "SOT-223-3", "TO-252-2"],
    "U": [
        "SOIC127P600X175-8N",
        "SOP65P640X120-14N",
        "SOP65P640X120-16N",
        "QFN50P500X500X100-33N",
        "QFP50P900X900X160-48N",
        "QFP50P1200X1200X160-64N",
        "SOT-23-5",
        "BGA100C80P10X10_1000X1000X140",
        "SOP65P490X110-8N",
    ],
}
# reference/independent_part_schemes.csv; words by reference/size_codes.csv and reference/package_outlines.csv.
LISTED = {
    "R": [
        {"part_number": "CRCW040210K0FKED"},
        {"part_number": "RC0603FR-0710KL"},
        {"part_number": "ERJ-6ENF1002V"},
        {"description": "RES 10K 1% 2512"},
        {"description": "MELF 0204 10k"},
        {"description": "RES ARRAY 4x0603"},
    ],
    "C": [
        {"part_number": "CL10B104KB8NNNC"},
        {"part_number": "GRM32ER61E226KE15L"},
        {"part_number": "T491D107K016AT"},
        {"value": "10uF 0805"},
        {"description": "CAP CER 0.1UF 16V X7R 0402"},
    ],
    "L": [
        {"part_number": "BLM15AG121SN1D"},
        {"part_number": "NR6045T100M"},
        {"part_number": "XAL4020-102MEB"},
        {"description": "POWER INDUCTOR 3x3x1.5mm"},
        {"description": "ferrite bead 0805"},
    ],
    "D": [
        {"part_number": "1N4148WS-7-F"},
        {"part_number": "SMBJ5.0A"},
        {"part_number": "LTST-C170KRKT"},
        {"description": "SOD-523 diode"},
        {"description": "MELF diode"},
        {"value": "red 1206"},
    ],
    "Q": [
        {"part_number": "BC847BW,115"},
        {"part_number": "BCP56-16"},
        {"description": "dual SOT-363"},
        {"description": "NPN SOT323"},
        {"description": "MOSFET DPAK"},
    ],
    "U": [
        {"part_number": "LM358DR"},
        {"part_number": "SN74LVC1G08DCKR"},
        {"part_number": "STM32F103C8T6"},
        {"description": "IC OPAMP 8SOIC"},
        {"description": "IC MCU 64LQFP"},
        {"description": "44-TQFP 10x10"},
        {"description": "IC MCU 48LQFP 7x7"},
        {"value": "LM358 SOIC-8"},
    ],
}
PAIRS = [
    (prefix, footprint, listed)
    for prefix, footprints in FOOTPRINTS.items()
    for footprint in footprints
    for listed in LISTED[prefix]
]
ENDS = frozenset({LeadStyle.CHIP, LeadStyle.MELF, LeadStyle.GULL_WING, LeadStyle.J_LEAD, LeadStyle.CAN})


def body(prefix, **texts):
    (found,) = bodies_of([PartName(ref_prefix=prefix, **texts)])
    return found


def excludes(one, other):
    both_known = one.proved.value.is_known and other.proved.value.is_known
    return both_known and not one.proved.value.overlaps(other.proved.value)


def are_two(land, listed):
    """Whether two bodies differ in a measure, in the count of their leads by more than a pad, or in how those end."""
    if any(excludes(getattr(land, m), getattr(listed, m)) for m in MEASURES):
        return True
    if land.pins and listed.pins and abs(land.pins - listed.pins) > 1:
        return True
    return {land.lead_style, listed.lead_style} <= ENDS and land.lead_style is not listed.lead_style


@pytest.mark.rows(("prefix", "footprint", "texts"), PAIRS)
def test_another_part_than_its_land_is_for_is_a_conflict_and_proves_neither(prefix, footprint, texts):
    land, listed = body(prefix, footprint=footprint), body(prefix, **texts)
    if not are_two(land, listed):
        return
    found = body(prefix, footprint=footprint, **texts)
    assert found.misfits
    for measure in MEASURES:
        assert not excludes(getattr(found, measure), getattr(land, measure))
        assert not excludes(getattr(found, measure), getattr(listed, measure))


def test_most_of_the_pairs_are_of_two_bodies():
    two = sum(are_two(body(p, footprint=f), body(p, **texts)) for p, f, texts in PAIRS)
    assert 2 * two > len(PAIRS)


# What prose says of outlines with more leads too, and of a whole open family: common practice, no source.
@pytest.mark.rows(
    ("prefix", "footprint", "description"),
    [
        ("Q", "SOT95P280X140-6N", "TRANS NPN/PNP 20V SOT23"),
        ("U", "SOT-223-5", "regulator SOT223"),
        ("Q", "TO-252-5", "MOSFET TO-252"),
        ("U", "TO-263-7", "regulator TO-263"),
        ("U", "SOT-353", "gate SC70"),
        ("U", "QFN50P500X500X100-33N", "MCU 32-QFN"),
        ("U", "SON50P100X270X53-9N", "TVS array 8SLP"),
        ("C", "C_1206_3216M", "MLCC 1206"),
    ],
)
def test_what_may_be_said_of_the_part_of_the_land_is_no_conflict(prefix, footprint, description):
    assert not body(prefix, footprint=footprint, description=description).conflicts


# Such a receptacle is larger than any package of its land: capcheck/packages/data/least_bodies.toml.
def test_a_body_smaller_than_its_sort_beside_a_package_in_the_value_is_open():
    found = body("J", footprint="VSOF5", value="USBLC6-2SC6", description="USB - microB receptacle connector")
    assert found.conflicts
    assert not found.height.value.is_known

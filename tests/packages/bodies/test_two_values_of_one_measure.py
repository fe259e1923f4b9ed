"""Texts that state two values of one measure, or one against another: all of them count until somebody settles it.

Figures: sizes are those that the texts state, and the texts are invented; bounds lie a little past them.
"""

import math

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.values import Interval

# Invented: more than any column of these tests states.
TALL = 26.0
"""What nothing below may be proved to stay under."""


def body(**fields):
    return bodies_of([PartName(**{"ref_prefix": "J", **fields})])[0]


TWO_HEIGHTS = [
    "Header SMD 12.7x5.1x8.5 mm, height 40 mm with cap",
    "Connector SMD 12.7x5.1x8.5mm, total H=40mm",
    "Connector SMD 12.7x5.1x8.5mm (40 mm high when mated)",
    "Übertrager SMD 20x22x12.5mm (Gesamthöhe 30 mm)",
    "Übertrager SMD 20x22x12.5mm, Bauhöhe 30",
    "Übertrager SMD 20x22x12,5mm, 30 mm hoch",
    "Transformer SMD 20x22x12.5mm, stand-off 20mm, overall 32.5mm",
    "Transformer SMD 20x22x12.5mm, max. height 30mm",
    "Transformer SMD 20x22x12.5mm; height max 30 mm",
    "Transformer SMD 20x22x12.5mm; height min. 30 mm",
    "Transformer SMD 20x22x12.5mm; height > 30 mm",
    "Transformateur CMS 20x22x12.5mm, hauteur 30 mm",
    "Trasformatore SMD 20x22x12.5mm, altezza totale 30 mm",
    "Bobina SMD 7.3x7.3x4.5mm, altura 30 mm",
    "变压器 20x22x12.5mm 高度30mm",
    "トランス 20x22x12.5mm 高さ30mm",
    "Elko SMD 10x10x10.2mm, Höhe 30mm",
    "Coil 7.3x7.3x4.5mm (H=30mm)",
    "Coil 7.3x7.3x4.5mm H30.0",
    "Coil 7.3x7.3x4.5mm [H: 30]",
    "Coil 7.3x7.3x4.5mm 30mmH",
    "Coil 7.3x7.3x4.5-30mm",
    "Coil 7.3x7.3x4.5/30mm",
    "Coil 7.3x7.3x4.5mm, height incl. heatsink 30 mm",
    "Coil 7.3x7.3x4.5mm, Höhe mit Kühlkörper 30 mm",
    "Coil 30mm high, body 7.3x7.3x4.5mm",
    "Coil 7.3x7.3x4.5mm or 7.3x7.3x30mm",
    "Coil 7.3x7.3x4.5mm, alt. 7.3 x 7.3 x 30 mm",
    "Coil H=4.5mm L=7.3mm W=7.3mm, with sink H=30mm",
    "Coil height 4.5 mm, height with sink 30 mm, 7.3x7.3mm",
]


@pytest.mark.rows("text", TWO_HEIGHTS)
def test_of_two_heights_in_one_text_either_counts_with_a_question(text):
    found = body(description=text)
    assert found.height.value.low < TALL < found.height.value.high
    assert found.questions


# Invented height.
@pytest.mark.rows("text", TWO_HEIGHTS)
def test_a_column_that_agrees_with_one_of_two_heights_does_not_settle_it(text):
    stated = {"height": (Interval.exactly(4.5), "bom.csv:2 height")}
    assert body(description=text, dimensions=stated).height.value.high > TALL


# Invented texts; a bound lies a little past what its text states.
@pytest.mark.rows(
    ("text", "most"),
    [
        ("QFN-16 4x4x0.9mm, EP 2.6x2.6", 1.1),
        ("Coil 4x4x1.1mm, H 1.2 max", 1.31),
        ("Coil 4x4x1.1mm, tape 12x8mm", 1.31),
        ("Crystal 3.2x2.5x0.8mm (0.126x0.098x0.031in)", 1.01),
        ("Crystal 12MHz 3.2x2.5x0.8mm, height 0.8 mm max", 0.9),
        ("Pin header SMD pitch 2.54mm height 8.5mm", 8.71),
        ("Coil 4x4mm, thick film free, 1.5 mm high", 1.71),
    ],
)
def test_ordinary_texts_leave_no_doubt(text, most):
    found = body(description=text, ref_prefix="X")
    assert found.height.value.high <= most
    assert not found.conflicts
    assert not [asked for asked in found.questions if asked.key == "packages.two measures"]


@pytest.mark.rows(
    ("footprint", "description"),
    [
        ("CAP-ELEC-16x22", "Aluminium electrolytic SMD 16x40mm"),
        ("CAP-ELEC-16x22", "Elko SMD 16x40"),
        ("CAP-ELEC-16x22", "Aluminium capacitor SMD 16x40mm"),
        ("CAP-ELEC-16x40", "Aluminium capacitor SMD D16x21.5mm"),
        ("CAP-ELEC-16x22", "1000uF 25V 16x40mm"),
        ("CAP-ELEC-16x22", "Al-Elko Ø16 x 40 mm SMD"),
        ("CAP-ELEC-16x22", "ELEC CAP SMD 16mm dia 40mm height"),
        ("CAP-ELEC-16x22", "Elko SMD D=16mm L=40mm"),
        ("CAP-0603-1608M", "Elko SMD 16x40mm"),
        ("IND_7.3x7.3_H4.5", "Inductor 7.3x7.3x40mm"),
    ],
)
def test_a_description_that_states_another_height_than_the_footprint_is_a_conflict(footprint, description):
    found = body(footprint=footprint, description=description, ref_prefix=footprint[0])
    assert found.height.value.high > TALL
    assert found.conflicts


@pytest.mark.parametrize("footprint", ["CAP-ELEC-6.3x7.7", "CAP-ELEC-6.3x5.4"])
def test_a_description_that_states_the_height_of_the_footprint_is_none(footprint):
    found = body(footprint=footprint, description=f"Elko SMD {footprint[9:]}mm 47uF", ref_prefix="C")
    assert not found.conflicts


# Invented sizes; the columns repeat two of the name.
@pytest.mark.rows(
    "fields",
    [
        {"footprint": "CONN_12.7x5.1x32.0mm"},
        {"footprint": "CONN SMD 2x05 12.7x5.1x32.0mm"},
        {"footprint": "HDR-12.7x5.1x32mm"},
        {"footprint": "CONN SMD 2x05 H32.0mm"},
        {"footprint": "SMD_2x05", "value": "12.7x5.1x32mm"},
        {"footprint": "CONN SMD 2x05", "bom_package": "CONN 12.7x5.1x32mm"},
        {"footprint": "CONN SMD 2x05", "description": "Connector SMD 12.7 x 5.1 x 32 mm"},
    ],
)
def test_three_sides_of_a_connector_are_read_beside_columns(fields):
    stated = {
        "length": (Interval.exactly(12.7), "bom.csv:2 length"),
        "width": (Interval.exactly(5.1), "bom.csv:2 width"),
        "height": (Interval.exactly(1.2), "bom.csv:2 height"),
    }
    found = body(**fields, dimensions=stated)
    assert found.height.value.high > TALL
    assert found.conflicts


ORDERS = [
    "Coil 30x20x7.3mm (H x L x W)",
    "Coil 30x7.3x7.3mm HxLxW",
    "Spule HxBxT 30x7.3x7.3 mm",
    "Transformer SMD 30x20x10mm (HxWxL)",
    "Transformer SMD (H*W*D) 30*20*10mm",
    "Transformer SMD H/W/L 30x20x10mm",
    "Transformer SMD 30x20x10mm height x width x length",
    "Spule 30 x 7,3 x 7,3 mm (Höhe × Breite × Länge)",
    "Bobine 30x20x10 mm, hauteur x longueur x largeur",
    "电感 30x20x10mm (高×长×宽)",
    "Trafo 30 mm x 20 mm x 10 mm (h x w x d)",
    "Trafo hauteur × largeur × profondeur 30 × 20 × 10 mm",
    "トランス 高さ×幅×奥行 30×20×10mm",
    "Transformer SMD 30(H)x20(L)x10(W)mm",
    "Transformer SMD H30 x L20 x W10 mm",
    "Transformer SMD 20mm(L) x 30mm(H) x 10mm(W)",
    "Transformer SMD 30H x 20L x 10W mm",
]


# Invented sizes, as the texts state them.
@pytest.mark.rows("text", ORDERS)
def test_a_stated_order_of_the_dimensions_is_obeyed_in_a_description(text):
    found = body(description=text)
    assert found.height.value.low <= 30 <= found.height.value.high
    assert found.length.value.high < TALL


# Invented height.
@pytest.mark.parametrize("text", ["Header SMD 2x5", "Header SMD 2x5 12.7x5.1x8.5 mm"])
def test_a_bound_from_memory_does_not_close_a_stated_least_height(text):
    stated = {"height": (Interval(27.0, math.inf), "bom.csv:2 height")}
    found = body(footprint="CONN SMD 2x05", description=text, dimensions=stated)
    assert found.height.value.high == math.inf
    assert bool(found.conflicts) == ("8.5" in text)


@pytest.mark.rows(
    "text",
    ["height min. 27 mm", "height > 27mm", "Höhe mindestens 27 mm", "H >= 27 mm", "min. 27 mm high", "H min 27mm"],
)
def test_a_least_height_in_a_text_stays_open_upward(text):
    assert body(footprint="CONN SMD 2x05", description=f"Header SMD, {text}").height.value.high == math.inf

"""A number with a size that its scheme has not, or another value than the part's, proves nothing and is asked about.

Figures: the numbers' own digits, by the schemes that they follow; 103 is 10 kΩ (IEC 60062).
"""

import pytest

from capcheck.lexicon import sentence
from capcheck.model import PartName
from capcheck.packages import bodies_of


def body(number, value, prefix, footprint="", description=""):
    texts = {"part_number": number, "value": value, "footprint": footprint, "description": description}
    return bodies_of([PartName(ref_prefix=prefix, **texts)])[0]


SIZES = [
    ("RC0608FR-0710KL", "10k", "R", "0608"),
    ("RC063FR-0710KL", "10k", "R", "063"),
    ("CRCW08501K00FKEA", "1k", "R", "0850"),
    ("ERJ-9ENF1000V", "100R", "R", "9E"),
    ("GRM198R71H104KA93D", "100n", "C", "19"),
    ("CL12B105KBFNNNE", "1u", "C", "12"),
]


@pytest.mark.rows(("number", "value", "prefix", "code"), SIZES)
def test_a_size_that_no_number_of_the_scheme_has(number, value, prefix, code):
    found = body(number, value, prefix)
    assert any(code in sentence(said) and number in sentence(said) for said in found.conflicts)
    assert not found.length.value.is_known


VALUES = [
    ("RC0603FR-0710KL", "10k", "100k", "R"),
    ("CRCW08051K00FKEA", "1k0", "1k1", "R"),
    ("ERJ-8ENF1000V", "100R", "1k", "R"),
    ("ERJ-3GEYJ103V", "10k", "100k", "R"),
    ("GRM188R71H104KA93D", "100nF", "1uF", "C"),
    ("GRM1555C1H4R7CA01D", "4.7p", "47p", "C"),
    ("CL21B105KBFNNNE", "1u", "10n", "C"),
]


@pytest.mark.rows(("number", "right", "wrong", "prefix"), VALUES)
def test_a_number_of_another_value_is_asked_about_and_proves_no_body(number, right, wrong, prefix):
    assert body(number, right, prefix).conflicts == ()
    assert body(number, right, prefix).length.value.is_known
    (said,) = body(number, wrong, prefix).conflicts
    assert wrong in sentence(said)
    assert not body(number, wrong, prefix).length.value.is_known


# The number may be what is bought, and then another body lies on the land than it is for.
@pytest.mark.parametrize(
    ("number", "value", "prefix", "footprint"),
    [("GRM188R71H104KA93D", "1uF", "C", "C0805"), ("RC0402FR-0710KL", "12k", "R", "R1206")],
)
def test_a_number_of_another_value_leaves_the_land_no_proof_of_the_body(number, value, prefix, footprint):
    land, listed = body("", value, prefix, footprint), body(number, "", prefix)
    found = body(number, value, prefix, footprint)
    assert found.disputed == ("body",)
    for measure in ("length", "width"):
        assert getattr(found, measure).value.low <= getattr(listed, measure).value.low
        assert getattr(found, measure).value.high >= getattr(land, measure).value.high
    assert found.height.value.high >= land.height.value.high


def test_a_number_of_another_value_narrows_nothing_of_the_body_that_its_land_is_for():
    alone, beside = body("", "1uF", "C", "C0603"), body("GRM188R71H104KA93D", "1uF", "C", "C0603")
    assert beside.height.value == alone.height.value
    assert beside.length.value == alone.length.value


# 0604 is one slip from 0603, GRM198 from GRM188 and GRM158; no size of the scheme is as near to 1350.
@pytest.mark.parametrize(
    ("number", "prefix", "near", "far"),
    [
        ("RC0604FR-0710KL", "R", ["R0603"], ["R0805", "R1206"]),
        ("RC0630FR-0710KL", "R", ["R0603"], ["R1206"]),
        ("GRM198R71H104KA93D", "C", ["C0603"], ["C1206"]),
        ("RC1350FR-0710KL", "R", [], ["R0805", "R1206"]),
    ],
)
def test_a_number_of_no_size_is_a_witness_against_the_land_of_a_size_that_is_not_near(number, prefix, near, far):
    value = {"R": "10k", "C": "100nF"}[prefix]
    for land in near:
        assert body(number, value, prefix, land).disputed == ()
        assert body(number, value, prefix, land).length.value == body("", value, prefix, land).length.value
    for land in far:
        alone, found = body("", value, prefix, land), body(number, value, prefix, land)
        assert found.disputed == ("body",), land
        assert found.length.value.low < alone.length.value.low or found.length.value.high > alone.length.value.high


def test_a_wrong_number_hides_no_right_one_in_the_description():
    found = body("RC0604FR-0710KL", "10k", "R", "R1206", "RC0805FR-0710KL")
    assert found.disputed == ("body",)
    assert found.length.value.low <= 2.0


def test_a_number_in_the_description_is_held_to_the_value_too():
    found = body("", "4k7", "R", description="RC0603FR-0710KL")
    (said,) = found.conflicts
    assert "4k7" in sentence(said)
    assert not found.length.value.is_known
    assert body("", "10k", "R", description="RC0603FR-0710KL").length.value.is_known


@pytest.mark.parametrize("description", ["RES 4.7K 0805 1%", "RES 4.7K 0603 1%", "RES 4.7K 1206 1%", "RES 4.7K 1%"])
def test_number_description_and_land_all_stay_possible_where_the_value_is_another(description):
    land = "R1206"
    found = body("RC0603FR-0710KL", "4k7", "R", land, description)
    assert found.disputed == ("body",)
    for size in ("R0603", land, *(["R0805"] if "0805" in description else [])):
        one = body("", "4k7", "R", size).length.value
        assert found.length.value.overlaps(one), size


@pytest.mark.rows("value", ["", "see list", "10,000", "10k 1%", "10K0", "0.01M"])
def test_a_value_that_agrees_or_may_be_anything_is_no_contradiction(value):
    assert body("RC0603FR-0710KL", value, "R").conflicts == ()


@pytest.mark.rows("number", ["XQ-0608-10K", "RC-X", "GRM", "RESISTOR", "0608"])
def test_a_number_of_no_scheme_is_not_asked_about(number):
    assert body(number, "10k", "R").conflicts == ()

"""Two spellings of one value agree, two values differ, and what is no value says nothing.

Figures: invented, or the digits of the text.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.intake.compare.component_values import differ, magnitude
from capcheck.intake.read import read_package
from capcheck.lexicon import sentence


# IEC 60062 marks: the letter stands where the decimal point would (4K7 is 4.7 kΩ, 0R33 is 0.33 Ω, 2n2 is 2.2 nF).
@pytest.mark.rows(
    ("text", "prefix", "value"),
    [
        ("4K7", "R", 4700),
        ("0R33", "R", 0.33),
        ("2n2", "C", 2.2e-9),
        ("1M0", "R", 1e6),
        ("3u3", "L", 3.3e-6),
        ("4.7 kΩ", "R", 4700),
        ("4,7k 1%", "R", 4700),
        ("470", "R", 470),
        ("0", "R", 0),
        ("10 Ohm", "R", 10),
        ("0.1µF 16V X7R", "C", 1e-7),
        ("100nF/50V", "C", 1e-7),
        ("100N", "C", 1e-7),
        ("22pF", "C", 22e-12),
        ("10 uH", "L", 1e-5),
        ("5m", "R", 0.005),
        ("R47", "R", 0.47),
        ("R005 1%", "R", 0.005),
        ("0,100", "R", 0.1),
        ("4.700k", "R", 4700),
        ("0.047uF", "C", 4.7e-8),
        ("1206", "R", 1206),
        ("1000 SMD", "R", 1000),
    ],
)
def test_a_value_is_read_in_every_usual_spelling(text, prefix, value):
    assert magnitude(text, prefix) == pytest.approx(value)


@pytest.mark.rows(
    ("text", "prefix"),
    [
        ("43K1%", "R"),  # 43 kΩ of 1 %, or 43.1 kΩ
        ("10R5%", "R"),
        ("104", "C"),
        ("22", "C"),
        ("600R@100MHz", "L"),
        ("QAT54", "D"),
        ("10k", "U"),
        ("100V", "C"),
        ("1.5.2", "R"),
        ("10-20k", "R"),
        ("RES 10k", "R"),
        ("", "R"),
        ("10nF", "R"),
        ("10k", "C"),
        ("DNP", "R"),
        ("4k7k", "R"),
        ("R47", "L"),
        ("R0402", "R"),
        ("10'000", "R"),
        # Three digits after a mark may be thousands or decimals.
        ("10,000", "R"),
        ("4.700", "R"),
        ("4.700 Ohm", "R"),
        ("1,000 pF", "C"),
        ("4,700uH", "L"),
        ("1,000,000", "R"),
        # The number in front is the size of the case.
        ("1206 10k", "R"),
        ("0603 4k7 1%", "R"),
        ("0805 RES 10k/1%", "R"),
    ],
)
def test_what_is_no_value_of_that_kind_is_none(text, prefix):
    assert magnitude(text, prefix) is None


@pytest.mark.parametrize(("one", "two"), [("100n", "0.1uF"), ("4k7", "4.7K"), ("1k", "1000R"), ("10k 1%", "10K")])
def test_spellings_of_one_value_agree(one, two):
    assert not differ(one, two, "C" if "n" in one else "R")


@pytest.mark.parametrize(
    ("one", "two", "prefix"),
    [("10000", "10,000", "R"), ("1,000 pF", "1nF", "C"), ("4.700", "4k7", "R"), ("1206 10k", "10k", "R")],
)
def test_values_that_may_be_the_same_are_not_said_to_differ(one, two, prefix):
    assert not differ(one, two, prefix)


def test_values_that_differ_are_told_apart():
    assert differ("R47", "47", "R")
    assert differ("10k", "4k7", "R")
    assert differ("0R", "10R", "R")
    assert differ("100n", "100p", "C")


@given(st.text(max_size=12), st.text(max_size=12), st.sampled_from(["R", "C", "L", "U", ""]))
def test_any_texts_are_compared_without_an_error_and_alike_either_way(one, two, prefix):
    assert differ(one, two, prefix) == differ(two, one, prefix)


@pytest.fixture
def read(tmp_path):
    def write(values, bom):
        rows = "".join(f"{ref},{value},0603,{k * 3},{k},0,top\n" for k, (ref, value) in enumerate(values.items()))
        (tmp_path / "p.csv").write_text("Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + rows)
        (tmp_path / "b.csv").write_text("References,Value,Quantity,Part number\n" + bom)
        package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "b.csv")
        return [d for d in package.discrepancies if d.title == "two values"]

    return write


PLACED = {"R1": "10k", "R2": "10k", "R3": "4k7", "C1": "100n", "U1": "X-1"}


def test_one_record_lists_all_references_with_both_values(read):
    (found,) = read(PLACED, '"R1,R2",4k7,2,PN-1\nR3,4.7K,1,PN-2\nC1,10uF,1,PN-3\nU1,X-2,1,PN-4\n')
    assert found.refs == ("R1", "R2", "C1")
    assert "R1, R2 10k against 4k7" in sentence(found.said)
    assert "C1 100n against 10uF" in sentence(found.said)


def test_values_that_agree_and_parts_not_fitted_are_no_question(read):
    assert read(PLACED, '"R1,R2",10K,2,PN-1\nR3,4700,1,PN-2\nC1,0.1µF 50V,1,PN-3\nU1,X-2,1,PN-4\n') == []
    assert read(PLACED, '"R1,R2",DNP,2,PN-1\nR3,4k7,1,PN-2\nC1,100n,1,PN-3\nU1,X-1,1,PN-4\n') == []

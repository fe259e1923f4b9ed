"""From names to bodies: the order of evidence, hulls, bounds, and nothing wrong with certainty.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest
from hypothesis import given, strategies as st
from msgspec.structs import replace

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.explanation import explain
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.library import load_library
from capcheck.values.interval import Interval


def body(library=None, prefer="footprint", **fields):
    return bodies_of([PartName(**fields)], library=library, prefer=prefer)[0]


STATED = {"length": (Interval.exactly(2.0), "bom.csv:3 length"), "width": (Interval.exactly(3.0), "bom.csv:3 width")}


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_text("footprint,length [mm],width [mm],height [mm]\nR0805,2.1,1.3,0.9\nSOIC127P600X175-8N,5,4,\n")
    return load_library(path)


# Invented sides.
def test_a_column_of_the_data_goes_before_the_shops_library(shop):
    found = body(shop, footprint="R0805", ref_prefix="R", dimensions=STATED)
    assert (found.length.high, found.width.high) == (3.0, 2.0)
    assert found.length.basis is Basis.STATED
    assert "bom.csv:3 length" in found.length.source


# Invented.
def test_the_shops_library_goes_before_a_name(shop):
    found = body(shop, footprint="R0805", ref_prefix="R")
    assert found.length.value == Interval.exactly(2.1)
    assert found.length.basis is Basis.LIBRARY
    assert not found.conflicts


# IPC-7351B: X175 is 1.75 mm high, -8 counts the leads; the length is of the invented library.
def test_what_the_library_leaves_open_the_name_fills_in(shop):
    found = body(shop, footprint="SOIC127P600X175-8N", ref_prefix="U")
    assert found.length.value == Interval.exactly(5.0)
    assert found.height.high == 1.75
    assert found.pins == 8


# Invented height.
def test_a_stated_height_completes_a_decoded_body():
    stated = {"height": (Interval.exactly(0.6), "bom.csv:9 height")}
    found = body(footprint="R0805", ref_prefix="R", dimensions=stated)
    assert found.height.value == Interval.exactly(0.6)
    assert found.height.basis is Basis.STATED
    assert found.length.basis is Basis.DECODED
    assert "bom.csv:9 height" in found.body_from


def test_stated_sides_may_come_in_either_order():
    turned = {"length": STATED["width"], "width": STATED["length"]}
    one, other = body(dimensions=STATED), body(dimensions=turned)
    assert (one.length.value, one.width.value) == (other.length.value, other.width.value)


# reference/size_codes.csv.
def test_a_name_in_the_footprint_goes_before_the_bom_unless_the_shop_says_otherwise():
    names = {"footprint": "R0805", "bom_package": "1206", "ref_prefix": "R"}
    assert body(**names).nominal_length.high == 2.0
    assert body(prefer="bom", **names).nominal_length.high == 3.2


def test_nothing_of_a_contradicted_reading_completes_the_body():
    found = body(footprint="R0805", description="SOT-23-5 transistor", ref_prefix="R")
    assert found.pins == 2
    assert found.lead_style == "chip"
    assert not found.pitch.value.is_known


def test_a_second_text_narrows_what_the_first_leaves_open():
    found = body(footprint="R0603", description="chip resistor 1.6 x 0.8 mm", ref_prefix="R")
    assert found.length.low > 1.0
    assert not found.questions


def test_an_unknown_name_stays_unknown():
    found = body(footprint="XQ-77-SPECIAL", ref_prefix="U")
    assert not found.length.value.is_known
    assert found.length.basis is Basis.UNKNOWN
    assert found.body_from == ""


def test_no_name_at_all_is_no_error():
    assert not body().length.value.is_known


# reference/size_codes.csv.
def test_bodies_come_in_the_order_of_the_names():
    names = [PartName(footprint=f, ref_prefix="C") for f in ("C0805", "??", "C1206")]
    assert [b.nominal_length.high for b in bodies_of(names)][::2] == [2.0, 3.2]


def test_of_two_lines_that_leave_different_sizes_open_no_choice_of_sizes_is_told():
    code, other = (PartName(footprint="", bom_package=text, ref_prefix="C") for text in ("C0603", "C0402"))
    assert len(bodies_of([code])[0].may_be) == 2
    (either,) = bodies_of([replace(code, others=(other,))])
    assert either.may_be == ()
    assert either.length.value.hull(bodies_of([code])[0].length.value) == either.length.value


def test_names_do_not_depend_on_each_other_but_for_the_system_of_size_codes():
    alone = body(footprint="SOIC127P600X175-8N", ref_prefix="U")
    among = bodies_of(
        [PartName(footprint="C0805", ref_prefix="C"), PartName(footprint="SOIC127P600X175-8N", ref_prefix="U")]
    )[1]
    assert alone == among


TEXT = st.one_of(
    st.text(max_size=40),
    st.from_regex(
        r"[A-Z_]{0,8}[0-9]{0,6}(P|X|-|_|M|\.)?[0-9]{0,5}(X[0-9]{1,5}){0,2}(-[0-9]{1,4}[NML]?)?", fullmatch=True
    ),
)


@given(TEXT, TEXT, TEXT, st.sampled_from(["", "R", "C", "U", "J", "Y", "D"]))
def test_any_text_is_read_without_error_and_every_known_number_has_a_source(footprint, package, prose, prefix):
    name = PartName(footprint=footprint, bom_package=package, description=prose, value=prose, ref_prefix=prefix)
    found = bodies_of([name])[0]
    for measure in (found.length, found.width, found.height, found.pitch, found.span):
        assert measure.low >= 0
        if measure.value.is_known:
            assert measure.source
            assert measure.basis is not Basis.UNKNOWN
    assert explain(name)


@given(st.sampled_from(["0402", "0603", "0201"]), st.sampled_from(["{}", "R{}", "{}-CAP", "LED_{}", "X_{}"]))
def test_no_ambiguous_code_comes_out_certain_without_evidence(code, form):
    name = PartName(footprint=form.format(code), ref_prefix="R")
    found = bodies_of([name])[0]
    assert found.questions or not found.length.value.is_known


def test_the_explanation_names_every_candidate_and_the_winner():
    lines = explain(PartName(footprint="RES-0402-1005M", bom_package="0603", ref_prefix="R"))
    text = "\n".join(lines)
    assert 'footprint "RES-0402-1005M" as size code 0402, inch' in text
    assert 'BOM package "0603"' in text
    assert "taken:" in text
    assert any(line.startswith("conflict: body:") for line in lines)


def test_the_explanation_of_an_open_code_says_what_settles_it():
    lines = explain(PartName(footprint="R0402", ref_prefix="R"))
    assert any(line.startswith("open: ") and "size_codes" in line for line in lines)


def test_the_explanation_of_an_unknown_name_says_so():
    assert any("none: no text" in line for line in explain(PartName(footprint="??")))


# Invented bounds, a little past the sizes in the text.
@pytest.mark.parametrize("footprint", ["DFN-8", "QFN-20"])
def test_a_size_in_the_description_closes_what_a_count_leaves_open(footprint):
    open_body, closed = bodies_of(
        [
            PartName(footprint=footprint, ref_prefix="U"),
            PartName(footprint=footprint, ref_prefix="U", description="2.5x3.1mm"),
        ]
    )
    assert open_body.length.high > 5
    assert closed.length.high < 3.4
    assert closed.width.low > 2.2
    assert closed.lead_style == "no lead"
    assert closed.conflicts == ()
    assert closed.questions == ()


def test_the_letter_of_a_case_is_the_one_behind_its_word():
    (found,) = bodies_of([PartName(footprint="Tantal_SizeA_EIA-3216", ref_prefix="C")])
    assert found.length.high < 3.5  # EIA 3216-18: reference/size_codes.csv
    assert found.family == "molded case 3216-18"


def test_parts_that_share_a_footprint_have_equal_bodies_whatever_is_said_beside_it():
    names = [PartName(footprint="SOIC-8", value=f"QX{i}", part_number=f"QX-{i}", ref_prefix="U") for i in range(4)]
    names += [PartName(footprint="QX-J7", description=text, ref_prefix="J") for text in ("SMD", "through hole", "")]
    together = bodies_of(names)
    assert together == [bodies_of([name])[0] for name in names]
    assert [body.mounting for body in together[4:]] == ["surface", "through hole", None]


# Invented bound, a little past the size in the name.
def test_a_crystal_named_by_an_inch_code_is_no_chip():
    (found,) = bodies_of([PartName(footprint="XTAL 0603_2P_6.0x3.5mm", ref_prefix="Y")])
    assert found.length.low <= 6.0 <= found.length.high < 6.3


# Invented bounds, a little past the sizes in the text.
def test_a_code_and_dimensions_that_exclude_each_other_in_one_name_span_both_and_ask():
    (found,) = bodies_of([PartName(footprint="C_0805_5.0x4.0mm", ref_prefix="C")], size_codes="inch")
    assert found.length.low <= 2.0
    assert found.length.high >= 5.0
    assert found.questions
    (alike,) = bodies_of([PartName(footprint="C_0805_2.0x1.25mm", ref_prefix="C")], size_codes="inch")
    assert alike.length.high <= 2.3
    assert alike.questions == ()


def test_the_description_of_a_connector_names_no_package_of_a_circuit():
    """A right-angle receptacle whose description ends in letters that are a package word elsewhere."""
    plug = PartName(
        footprint="SOCKET_HDMI_19P_05MM_RA_SM",
        description="SOCKET_HDMI_19P_4MTG_RA_SMLF-Q15951-001",
        ref_prefix="J",
    )
    body = bodies_of([plug])[0]
    assert body.family == "connector"
    assert body.lead_style != "no lead"


# Arithmetic: hundredths of a millimetre; 25 mil are 0.635 mm, which two digits write as 0.64.
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("QFP50P900X900X160-48N", 0.5, 0.5), ("CONN 24P pitch 0.5mm", 0.5, 0.5), ("QFP64P900X900X160-48N", 0.635, 0.645)],
)
def test_a_usual_pitch_that_a_name_rounds_has_no_tolerance(name, low, high):
    (found,) = bodies_of([PartName(footprint=name, ref_prefix="U" if name.startswith("QFP") else "J")])
    assert (found.pitch.value.low, found.pitch.value.high) == pytest.approx((low, high))


# Invented tolerance.
def test_a_usual_pitch_that_is_stated_with_a_tolerance_keeps_it():
    stated = {"pitch": (Interval(0.495, 0.505), "bom.csv:3 pitch")}
    (found,) = bodies_of([PartName(footprint="QFP50P900X900X160-48N", ref_prefix="U", dimensions=stated)])
    assert found.pitch.value == Interval(0.495, 0.505)

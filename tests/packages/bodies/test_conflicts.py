"""Sources that disagree: one sentence with both, and none where they may agree.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import pytest

from capcheck.lexicon import sentence
from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.library import load_library
from capcheck.values.interval import Interval


def conflicts(library=None, size_codes=None, prefer=None, **fields):
    (body,) = bodies_of([PartName(**fields)], library=library, size_codes=size_codes, prefer=prefer)
    return [sentence(said) for said in body.conflicts]


@pytest.mark.parametrize("size_codes", ["inch", "metric", None])
def test_two_size_codes_that_exclude_each_other_are_told_with_both_sources(size_codes):
    # 0402 and 0603 share no size in any system: 1.0 or 0.4 mm against 1.6 or 0.6 mm.
    (told,) = conflicts(footprint="R0402", bom_package="0603", ref_prefix="R", size_codes=size_codes)
    assert 'footprint "R0402"' in told
    assert 'BOM package "0603"' in told
    assert told.endswith('correct one of the two, or set prefer = "bom" or "footprint" in board.toml')


def test_a_library_height_that_differs_from_the_names_is_told(tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_text("footprint,height [mm]\nCAPC2012X120N,0.5\n")
    (told,) = conflicts(load_library(path), footprint="CAPC2012X120N", ref_prefix="C")
    assert told.startswith("height: shop library bodies.csv:2 says 0.5 mm")
    assert "1.2 mm" in told
    assert "0.5 mm is used, as the shop's library goes before names" in told


# Invented sides; those of 0805: reference/size_codes.csv.
def test_a_stated_size_against_a_name_is_told():
    stated = {
        "length": (Interval.exactly(5.0), "bom.csv:3 length"),
        "width": (Interval.exactly(5.0), "bom.csv:3 width"),
    }
    (told,) = conflicts(footprint="R0805", ref_prefix="R", dimensions=stated)
    assert "bom.csv:3 length" in told
    assert told.endswith('either counts until it is settled: correct the column, or set prefer = "bom" in board.toml')


# reference/size_codes.csv.
@pytest.mark.parametrize("field", ["bom_package", "description"])
def test_the_bom_is_believed_where_that_is_preferred(field):
    named = PartName(footprint="R0805", ref_prefix="R", **{field: "RES 1206 1%"})
    by_footprint, by_bom = (bodies_of([named], prefer=prefer)[0] for prefer in ("footprint", "bom"))
    assert by_footprint.length.high < 2.3  # 0805: 2.0 mm
    assert by_bom.length.low > 2.9  # 1206: 3.2 mm
    (conflict,) = by_bom.conflicts
    assert sentence(conflict).endswith('is used, as board.toml says prefer = "bom"')


def test_the_library_goes_before_stated_sizes_where_that_is_preferred(tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_text("part number,height [mm]\nQX-7,1.0\n")
    library = load_library(path)
    fields = {"part_number": "QX-7", "dimensions": {"height": (Interval.exactly(2.0), "bom.csv:3 height")}}
    (told,) = conflicts(library, **fields)
    assert 'set prefer = "library" in board.toml' in told
    assert bodies_of([PartName(**fields)], library=library)[0].height.value == Interval(1.0, 2.0)
    assert bodies_of([PartName(**fields)], library=library, prefer="library")[0].height.high == 1.0
    (told,) = conflicts(library, prefer="library", **fields)
    assert told.endswith('1 mm is used, as board.toml says prefer = "library"')


def test_different_pin_counts_are_told():
    (told,) = conflicts(footprint="SOIC127P600X175-8N", bom_package="SOIC127P600X175-14N", ref_prefix="U")[-1:]
    assert told.startswith(("pins:", "body:"))


@pytest.mark.parametrize(
    ("footprint", "package"),
    [
        ("RES-0402-1005M", "0402"),  # the same size
        ("Own_Resistors:RES-0402-1005M", "RES-0402-1005M"),  # the same name
        ("C0603", "CAPC1608X90N"),  # one of its two sizes
        ("R3216", "1206"),  # makers print 3.10 and 3.20 mm; from memory
    ],
)
def test_sources_that_may_agree_make_no_conflict(footprint, package):
    assert conflicts(footprint=footprint, bom_package=package, ref_prefix="C") == []


def test_an_exposed_pad_is_no_second_pin_count():
    assert conflicts(footprint="QFN50P400X400X80-25N", bom_package="QFN50P400X400X80-24N", ref_prefix="U") == []


def test_pads_in_a_name_are_no_second_body():
    assert conflicts(footprint="CAP-0603-1608M pads 1.1x0.9mm", ref_prefix="C") == []


# Invented height.
def test_a_bound_never_contradicts():
    stated = {"height": (Interval.exactly(9.0), "bom.csv:3 height")}
    assert conflicts(footprint="R0805", ref_prefix="R", dimensions=stated) == []


# Invented counts; by IPC-7351B the 33 of the name include its exposed pad.
def test_a_column_that_counts_pads_is_corrected_by_a_name_and_a_lower_count_is_told():
    def stated(pins):
        return {"pins": (Interval.exactly(pins), "placements.csv:7 pins")}

    names = {"footprint": "QFN50P500X500X90-33N", "ref_prefix": "U"}
    many = bodies_of([PartName(**names, dimensions=stated(44))])[0]
    assert (many.pins, many.conflicts) == (32, ())
    few = bodies_of([PartName(**names, dimensions=stated(20))])[0]
    assert few.pins is None
    assert sentence(few.conflicts[0]).startswith("pins: placements.csv:7 pins says 20")


# Invented count, as the name has it.
def test_a_count_that_the_land_pattern_names_is_not_corrected_by_a_loose_word():
    """The count of a column is one of leads where a name agrees: SOT23 in prose means any of its size."""
    six = {"pins": (Interval.exactly(6), "placements.csv:7 pins")}
    (body,) = bodies_of([PartName(footprint="SOT95P280X140-6N", description="TRANS NPN/PNP SOT23", dimensions=six)])
    assert (body.pins, body.conflicts) == (6, ())


# Invented height.
STATED_LOW = {"height": (Interval.exactly(1.2), "bom.csv:3 height")}


# IPC-7351B: X120 is 1.2 mm high, X1200 12.0 mm.
@pytest.mark.parametrize("stated", [STATED_LOW, {}])
def test_two_heights_count_from_the_one_to_the_other(stated):
    package = "" if stated else "SOIC127P600X120-8N"
    named = PartName(footprint="SOIC127P600X1200-8N", bom_package=package, ref_prefix="U", dimensions=stated)
    (body,) = bodies_of([named])
    assert body.height.low <= 1.2
    assert body.height.high == 12.0
    assert "SOIC127P600X1200-8N" in body.height.source
    assert ("bom.csv:3" if stated else "SOIC127P600X120-8N") in body.height.source
    (body,) = bodies_of([named], prefer="bom")
    assert body.height.high == 1.2


def test_two_bodies_count_with_all_that_either_may_be():
    named = PartName(footprint="SOIC127P600X120-8N", bom_package="SOIC127P1030X265-16N", ref_prefix="U")
    (body,) = bodies_of([named])
    apart = [bodies_of([PartName(footprint=name, ref_prefix="U")])[0] for name in (named.footprint, named.bom_package)]
    for field in ("length", "width", "height", "span", "pitch", "mass"):
        whole, parts = getattr(body, field), [getattr(one, field) for one in apart]
        assert whole.low <= min(part.low for part in parts)
        assert whole.high >= max(part.high for part in parts)
    assert body.pins is None


# IPC-7351B: X450 is 4.5 mm high.
def test_the_bound_of_one_body_does_not_bound_another():
    """A chip resistor of 0402 is low; what may be an inductor of another size has no bound."""
    named = PartName(footprint="R0402", bom_package="INDM6060X450N", ref_prefix="R")
    (body,) = bodies_of([named])
    assert body.height.high >= 4.5


@pytest.mark.parametrize("package", ["DIP-8", "PDIP-8", "TO-220-3"])
def test_a_part_that_one_source_calls_through_hole_is_neither(package):
    (body,) = bodies_of([PartName(footprint=package, bom_package="SOIC-8", ref_prefix="U")])
    assert body.mounting is None
    (body,) = bodies_of([PartName(footprint="SOIC-8", bom_package=package, ref_prefix="U")])
    assert body.mounting is None


# Invented masses and pitches.
def test_masses_and_pitches_that_exclude_each_other_count_with_both(tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_text("part number,mass [g],pitch [mm]\nQX-7,1.0,0.5\n")
    stated = {"mass": (Interval.exactly(9.0), "bom.csv:3 mass"), "pitch": (Interval.exactly(0.8), "bom.csv:3 pitch")}
    (body,) = bodies_of([PartName(part_number="QX-7", dimensions=stated)], library=load_library(path))
    assert body.mass.value == Interval(1.0, 9.0)
    assert body.pitch.value == Interval(0.5, 0.8)


# Invented heights.
@pytest.mark.parametrize(
    ("one", "other"),
    [
        (Interval.exactly(1.2), Interval.exactly(1.25)),  # rounded
        (Interval.at_most(1.35), Interval.exactly(1.2)),  # nominal against maximum
    ],
)
def test_roundings_and_nominal_sizes_below_a_maximum_are_no_conflict(tmp_path, one, other):
    path = tmp_path / "bodies.csv"
    path.write_text(f"part number,height [mm]\nQX-7,{other.low}\n")
    named = PartName(part_number="QX-7", dimensions={"height": (one, "bom.csv:3 height")})
    (body,) = bodies_of([named], library=load_library(path))
    assert body.height.high == one.high
    assert not body.conflicts


# JEDEC MS-012 AA: body 4.9 x 3.9 mm, 6.0 mm over the leads. IPC-7351B: 900 is 9.0 mm over the leads.
@pytest.mark.parametrize(
    ("footprint", "sides"),
    [("SOIC127P600X175-8N", (4.9, 6.0)), ("SOIC127P600X175-8N", (4.9, 3.9)), ("QFP50P900X900X160-48N", (9.0, 9.0))],
)
def test_a_body_stated_with_its_leads_is_no_other_body(footprint, sides):
    stated = {
        side: (Interval.exactly(value), f"bom.csv:3 {side}")
        for side, value in zip(("length", "width"), sides, strict=True)
    }
    assert conflicts(footprint=footprint, ref_prefix="U", dimensions=stated) == []


@pytest.mark.parametrize(
    ("fields", "highest"),
    [
        # JEDEC MS-026: 1.2 mm for the thin body, 1.6 mm for the low one; both have the sides and leads of the other.
        ({"footprint": "TQFP144 body20x20mm pitch0.5mm", "bom_package": "LQFP-144 20x20"}, 1.6),
        ({"footprint": "LQFP144 body20x20mm pitch0.5mm", "bom_package": "TQFP-144 20x20"}, 1.6),
        ({"footprint": "TQFP100, 14 x 14 mm, pitch 0.5 mm", "bom_package": "LQFP-100"}, 1.6),
        ({"footprint": "TQFP144 body20x20mm pitch0.5mm", "bom_package": "TQFP-144 20x20"}, 1.2),
    ],
)
def test_two_families_that_differ_in_height_alone_count_to_the_greater_height(fields, highest):
    (body,) = bodies_of([PartName(**fields)])
    assert body.height.high == highest


def test_prefer_settles_which_family_s_greatest_height_counts():
    """The thin body's 1.2 mm: JEDEC MS-026."""
    name = PartName(footprint="TQFP144 body20x20mm pitch0.5mm", bom_package="LQFP-144 20x20")
    assert bodies_of([name], prefer="footprint")[0].height.high == 1.2


@pytest.mark.rows(
    ("footprint", "listed", "field"),
    [
        ("SOT-23-5", {"bom_package": "SOT-23-6"}, "pins"),
        ("SOT-23-5", {"description": "amplifier, SOT23-6"}, "pins"),
        ("SOIC-8", {"bom_package": "SOIC-7"}, "pins"),
        ("SOIC8", {"bom_package": "QFN-8"}, "lead style"),
        ("SOIC8", {"description": "amplifier QFN-8"}, "lead style"),
        ("SOIC14_7.5mm", {"bom_package": "SOIC-14"}, "body"),
        ("SOIC14", {"bom_package": "SOIC-14 (7,5 mm)"}, "body"),
    ],
)
def test_two_names_of_packages_that_exclude_each_other_are_told(footprint, listed, field):
    told = conflicts(footprint=footprint, ref_prefix="U", **listed)
    assert any(said.startswith(f"{field}: ") for said in told)


@pytest.mark.rows(
    ("footprint", "listed"),
    [
        ("SOT-23-5", {"description": "amplifier in SOT-23"}),  # prose says so of every outline of that size
        ("QFN-16", {"bom_package": "QFN-17"}),  # the exposed pad is counted
        ("TO-252-5", {"bom_package": "TO-252-6"}),  # the tab is counted
        ("SOIC-8_1.27mm", {"bom_package": "SOIC-8 (3.9 mm)"}),  # a pitch, and the width of the narrow body
        ("SOIC-8", {"bom_package": "SOIC-8, on 12 mm tape"}),
    ],
)
def test_names_that_may_mean_one_package_are_not_told(footprint, listed):
    assert not conflicts(footprint=footprint, ref_prefix="U", **listed)


def test_lands_of_other_leads_do_not_say_which_of_its_bodies_a_package_has():
    """LQFP-32 is sold with 5 and with 7 mm (JEDEC MS-026): lands of a QFN of 5 mm say nothing of it."""
    for description in ("LQFP-32", "LQFP-32 7x7mm"):
        texts = {"footprint": "QFN50P500X500X100-32N", "description": description}
        (body,) = bodies_of([PartName(ref_prefix="U", **texts)])
        assert body.disputed == ("lead_style",)
        assert body.length.low <= 5
        assert body.length.high >= 7

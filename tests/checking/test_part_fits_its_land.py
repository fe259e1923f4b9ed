"""A part whose number or text names another body than its land pattern: a finding, and one for each conflict.

Figures: files and bodies are invented; sizes of codes and outlines are in capcheck/packages/data/*.csv, with
their sources.
"""

import json

import pytest

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.

RULES = ("part-fits-its-land", "sources-agree")


@pytest.fixture
def found(run, make_board):
    """Return a function that checks a board of some lines of a BOM and gives its findings under the two rules."""

    def check(*lines, toml=""):
        header = "Ref,Value,Description,Part number,Package,Footprint"
        refs = [ref for line in lines for ref in line.partition(",")[0].split()]
        prints = {ref: line.rpartition(",")[2] for line in lines for ref in line.partition(",")[0].split()}
        rows = [f"{ref},{5 * n},5,0,top,,{prints[ref]}" for n, ref in enumerate(refs, 1)]
        bom = [header, *(line.rpartition(",")[0] + "," for line in lines)]
        board = make_board(rows, bom=bom, toml=toml)
        arguments = ("check", board, "--select", ",".join(RULES), "--format", "json")
        return [f for f in json.loads(run(*arguments)[1])["findings"] if f["rule"] in RULES]

    return check


# Sizes: reference/size_codes.csv; JEDEC MS-012, MO-153, MS-026, MO-220; EIA-535BAAC from memory.
@pytest.mark.parametrize(
    ("line", "footprint", "words"),
    [
        ("R1,10k,,RC0603FR-0710KL,", "RES-0402-1005M", ("1 x 0.5 mm", "1.6 x 0.8 mm")),
        ("R1,10k,Widerstand 0603 1%,,", "RES-0402-1005M", ('description "Widerstand 0603 1%"', "1.6 x 0.8 mm")),
        ("R1,10k 0603,,,", "RES-0402-1005M", ('value "10k 0603"', "1.6 x 0.8 mm")),
        ("C1,22u,Kondensator 1206,,", "CAP-1210-3225M", ("3.2 x 2.5 mm", "3.2 x 1.6 mm")),
        ("U1,,,STM32F999CBU6,", "LQFP48 pitch0.5mm body7x7mm", ("gull wing", "no lead")),
        ("U1,,MCU LQFP-48 7x7mm,,", "QFN48 pitch0.5mm body7x7mm", ("gull wing", "no lead")),
        ("U1,,,,SOIC-16", "TSSOP16 pitch0.65mm body4.4x5mm", ("body", "7.5 mm")),
        ("U1,,,LM9999DR,", "DIP-8_ROWS7.62mm", ("through hole", "surface")),
        ("Q1,,,,SOT-323", "SOT-23", ('BOM package "SOT-323"', 'footprint "SOT-23"')),
        ("D1,,Diode SOD-323,,", "DIO_SOD-123", ('description "Diode SOD-323"',)),
        ("C1,,Tantal 7343,,", "TANT_EIA-3528-21", ("7.3 x 4.3 mm",)),
    ],
)
def test_another_body_than_the_footprints_is_told_with_both_sources(found, line, footprint, words):
    findings = found(f"{line},{footprint}")
    assert {(f["rule"], f["outcome"], f["undecided"]) for f in findings} == {("part-fits-its-land", "warn", False)}
    for word in (f'footprint "{footprint}"', *words):
        assert word in findings[0]["message"]
    assert "which part is fitted, or which land pattern is drawn?" in findings[0]["remedy"]


# reference/size_codes.csv.
def test_two_texts_of_the_bom_are_another_finding(found):
    (told,) = found("R1,10k,RES 0603 1%,RC0402FR-0710KL,,OWN-LAND-7", toml='size_codes = "inch"')
    assert told["rule"] == "sources-agree"
    assert "OWN-LAND-7" not in told["message"]


# reference/size_codes.csv.
def test_one_conflict_is_one_finding_with_all_that_say_the_same(found):
    (told,) = found("C1,22u 1206,CAP 1206,GRM31CR60J226KE19L,,CAP-1210-3225M")
    assert told["message"].count("body: ") == 1
    assert told["message"].count("CAP-1210-3225M") == 1
    assert ' and part number "GRM31CR60J226KE19L"' in told["message"]


# Sizes: reference/size_codes.csv; JEDEC MS-012 AA, MS-013 AA, MO-220.
@pytest.mark.parametrize(
    ("line", "footprint"),
    [
        ("R1,10k,RES 0402,RC0402FR-0710KL,0402", "RES-0402-1005M"),
        ("U1,,SOIC 8 pins,LM9999DR,SO-8", "SOIC8 pitch1.27mm body3.9x4.9mm"),
        ("U1,,,,SOIC-16", "SOIC16W pitch1.27mm body7.5x10.3mm"),
        ("U1,,,,QFN-32", "QFN32 pitch0.4mm body4x4mm"),
        ("U1,,,QX-1,", "OWN-LAND-7"),
    ],
)
def test_a_part_that_may_be_the_one_drawn_is_no_finding(found, line, footprint):
    assert found(f"{line},{footprint}") == []


# reference/size_codes.csv.
def test_fifty_parts_of_one_type_are_one_line(run, make_board):
    refs = [f"R{n}" for n in range(1, 51)]
    board = make_board(
        [f"{ref},{3 * n},5,0,top,10k,RES-0402-1005M" for n, ref in enumerate(refs)],
        bom=["Ref,Value,Package", f'"{" ".join(refs)}",10k,0603'],
    )
    out = run("check", board, "--select", ",".join(RULES), "--full")[1]
    assert "part-fits-its-land: Part and land pattern name different bodies" in out
    assert " ".join(out.split()).count("says 1 x 0.5 mm") == 1
    assert "R1–R50" in out


# JEDEC MS-012 AC: 9.9 mm long, 1.75 mm high; MO-153 AB: 5.0 x 4.4 mm.
def test_of_two_packages_all_that_either_has_stays_possible(run, make_board):
    board = make_board(["U1,5,5,0,top,,TSSOP16 pitch0.65mm body4.4x5mm"], bom=["Ref,Package", "U1,SOIC-16"])
    part = json.loads(run("part", "U1", board, "--format", "json")[1])
    assert part["taken"]["length"]["value"][1] >= 9.9
    assert part["taken"]["height"]["value"][1] >= 1.7

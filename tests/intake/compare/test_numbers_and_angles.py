"""Part numbers that differ between placements and BOM, numbers left in question, and blank angles are asked about.

Boards and part numbers are invented.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

HEAD = "Ref,Part number,X (mm),Y (mm),Rotation,Side\n"
NUMBERS = {"R1": "QX-10K", "R2": "QX-10K", "C1": "QY-100N", "U1": "QZ-OPA1"}


@pytest.fixture
def read(tmp_path):
    def board(placed=(), listed=(), angles=(), far=()):
        numbers, angle = NUMBERS | dict(placed), dict(angles)
        rows = [f"{ref},{number},{i},2,{angle.get(ref, '0')},top\n" for i, (ref, number) in enumerate(numbers.items())]
        (tmp_path / "places.csv").write_text(HEAD + "".join(rows) + "".join(far), encoding="utf-8")
        lines = [f'{ref},1,"{number}"\n' for ref, number in (NUMBERS | dict(listed)).items()]
        (tmp_path / "list.csv").write_text("References,Quantity,Part number\n" + "".join(lines), encoding="utf-8")
        return read_package(tmp_path)

    return board


def asked(package, title):
    return [d for d in package.discrepancies if d.title == title]


@pytest.mark.parametrize("other", ["QZ-OPA1H", "QZ-OPB1", "QW-7"])
def test_another_part_number_in_the_placements_is_asked_about(read, other):
    (found,) = asked(read(placed={"U1": other}), "two values")
    assert found.refs == ("U1",)
    assert f"{other} against QZ-OPA1" in sentence(found.said)


@pytest.mark.parametrize("other", ["qz opa1", "QZOPA1", "", "-", "QZ-OPA1 / QZ-OPA9", "QZ-OPA1_AMPLIFIER_SOIC127P600X"])
def test_the_same_number_in_other_spelling_is_no_question(read, other):
    assert asked(read(placed={"U1": other}), "two values") == []


def test_numbers_of_another_kind_are_no_question(read):
    own = {"R1": "100001", "R2": "100001", "C1": "100002", "U1": "100003"}
    assert asked(read(placed=own), "two values") == []


def test_a_kind_of_number_that_agrees_nowhere_is_asked_about_where_two_are_alike(read):
    own = {"R1": "100001", "R2": "100001", "C1": "100002", "U1": "QZ-OPA1-HV"}
    (found,) = asked(read(placed=own), "two values")
    assert found.refs == ("U1",)


@pytest.mark.parametrize("number", ["QZ-OPA1 -> QZ-OPB1", "QZ-OPA1 → QZ-OPB1", "QZ-OPA1?", "QZ-OPA1 ??", "(?) QZ-OPA1"])
def test_a_number_in_question_is_asked_about(read, number):
    (found,) = asked(read(listed={"U1": number}), "damaged part number")
    assert found.refs == ("U1",)


@pytest.mark.parametrize("blank", ["", " "])
def test_a_part_with_a_blank_angle_beside_others_with_one_is_asked_about(read, blank):
    (found,) = asked(read(angles={"U1": blank}), "rotation open")
    assert "U1" in sentence(found.said)


def test_blank_angles_of_all_parts_are_no_question_of_one(read):
    assert asked(read(angles=dict.fromkeys(NUMBERS, "")), "rotation open") == []


def test_a_blank_angle_of_what_is_no_part_is_no_question(read):
    assert asked(read(far=["FID1,,20,2,,top\n"]), "rotation open") == []

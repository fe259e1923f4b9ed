"""Damaged copies of every form of input end in an answer or in words, never in a traceback; the seeds are fixed."""

import importlib.util
import sys
from itertools import islice
from pathlib import Path

import pytest
from depth import sample_size

HERE = Path(__file__).parent
CASES = 10
CASES_BESIDE = 3
"""Of forms that are read with a whole board, which takes longer."""


def load(name):
    """Return a tool beside this file as a module."""
    sys.path.insert(0, str(HERE))
    try:
        spec = importlib.util.spec_from_file_location(name, HERE / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(HERE))
    return module


FUZZ = load("damaged_input")
FUZZ.prepare()
BESIDE = set(FUZZ.FORMS) - set(FUZZ.forms())
SLOW = "took "


@pytest.mark.parametrize("form", FUZZ.FORMS)
def test_an_undamaged_file_is_understood(form, tmp_path):
    code, out, err, _ = FUZZ.ended(form, FUZZ.FORMS[form].data, tmp_path / "folder")
    assert code in {0, 1}, err
    assert "not used" not in out + err
    assert "not read" not in out + err


@pytest.mark.parametrize("form", FUZZ.FORMS)
def test_a_damaged_file_ends_in_an_answer_or_in_words(form, tmp_path):
    cases = sample_size(CASES_BESIDE, 1) if form in BESIDE else sample_size(CASES)
    for number, data in islice(FUZZ.cases(form, 1), cases):
        wrong = FUZZ.answer(form, data, tmp_path / "folder")
        assert not wrong or wrong.startswith(SLOW), f"seed {number}: {wrong}"


def test_a_workbook_whose_directory_points_before_its_beginning_is_refused_in_words(tmp_path):
    data = FUZZ.FORMS["xlsx"].data
    at = data.rindex(b"PK\x05\x06")
    moved = (
        data[:at] + data[at : at + 16] + (int.from_bytes(data[at + 16 : at + 20], "little") + 400).to_bytes(4, "little")
    )
    assert FUZZ.answer("xlsx", moved + data[at + 20 :], tmp_path / "folder") == ""


TEXTS = load("damaged_text")


@pytest.mark.parametrize("target", TEXTS.TARGETS)
def test_a_damaged_text_gives_an_answer_or_the_error_that_is_declared(target):
    for text in islice(TEXTS.cases(target, 1), sample_size(400)):
        wrong = TEXTS.wrong_with(target, text)
        assert not wrong or wrong.startswith(SLOW), f"{text!r}: {wrong}"

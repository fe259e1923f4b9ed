"""The tables of part numbers: every row is whole, cites its source and says something that can be read.

Figures: invented, to see that a statement can be read.
"""

from __future__ import annotations

import re

import pytest

from capcheck.model import PartName, say
from capcheck.packages.candidate import Column
from capcheck.packages.names import read_part_numbers
from capcheck.packages.names.part_numbers.schemes import all_families, all_schemes, all_suffixes, may_begin
from capcheck.packages.names.part_numbers.statements import candidate_of, parsed

STATEMENTS = [
    *((s.name, s.gives, s.kind) for s in all_schemes() if s.gives),
    *((s.name, text, s.kind) for s in all_schemes() for codes in s.codes.values() for text in codes.values() if text),
    *(
        (f"{row.family} {row.code}", "; ".join(filter(None, (row.package and f"package {row.package}", row.gives))), "")
        for row in all_suffixes()
    ),
]


def test_there_are_schemes_and_suffixes_enough_to_know_the_usual_parts() -> None:
    assert len(all_schemes()) >= 60
    assert len(all_suffixes()) >= 400


def test_every_statement_says_a_body_or_a_field_of_one() -> None:
    for where, text, kind in STATEMENTS:
        _says_a_body(where, text, kind)


def _says_a_body(where: str, text: str, kind: str) -> None:
    said = {"positions": "4", "pitch": "1", "depth": "3"} | parsed(text) if "ends" in text else parsed(text)
    found = candidate_of(said, kind, say("packages.pitch"), Column.PART_NUMBER, where, from_memory=False)
    assert found is not None, (where, text)
    if {"size", "inch", "case", "package", "box"} & said.keys():
        assert found.length is not None
        assert found.width is not None
        assert 0 < found.width.low <= found.length.high
    if "package" in said:
        named = len(said["package"].split("|"))
        assert named == 1 or len(found.members) >= named


def test_every_row_has_its_source_and_is_found_by_its_start() -> None:
    for entry in (*all_schemes(), *all_families()):
        assert len(entry.source) > 10
        assert all(may_begin(["100n", start]) for start in entry.starts)
    assert all(len(row.source) > 10 for row in all_suffixes())
    assert {row.family for row in all_suffixes()} == {family.key for family in all_families()}
    keys = [(row.family, row.code) for row in all_suffixes()]
    assert len(keys) == len(set(keys))


def test_every_code_can_occur_in_its_pattern() -> None:
    for scheme in all_schemes():
        assert set(scheme.codes) <= set(scheme.form.groupindex), scheme.name
        unnamed = {g for g in scheme.form.groupindex if g not in scheme.codes}
        known = re.compile(
            r"(?:size|inch|positions|contacts|rows|pins|value|pitch|height|length|width|side)(?:_100?)?|tens|more"
        )
        assert all(known.fullmatch(group) for group in unnamed), (scheme.name, unnamed)


WORDS = """
100nF 0.1uF 10k 4R7 1206 C0603 RES-0402-1005M LED RESET USB_C
M3 TP1 CONN_01X04 SW_PUSH LM9999 NE999 STM32 C99999 SOT-23 QFN-16
DNP SOIC127P600X175-8N 3V3 12MHz 32.768kHz 1% 16V X7R B2B R1
GND HDR-2.54 2.54mm 1N9999 10118 744773099 S1 M7 CAPAE630X770N D-SMA
IND-0603 74HC999 AD9999R PIC16F9999 LT9999
"""


@pytest.mark.rows("word", WORDS.split())
def test_values_words_and_bare_type_names_are_no_numbers_of_a_body(word: str) -> None:
    assert read_part_numbers(PartName(part_number=word, ref_prefix="U"), None) == ()

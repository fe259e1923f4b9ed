"""Bytes become the text that was written, and what was inferred is said.

Figures: invented, or the digits of the text.
"""

from __future__ import annotations

import pytest

from capcheck.intake.files.encoding import decode
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError

GERMAN = "Bauteil;Höhe;Größe\nC1;1,5;Ø 3 µm ± 5 °\n"
JAPANESE = "部品番号,座標X,座標Y,角度\nC1,1.5,2.5,90\nコンデンサ,2.5,2.5,0\n"


@pytest.mark.rows(
    ("codec", "name"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with mark"),
        ("utf-16", "UTF-16 LE with mark"),
        ("utf-16-le", "UTF-16 LE"),
        ("utf-16-be", "UTF-16 BE"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_german_text_is_read_in_every_usual_encoding(codec, name):
    decoded = decode(GERMAN.encode(codec), "a.csv")
    assert decoded.text == GERMAN
    assert decoded.encoding == name


@pytest.mark.parametrize(
    ("codec", "name"), [("shift_jis", "Shift-JIS"), ("utf-8", "UTF-8"), ("utf-16-le", "UTF-16 LE")]
)
def test_japanese_text_is_read(codec, name):
    decoded = decode(JAPANESE.encode(codec), "a.csv")
    assert decoded.text == JAPANESE
    assert decoded.encoding == name


@pytest.mark.rows("text", ["R1;10 kΩ", "Repère;Désignation;Côté\nC1;été;dessus", "25 °C", "±5 %", "100 µF"])
def test_a_few_accents_among_ascii_are_windows_1252_and_noted(text):
    text = text.replace("Ω", "Ohm é")
    decoded = decode(text.encode("cp1252"), "a.csv")
    assert decoded.text == text
    assert "Windows-1252" in sentence(decoded.notes[0].said)


def test_plain_ascii_and_utf8_need_no_note():
    assert decode(b"Ref,X\n", "a.csv").notes == ()
    assert decode("Höhe".encode(), "a.csv").notes == ()


@pytest.mark.parametrize("end", ["\r", "\r\n", "\n"])
def test_line_ends_are_brought_to_one_form(end):
    assert decode(f"a{end}b{end}".encode(), "a.csv").text == "a\nb\n"


def test_stray_nul_bytes_are_removed_with_a_note():
    decoded = decode(b"Ref,X,Y\nC1,1.5,2.5\x00\nC2,1.5,2.5\n" * 3, "a.csv")
    assert "\x00" not in decoded.text
    assert "3 NUL bytes" in sentence(decoded.notes[0].said)


def test_bytes_that_are_no_text_are_refused():
    with pytest.raises(InputError, match="not text"):
        decode(bytes(range(256)) * 40, "a.csv")


def test_full_width_letters_and_digits_are_read_as_plain_ones_with_a_note():
    text = "リファレンス,Ｘ座標,Ｙ座標\nＲ１２,１２．５,－３\n"
    for codec in ("utf-8", "cp932"):
        decoded = decode(text.encode(codec), "p.csv")
        assert decoded.text == "リファレンス,X座標,Y座標\nR12,12.5,-3\n"
        assert any("full-width" in sentence(note.said) for note in decoded.notes)

"""Bytes to text: marks first, then strict UTF-8, then the likeliest of the older encodings, with a note."""

from __future__ import annotations

import codecs
import re
from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.model import Note, say
from capcheck.values import InputError, Place, pattern


class Decoded(Struct, frozen=True):
    """The text of a file with one form of line end, its encoding by a readable name, and what was inferred."""

    text: str
    encoding: str
    notes: tuple[Note, ...]


_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8 with mark"),
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32 with mark"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32 with mark"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16 LE with mark"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16 BE with mark"),
)
_SAMPLE: Final = 8192
_ASCII_BYTES: Final = frozenset({"ascii", "utf-8", "cp1252", "cp1250", "cp1251"})
"""Encodings in which a byte below 128 is nothing but that character."""
_CONTROL: Final = pattern(r"[\x00-\x08\x0e-\x19\x1b\x1c-\x1f]")
_WIDE_FORMS: Final = "".join(
    map(chr, [*range(0xFF10, 0xFF1A), *range(0xFF21, 0xFF3B), *range(0xFF41, 0xFF5B), 0xFF0B, 0xFF0D, 0xFF0E])
)
"""Digits, letters, plus, minus and point as Japanese text has them; signs that part cells are left alone."""
_WIDE: Final = pattern(f"[{_WIDE_FORMS}]")
_NARROW: Final = {ord(c): ord(c) - 0xFEE0 for c in _WIDE_FORMS}
_INVISIBLE: Final = pattern("[\u00ad\u180e\u200b-\u200f\u2060-\u2064\ufeff]")
"""Soft hyphens, blanks without width, joiners: by what nobody sees no two texts differ.

What turns the direction of writing is seen, and kept; every report shows it as a sign.
"""
_OTHERS: Final = {
    "cp932": "Shift-JIS",
    "cp1252": "Windows-1252",
    "cp1250": "Windows-1250",
    "cp1251": "Windows-1251",
    "euc_jp": "EUC-JP",
    "gb18030": "GB 18030",
    "big5": "Big5",
    "euc_kr": "EUC-KR",
}


def decode(data: bytes, file: str) -> Decoded:
    """Return the text of *data*.

    Raises :class:`InputError` if the bytes are no text in any encoding known here.
    """
    codec, name, body, inferred = _codec(data)
    notes: list[Note] = []
    if codec in _ASCII_BYTES:
        body = _one_line_end(body)
    text = body.decode(codec, errors="replace")
    if inferred:
        lost = text.count("\ufffd")
        key = "files.inferred encoding with losses" if lost else "files.inferred encoding"
        notes.append(Note(say(key, encoding=name, lost=lost), Place(file)))
    if "\x00" in text:
        count = text.count("\x00")
        if count > 0.05 * len(text):
            raise _binary(file)
        text = text.replace("\x00", "")
        notes.append(Note(say("files.NUL bytes", count=count), Place(file)))
    if not text.isascii() and _WIDE.search(text):
        text = text.translate(_NARROW)
        notes.append(Note(say("files.full-width characters"), Place(file)))
    text, unseen = without_invisible(text)
    if unseen:
        notes.append(Note(say("files.invisible characters", count=unseen), Place(file)))
    text = text.rstrip("\x1a")
    sample = text[:_SAMPLE]
    if len(_CONTROL.findall(sample)) + sample.count("\ufffd") > 0.02 * len(sample):
        raise _binary(file)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return Decoded(text, name, tuple(notes))


def without_invisible(text: str) -> tuple[str, int]:
    """Return *text* without characters that are not seen, and how many there were."""
    return (text, 0) if text.isascii() else _INVISIBLE.subn("", text)


def _one_line_end(data: bytes) -> bytes:
    """Return *data* without carriage returns if all stand before line feeds; in bytes this costs half as much."""
    import numpy as np  # the process that reads workbooks does without

    values = np.frombuffer(data, dtype=np.uint8)
    returns = np.flatnonzero(values[:-1] == ord("\r"))
    if not len(returns) or data.endswith(b"\r") or np.any(values[returns + 1] != ord("\n")):
        return data
    return data.translate(None, b"\r")


def _binary(file: str) -> InputError:
    return InputError.at(
        file, "the file is not text", "no table can be read from it", "send a CSV, text or spreadsheet file"
    )


def _codec(data: bytes) -> tuple[str, str, bytes, bool]:
    """Return codec, readable name, the bytes without a mark, and whether the choice is inferred."""
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            return codec, name, data[len(mark) :], False
    wide = _utf16_without_mark(data)
    if wide is not None:
        return wide, f"UTF-16 {'LE' if wide == 'utf-16-le' else 'BE'}", data, True
    if data.isascii():
        return "ascii", "ASCII", data, False
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        codec = _older(data)
        return codec, _OTHERS[codec], data, True
    return "utf-8", "UTF-8", data, False


def _utf16_without_mark(data: bytes) -> str | None:
    """UTF-16 text of any language has ASCII separators and digits: NUL in every second byte for most of them."""
    sample = data[:_SAMPLE]
    half = len(sample) // 2
    if half < 2 or b"\x00" not in sample:
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.4 * half and even < 0.05 * half:
        return "utf-16-le"
    return "utf-16-be" if even > 0.4 * half and odd < 0.05 * half else None


_HIGH_RUN: Final = pattern(rb"[\x80-\xff]+")
_JAPANESE: Final = pattern(r"[\u3040-\u30ff\u4e00-\u9fff\uff01-\uff5e]")


def _older(data: bytes) -> str:
    """Choose among the encodings that use single bytes above 127 or pairs of bytes.

    Single accented letters, ° or µ among ASCII are Windows-1252. Japanese text shows in kana; what else comes in
    longer runs is left to charset-normalizer.
    """
    sample = b"\n".join(line for line in data.splitlines() if not line.isascii())[: 8 * _SAMPLE]
    runs = _HIGH_RUN.findall(sample)
    try:
        japanese = sample.decode("cp932")
    except UnicodeDecodeError as error:
        # The sample may end within a character.
        japanese = sample[: error.start].decode("cp932") if error.start > len(sample) - 2 else ""
    kana = len(re.findall("[\u3040-\u30ff]", japanese))
    wide = len(_JAPANESE.findall(japanese))
    strange = sum(not c.isascii() for c in japanese) - wide
    if kana >= 2 and wide > strange:
        return "cp932"
    short = sum(len(run) == 1 for run in runs)
    if short >= 0.8 * len(runs):
        # A title such as 高さ has lead bytes next to ASCII trail bytes too: then most pairs are real characters.
        return "cp932" if wide >= 2 and strange == 0 and wide > short else "cp1252"
    from charset_normalizer import from_bytes

    best = from_bytes(sample, cp_isolation=list(_OTHERS)).best()
    return best.encoding if best is not None and best.encoding in _OTHERS else "cp1252"


def names_as_text(names: Sequence[bytes], otherwise: str) -> list[str]:
    """Return the names of files in an archive that says of none in which encoding it is: one for all of them.

    They are too short for more than three guesses: UTF-8, Shift-JIS where all then reads as Japanese, and *otherwise*.
    Half of a Japanese character may be a backslash, which would part a name elsewhere.
    """
    telling = [name for name in names if not name.isascii()]
    whole = b"\n".join(telling)
    for codec in ("utf-8", "cp932"):
        try:
            text = whole.decode(codec)
        except UnicodeDecodeError:
            continue
        wide = len(_JAPANESE.findall(text))
        lone = sum(len(run) == 1 for run in _HIGH_RUN.findall(whole))  # an accented letter, or half of a character
        if codec == "utf-8" or (wide == sum(not c.isascii() for c in text) and (wide > lone or b"\\" in whole)):
            return [name.decode(codec) for name in names]
    return [name.decode(otherwise, errors="replace") for name in names]

"""Which rows of placement data are parts, which are fiducials, and which are only copper, print or holes.

A reference alone proves little: ``MK1`` may be a mark or a microphone, ``H1`` a hole or a header. Prefixes that
are shared need a word of the footprint or value beside them. The conventions of prefixes are common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Final

import numpy as np

from capcheck.intake.coding import Coded
from capcheck.intake.references import prefix_of
from capcheck.model import Codes, Kind
from capcheck.patterns import pattern

_FIDUCIAL_PREFIXES: Final = frozenset({"FID", "FIDU", "FIDUCIAL", "FD", "PASSERMARKE", "PASSER", "MIRE"})
_MECHANICAL_PREFIXES: Final = {
    "MH": "hole", "MTG": "hole", "HOLE": "hole", "MTH": "hole", "NPTH": "hole", "BOHRUNG": "hole", "TROU": "hole",
    "MOUNTINGHOLE": "hole", "TP": "test point", "TEST": "test point", "TESTPOINT": "test point",
    "TESTPAD": "test point",     "LOGO": "logo", "REF": "drawing", "SYM": "drawing", "NT": "net tie",
}  # fmt: skip
_WEAK_FIDUCIAL_PREFIXES: Final = frozenset({"MARK", "FM"})
_FIDUCIAL_WORDS: Final = pattern(
    r"(?i)fiducial|(?<![a-z])fid(?![a-z])|[0-9m]fid(?![a-z])|passermarke|mire de|認識マーク|基准点"
)
_MECHANICAL_WORDS: Final = pattern(
    r"(?i)(?P<hole>mount(?:ing)?[ _-]?hole|(?<![a-z])holes?(?![a-z])|(?<![a-z])npth"
    r"|bohrung|trou(?![a-z])|取付穴|tooling)"
    r"|(?P<testpoint>test[ _-]?(?:point|pad)|messpunkt|point de test|テストポイント|测试点)"
    r"|(?P<logo>(?<![a-z])logo|silk[ _-]?screen|(?<![a-z])symbol[_ -]|copyright|(?<![a-z])graphic)"
    r"|(?P<bridge>solder[ _-]?(?:jumper|bridge)|(?<![a-z])net[ _-]?tie|lötbrücke|はんだジャンパ)"
    r"|(?P<edge>mouse[ _-]?bite|breakaway|v[ _-]?score)"
)
_REASONS: Final = {
    "hole": "hole",
    "testpoint": "test point",
    "logo": "logo",
    "bridge": "solder bridge",
    "edge": "break-off edge",
}


def classify(
    refs: Sequence[str], stem: Coded, footprint: Coded, value: Coded, stated: Mapping[str, str]
) -> tuple[Codes, dict[int, str]]:
    """Return the :class:`Kind` code of each row, and for each row that is no part the reason.

    *stem* is each reference without its number. *stated* maps references or patterns (``TP*``) to the words of
    board.toml and overrides everything.
    """
    codes = np.zeros(len(refs), dtype=np.int8)
    reasons: dict[int, str] = {}
    stems, footprints, values = stem[1], footprint[1], value[1]
    columns = (
        (stem[0], [_stem_matters(s) for s in stems]),
        (footprint[0], [_names_no_part(f) for f in footprints]),
        (value[0], [_names_no_part(v) for v in values]),
    )
    # Most rows are parts by all three; the others are few, and only they are looked at one by one.
    suspect = np.zeros(len(refs), dtype=np.bool_)
    for numbers, matters in columns:
        if any(matters):
            suspect |= np.array(matters, dtype=np.bool_)[numbers]
    for i in np.flatnonzero(suspect).tolist():
        text = stems[stem[0][i]]
        codes[i], reason = _of_name(prefix_of(text), text, footprints[footprint[0][i]], values[value[0][i]])
        if reason:
            reasons[i] = reason
    if stated:
        _apply_stated(refs, stated, codes, reasons)
    return codes, reasons


def _stem_matters(stem: str) -> bool:
    return _of_name(prefix_of(stem), stem, "", "")[0] is not Kind.PART


def _names_no_part(text: str) -> bool:
    return bool(_FIDUCIAL_WORDS.search(text) or _MECHANICAL_WORDS.search(text))


def _of_name(prefix: str, stem: str, footprint: str, value: str) -> tuple[Kind, str]:
    text = f"{footprint} {value}"
    if prefix in _FIDUCIAL_PREFIXES:
        return Kind.FIDUCIAL, f"reference begins with {prefix}"
    match = _FIDUCIAL_WORDS.search(text)
    if match:
        return Kind.FIDUCIAL, f'"{text.strip()}" names a fiducial'
    if prefix in _MECHANICAL_PREFIXES:
        return Kind.MECHANICAL, f"{_MECHANICAL_PREFIXES[prefix]}: reference begins with {prefix}"
    match = _MECHANICAL_WORDS.search(text)
    if match and match.lastgroup:
        return Kind.MECHANICAL, f'{_REASONS[match.lastgroup]}: "{text.strip()}"'
    if prefix in {"H", "HOLE"} and not text.strip():
        return Kind.MECHANICAL, "hole: reference begins with H, without footprint or value"
    if prefix in _WEAK_FIDUCIAL_PREFIXES:
        return Kind.FIDUCIAL, f"reference begins with {prefix}"
    low = stem.casefold()
    if low.startswith(("hole", "logo", "g*", "ref*", "mousebite", "mounting")):
        return Kind.MECHANICAL, f'reference "{stem}"'
    return Kind.PART, ""


def _apply_stated(refs: Sequence[str], stated: Mapping[str, str], codes: Codes, reasons: dict[int, str]) -> None:
    exact = {k: v for k, v in stated.items() if not set(k) & set("*?[")}
    patterns = [(k, v) for k, v in stated.items() if k not in exact]
    for i, ref in enumerate(refs):
        word = exact.get(ref) or next((v for k, v in patterns if fnmatchcase(ref, k)), None)
        if word is None:
            continue
        codes[i] = Kind[word.upper()]
        reasons.pop(i, None)
        if codes[i] != Kind.PART:
            reasons[i] = "stated in board.toml"

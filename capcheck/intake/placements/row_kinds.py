"""Which rows of placement data are parts, which are fiducials, and which are only copper, print or holes.

A reference alone proves little: ``MK1`` may be a mark or a microphone, ``H1`` a hole or a header. Prefixes that
are shared need a word of the footprint or value beside them. The conventions of prefixes are common practice,
no source.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables import Coded, prefix_of
from capcheck.model import Codes, Kind, Said, say
from capcheck.values import pattern


class Feature(enum.StrEnum):
    """What a row stands for that is no part, in the order of the report; the value is the key of its word."""

    FIDUCIAL = "placements.fiducial"
    UNNAMED = "placements.nothing to place"
    BREAK_OFF_EDGE = "placements.break-off edge"
    DRAWING = "placements.drawing"
    HOLE = "placements.hole"
    LOGO = "placements.logo"
    NET_TIE = "placements.net tie"
    SOLDER_BRIDGE = "placements.solder bridge"
    TEST_POINT = "placements.test point"


class NoPart(Struct, frozen=True):
    """What a row is set apart as, and the evidence for it; *stated* means that board.toml says so."""

    feature: Feature
    evidence: Said
    stated: bool = False

    @property
    def kind(self) -> Kind:
        """The code of the row in :attr:`Placements.kind`."""
        return Kind.FIDUCIAL if self.feature is Feature.FIDUCIAL else Kind.MECHANICAL


_PREFIXES: Final = {
    prefix: feature
    for feature, prefixes in {
        Feature.FIDUCIAL: "FID FIDU FIDUCIAL FD PASSERMARKE PASSER MIRE",
        Feature.HOLE: "MH MTG HOLE MTH NPTH BOHRUNG TROU MOUNTINGHOLE",
        Feature.TEST_POINT: "TP TEST TESTPOINT TESTPAD",
        Feature.LOGO: "LOGO",
        Feature.DRAWING: "REF SYM",
        Feature.NET_TIE: "NT",
    }.items()
    for prefix in prefixes.split()
}
_WEAK_FIDUCIAL_PREFIXES: Final = frozenset({"MARK", "FM"})
_FIDUCIAL_WORDS: Final = pattern(
    r"(?i)fiducial|(?<![a-z])fid(?![a-z])|[0-9m]fid(?![a-z])|passermarke|mire de|認識マーク|基准点"
)
_FEATURE_WORDS: Final = pattern(
    r"(?i)(?P<hole>mount(?:ing)?[ _-]?hole|(?<![a-z])holes?(?![a-z])|(?<![a-z])npth"
    r"|bohrung|trou(?![a-z])|取付穴|tooling)"
    r"|(?P<test_point>test[ _-]?(?:point|pad)|messpunkt|point de test|テストポイント|测试点)"
    r"|(?P<logo>(?<![a-z])logo|silk[ _-]?screen|(?<![a-z])symbol[_ -]|copyright|(?<![a-z])graphic)"
    r"|(?P<solder_bridge>solder[ _-]?(?:jumper|bridge)|(?<![a-z])net[ _-]?tie|lötbrücke|はんだジャンパ)"
    r"|(?P<break_off_edge>mouse[ _-]?bite|breakaway|v[ _-]?score)"
)
"""Each group bears the name of its feature."""


def classify(
    refs: Sequence[str], stem: Coded, footprint: Coded, value: Coded, stated: Mapping[str, str]
) -> tuple[Codes, dict[int, NoPart]]:
    """Return the :class:`Kind` code of each row, and what each row stands for that is no part.

    *stem* is each reference without its number. *stated* maps references or patterns (``TP*``) to the words of
    board.toml and overrides everything.
    """
    apart: dict[int, NoPart] = {}
    stems, footprints, values = stem[1], footprint[1], value[1]
    columns = (
        (stem[0], [_by_name(prefix_of(s), s, "") is not None for s in stems]),
        (footprint[0], [names_no_part(f) for f in footprints]),
        (value[0], [names_no_part(v) for v in values]),
    )
    # Most rows are parts by all three; the others are few, and only they are looked at one by one.
    suspect = np.zeros(len(refs), dtype=np.bool_)
    for numbers, matters in columns:
        if any(matters):
            suspect |= np.array(matters, dtype=np.bool_)[numbers]
    for i in np.flatnonzero(suspect).tolist():
        text = stems[stem[0][i]]
        told = _by_name(prefix_of(text), text, f"{footprints[footprint[0][i]]} {values[value[0][i]]}".strip())
        if told is not None:
            apart[i] = told
    if stated:
        _apply_stated(refs, stated, apart)
    codes = np.full(len(refs), Kind.PART, dtype=np.int8)
    codes[list(apart)] = [told.kind for told in apart.values()]
    return codes, apart


def names_no_part(text: str) -> bool:
    """Whether a footprint, a value or a line of the BOM names a fiducial, a hole, a test point or the like."""
    return bool(_FIDUCIAL_WORDS.search(text) or _FEATURE_WORDS.search(text))


def _by_name(prefix: str, stem: str, text: str) -> NoPart | None:
    """Return what the reference, and *text* of footprint and value, name; None for a part."""
    begins = say("placements.begins with", prefix=prefix)
    feature = _PREFIXES.get(prefix)
    if feature is Feature.FIDUCIAL:
        return NoPart(feature, begins)
    if _FIDUCIAL_WORDS.search(text):
        return NoPart(Feature.FIDUCIAL, say("placements.names a fiducial", text=text))
    if feature is not None:
        return NoPart(feature, begins)
    match = _FEATURE_WORDS.search(text)
    if match and match.lastgroup:
        return NoPart(Feature[match.lastgroup.upper()], say("placements.text", text=text))
    if prefix == "H" and not text:
        return NoPart(Feature.HOLE, say("placements.H alone"))
    if prefix in _WEAK_FIDUCIAL_PREFIXES:
        return NoPart(Feature.FIDUCIAL, begins)
    if stem.casefold().startswith(("hole", "logo", "g*", "ref*", "mousebite", "mounting")):
        return NoPart(Feature.UNNAMED, say("placements.reference", stem=stem))
    return None


def _apply_stated(refs: Sequence[str], stated: Mapping[str, str], apart: dict[int, NoPart]) -> None:
    exact = {k: v for k, v in stated.items() if not set(k) & set("*?[")}
    patterns = [(k, v) for k, v in stated.items() if k not in exact]
    for i, ref in enumerate(refs):
        word = exact.get(ref) or next((v for k, v in patterns if fnmatchcase(ref, k)), None)
        if word is None:
            continue
        apart.pop(i, None)
        kind = Kind[word.upper()]
        if kind is not Kind.PART:
            feature = Feature.FIDUCIAL if kind is Kind.FIDUCIAL else Feature.UNNAMED
            apart[i] = NoPart(feature, say("placements.stated"), stated=True)

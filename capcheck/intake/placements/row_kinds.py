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
from capcheck.lexicon import Nothing, Words, fold, reference_letters, vocabulary
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

    @classmethod
    def named(cls, name: Nothing) -> Feature:
        """Return the feature that the lexicon's letters of references stand for."""
        return cls[name.upper().replace(" ", "_")]


class NoPart(Struct, frozen=True):
    """What a row is set apart as, and the evidence for it; *stated* means that board.toml says so.

    *against_letters* means that a text alone says so, and the letters of the reference stand for a part.
    """

    feature: Feature
    evidence: Said
    stated: bool = False
    against_letters: bool = False

    @property
    def kind(self) -> Kind:
        """The code of the row in :attr:`Placements.kind`."""
        return Kind.FIDUCIAL if self.feature is Feature.FIDUCIAL else Kind.MECHANICAL


_FIDUCIAL_WORDS: Final = pattern(lambda: str(vocabulary().features.fiducial))
_SORTS: Final = (Feature.HOLE, Feature.TEST_POINT, Feature.LOGO, Feature.SOLDER_BRIDGE, Feature.BREAK_OFF_EDGE)
"""Features that the lexicon has words for, by the same names, beside fiducials."""


def _words_of(feature: Feature) -> Words:
    words: Words = getattr(vocabulary().features, feature.name.lower())
    return words


_FEATURE_WORDS: Final = pattern(lambda: "|".join(f"(?P<{sort.name}>{_words_of(sort)})" for sort in _SORTS))
"""Each group bears the name of its feature."""


_PIECE: Final = pattern(r"[^\W_]+(?:[.,]\d+)*")
_SIZE: Final = r"\d{1,3}(?:[.,]\d+)?(?:x\d{1,3}(?:[.,]\d+)?)*(?:mm|mil|in)?"
_BESIDE: Final = pattern(lambda: rf"(?:{vocabulary().lists.beside_a_feature}|tp[a-z]?|fid|mh|nt|sj|[a-z])?(?:{_SIZE})?")
"""What may stand beside the name of a feature: its class letters, a size of up to three digits, a single letter."""


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
    folded = fold(text)
    return bool(_FIDUCIAL_WORDS.search(folded) or _FEATURE_WORDS.search(folded))


def names_no_more(text: str) -> bool:
    """Whether *text* says nothing, or no more than that a feature of the board stands there.

    ``fiducial 1mm clear 2mm`` and ``pad 1.5`` are such names; ``graphic LCD 128x64`` names a part.
    """
    rest = _FEATURE_WORDS.sub(" ", _FIDUCIAL_WORDS.sub(" ", fold(text)))
    return all(map(_BESIDE.fullmatch, _PIECE.findall(rest)))


def beside_feature(text: str) -> str:
    """Return what *text* says beside the name of a feature: the whole text where it names none.

    A bare size code counts to the name, as the size of its lands: nothing is left of ``FIDUCIAL-0603``, and ``R0603``
    of ``R0603 test pad``.
    """
    if not names_no_part(text):
        return text
    rest = _FEATURE_WORDS.sub(" ", _FIDUCIAL_WORDS.sub(" ", fold(text)))
    return _BARE_CODE.sub(" ", rest).strip(" _-")


_BARE_CODE: Final = pattern(r"(?<![a-z\d.])\d{4,5}(?![a-z\d.])")


def _by_name(prefix: str, stem: str, text: str) -> NoPart | None:
    """Return what the reference, and *text* of footprint and value, name; None for a part."""
    begins = say("placements.begins with", prefix=prefix)
    known = reference_letters().get(prefix)
    feature = Feature.named(known.nothing) if known and known.nothing else _feature_named(prefix)
    sure = known is None or not known.unsure
    if feature is Feature.FIDUCIAL and sure:
        return NoPart(feature, begins)
    folded = fold(text)
    if _FIDUCIAL_WORDS.search(folded):
        said = say("placements.names a fiducial", text=text)
        return NoPart(Feature.FIDUCIAL, said, against_letters=known is not None and feature is None)
    if feature and sure:
        return NoPart(feature, begins)
    match = _FEATURE_WORDS.search(folded)
    if match and match.lastgroup == Feature.HOLE.name and known and known.form and match.start():
        return None  # a connector with mounting holes, whose name begins with what it is
    if match and match.lastgroup:
        said = say("placements.text", text=text)
        return NoPart(Feature[match.lastgroup], said, against_letters=known is not None and feature is None)
    if prefix == "H" and not text:
        return NoPart(Feature.HOLE, say("placements.H alone"))
    if feature:
        return NoPart(feature, begins)
    if stem.casefold().startswith(("hole", "logo", "g*", "ref*", "mousebite", "mounting")):
        return NoPart(Feature.UNNAMED, say("placements.reference", stem=stem))
    return None


def _feature_named(prefix: str) -> Feature | None:
    """Return what a reference names that begins with a whole word, such as ``FIDUCIAL1``."""
    if len(prefix) < 2:
        return None
    return next((sort for sort in (Feature.FIDUCIAL, *_SORTS) if prefix in _words_of(sort)), None)


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

"""A small grammar of header words: which role a column's title claims, whatever program or hand wrote it.

A title is split into words (at case, digits, punctuation and brackets; run-together words by the vocabulary). Each
word stands for a concept of the trade, in some languages for another one than in the rest. A few rules over the
concepts say which roles the title can mean and how surely. No program's header is listed; single words of
customers' files are.
"""

from __future__ import annotations

import enum
import unicodedata
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from itertools import chain, islice, product
from typing import Final

from msgspec import Struct

from capcheck.lexicon import AXES, Concept, axes_of, fold, is_ideographic, unit_in_title, units, vocabulary
from capcheck.values import pattern


class Role(enum.StrEnum):
    """What a column of a placement file or BOM says about a part."""

    REF = "reference"
    X = "x"
    Y = "y"
    ROTATION = "rotation"
    SIDE = "side"
    LAYER_MIRROR = "mirror flag"
    VALUE = "value"
    FOOTPRINT = "footprint"
    PART_NUMBER = "part number"
    MANUFACTURER = "manufacturer"
    QUANTITY = "quantity"
    FITTED = "fitted"
    MOUNTING = "mounting"
    LENGTH = "length"
    WIDTH = "width"
    HEIGHT = "height"
    SIZE = "size"
    """Two or three of the sides in one cell: ``10 x 10 x 1.6``, or the code of a size."""
    MASS = "mass"
    PITCH = "pitch"
    PINS = "pins"
    DESCRIPTION = "description"
    COMMENT = "comment"


_WORD: Final = pattern(r"[^\W\d_]+|\d+|[°\"#]")
CAMEL: Final = pattern(r"(?<=[a-zß-öø-ÿ])(?=[A-ZÀ-ÖØ-Þ])|(?<=[A-Z])(?=[A-Z][a-z])")
"""Where a word begins with a capital inside another."""
_BRACKETED: Final = pattern(r"[(\[{<]([^)\]}>]{0,100}+)[)\]}>]")
"""Titles are in half width by then."""
_SCRIPT_EDGE: Final = pattern(r"(?<=[\u3040-\u30ff\u4e00-\u9fff])(?=[a-z])|(?<=[a-z])(?=[\u3040-\u30ff\u4e00-\u9fff])")
_SLASHED: Final = pattern(r"\b([pP])/([nN])\b")
_LENGTHS: Final = frozenset({"mm", "cm", "um", "mil", "in"})
_MOST_MEANINGS: Final = 16
"""Of words that mean two things no title holds more than a few."""
_LONGEST: Final = 60
"""A cell longer than this is text, not a title."""


@cache
def _vocabulary() -> Mapping[str, tuple[Concept, ...]]:
    """Return what each word can stand for; the words are folded."""
    found: dict[str, tuple[Concept, ...]] = {}
    for concept, words in vocabulary().titles.items():
        for word in words.spelt:
            found[word] = (*found.get(word, ()), concept)
    return found


def _segments(word: str) -> list[str] | None:
    """Split a run-together word (``posx``, ``Bauteilhöhe``, ``部品番号``) into words that are known, or return None.

    The split with the fewest pieces is taken; a piece of one or two letters is allowed only for an axis at an end.
    """
    known = _vocabulary()
    best: list[list[str] | None] = [[]] + [None] * len(word)
    for end in range(1, len(word) + 1):
        for start in range(end):
            head, piece = best[start], word[start:end]
            if head is None or piece not in known:
                continue
            short = len(piece) < 3 and not is_ideographic(piece)
            if short and not (piece in {"x", "y", "no", "nr"} and (start == 0 or end == len(word))):
                continue
            found = best[end]
            if found is None or len(head) + 1 < len(found):
                best[end] = [*head, piece]
    return best[-1]


def _words(text: str) -> list[str]:
    words: list[str] = []
    for chunk in _WORD.findall(CAMEL.sub(" ", _SLASHED.sub(r"\1\2", text))):
        folded = fold(chunk)
        for part in [folded] if folded.isascii() else _SCRIPT_EDGE.split(folded):
            words.extend([part] if part in _vocabulary() or unit_in_title(part) else _segments(part) or [part])
    return words


class Title(Struct, frozen=True):
    """A column's title taken apart.

    It holds the words, the concepts they stand for, the units, and how surely the title claims each role.
    """

    words: tuple[str, ...]
    concepts: frozenset[Concept]
    units: tuple[str, ...]
    claims: Mapping[Role, float]
    axes: str = ""
    """The sides in the order that the title names them, a letter each: ``LWH``; blank where it names no order."""

    @property
    def unit(self) -> str:
        """The unit that the title names, blank where it names none."""
        return self.units[0] if self.units else ""

    @property
    def pair(self) -> tuple[str, ...]:
        """The words besides the axis: an x and a y column with the same ones belong together."""
        axes = {(Concept.X,), (Concept.Y,)}
        return tuple(w for w in self.words if _vocabulary().get(w) not in axes and not unit_in_title(w))

    @property
    def strongest(self) -> Role | None:
        """The role that the title claims most surely."""
        return max(self.claims, key=lambda role: self.claims[role]) if self.claims else None


@lru_cache(maxsize=4096)
def read_title(text: str) -> Title:
    """Return a column title taken apart; a text too long or without a known word claims nothing."""
    text = unicodedata.normalize("NFKC", text).strip().lstrip("#*;:/!").rstrip(";:").strip()
    if not text or len(text) > _LONGEST:
        return Title((), frozenset(), (), {})
    axes = axes_of(text)
    words = _words(AXES.sub(" ", fold(text)) if axes else text)
    known = [_vocabulary()[w] for w in words if w in _vocabulary()]
    if axes:
        # What stands beside them names sizes of the part: Maße (LxBxH) are no mass.
        known = [*(meant for meant in known if Concept.SIZE not in meant), (Concept.SIZE,)]
    elif letter := _side_alone(words):
        known = [(letter,)]
    strangers = sum(w not in _vocabulary() and not unit_in_title(w) and not w.isdigit() for w in words)
    numbered = any(w.isdigit() for w in words)
    # A word that is not understood, or a number, makes a title less sure than the plain one beside it.
    loss = min(0.3 * strangers + 0.1 * numbered, 0.9)
    claims: dict[Role, float] = {}
    for meant in islice(product(*known), _MOST_MEANINGS):
        for role, weight in _claims(frozenset(meant)).items():
            claims[role] = max(weight - loss, claims.get(role, -loss))
    return Title(tuple(words), frozenset(chain.from_iterable(known)), _units(text, words), claims, axes)


_SIDE_OF_LETTER: Final = {
    "h": Concept.HEIGHT,
    "l": Concept.LENGTH,
    "w": Concept.WIDTH,
    "b": Concept.WIDTH,
    "t": Concept.HEIGHT,
}
_OF_A_PART: Final = frozenset({"body", "part"})
_BESIDE_LETTERS: Final = _OF_A_PART | {"max", "min", "typ", "nom", "tol"}
"""Words beside which a letter alone still names a side of the body: abbreviations of every language's data."""
_FEWEST_LETTERS: Final = 2


def with_letters_read(titles: Sequence[str]) -> list[str]:
    """Return the titles of a table, those of its sizes that are a letter alone written out: ``L``, ``B``, ``H max``.

    An H alone is a height; L, W, B and T mean much, and are sides where two of these letters, or one and an H, stand
    in the same header.
    """
    letters = {i: letter for i, title in enumerate(titles) if (letter := _only_letter(title))}
    known = set(letters.values())
    if "h" not in known and len(known) < _FEWEST_LETTERS:
        return list(titles)
    # Of height and thickness in one header the T is something else.
    sides = {i: _SIDE_OF_LETTER[letter] for i, letter in letters.items() if letter != "t" or "h" not in known}
    return [_LETTER_ALONE.sub(str(sides[i]), title, count=1) if i in sides else title for i, title in enumerate(titles)]


_LETTER_ALONE: Final = pattern(r"(?i)(?<![^\W_])[a-z](?![^\W_])")


def _only_letter(title: str) -> str:
    """Return the letter of a side that stands in a title with nothing but units and words such as max; else nothing."""
    words = [word for word in _WORDS.findall(fold(title[:_LONGEST])) if unit_in_title(word) not in _LENGTHS]
    single = [word for word in words if len(word) == 1]
    rest = {word for word in words if len(word) > 1}
    if len(single) != 1 or not rest <= _BESIDE_LETTERS:
        return ""
    if single[0] == "z":  # alone it is a coordinate; of a part or its body it is the height
        return "h" if rest & _OF_A_PART else ""
    return single[0] if single[0] in _SIDE_OF_LETTER else ""


_WORDS: Final = pattern(r"[^\W_]+")


def _side_alone(words: Sequence[str]) -> Concept | None:
    """Return the side that a letter stands for where nothing but a unit of lengths is beside it, as in ``H (mm)``."""
    bare = [word for word in words if not unit_in_title(word)]
    if len(bare) != 1 or len(words) != 2 or (unit_in_title(words[-1]) or "") not in _LENGTHS:
        return None
    return _SIDE_OF_LETTER.get(bare[0])


def unit_of(text: str) -> str:
    """Return the unit that a cell names and nothing besides, with brackets or without; else an empty text."""
    return unit_in_title(fold(text.strip().strip("[](){}<>").strip()).rstrip(".")) or ""


def _units(text: str, words: Sequence[str]) -> tuple[str, ...]:
    """Return the units that a title names: in brackets first, then as words, then as a last word that is one too."""
    also_words = units().also_words
    found = [unit_of(part) for part in _BRACKETED.findall(text)]
    found += [unit_in_title(word) or "" for word in words if word not in also_words]
    found = [unit for unit in found if unit]
    if not found and len(words) > 1 and words[-1] in also_words and not words[-2].isdigit():
        found.append(unit_in_title(words[-1]) or "")
    return tuple(found)


_SURE, _LIKELY, _MAYBE = 3.0, 2.0, 1.0


def _claims(c: frozenset[Concept]) -> dict[Role, float]:
    """Return the roles that a set of concepts can mean, each with a weight: 3 sure, 2 likely, 1 perhaps."""
    if not c or c & {Concept.MONEY, Concept.ADDRESS, Concept.PACKING}:
        return {}
    for rule in (_axis, _size, _turned, _number, _named):
        found = rule(c)
        if found:
            return found
    return {}


def _axis(c: frozenset[Concept]) -> dict[Role, float]:
    if (Concept.X in c) == (Concept.Y in c) or c & {Concept.ROTATION, Concept.PITCH, Concept.QUANTITY, Concept.OTHER}:
        return {}
    axis = Role.X if Concept.X in c else Role.Y
    if Concept.CENTRE in c:
        return {axis: _SURE + 0.5}
    if c & {Concept.SIZE, Concept.LENGTH, Concept.WIDTH, Concept.HEIGHT}:
        return {Role.LENGTH if axis is Role.X else Role.WIDTH: _LIKELY}
    if c & {Concept.PAD, Concept.PIN}:
        return {axis: _LIKELY - 0.5}
    if c & {Concept.ORIGIN, Concept.REFERENCE, Concept.DESIGNATOR}:
        return {axis: _LIKELY}
    return {axis: _SURE}


def _size(c: frozenset[Concept]) -> dict[Role, float]:
    if c & {Concept.NOT, Concept.FITTED}:
        return {}
    for concept, role in (
        (Concept.HEIGHT, Role.HEIGHT),
        (Concept.WIDTH, Role.WIDTH),
        (Concept.LENGTH, Role.LENGTH),
        (Concept.MASS, Role.MASS),
        (Concept.PITCH, Role.PITCH),
        (Concept.PINS, Role.PINS),
    ):
        if concept in c:
            return {role: _SURE}
    if Concept.PIN in c and not c & {Concept.REFERENCE, Concept.NAME}:
        return {Role.PINS: _SURE}
    if Concept.PAD in c and Concept.QUANTITY in c:
        return {Role.PINS: _LIKELY}
    if Concept.SIZE in c and not c & _NO_SIZE:
        if Concept.Z in c:
            return {Role.HEIGHT: _SURE}
        named = c & {Concept.PACKAGE, Concept.FOOTPRINT}
        return {Role.FOOTPRINT: _SURE, Role.SIZE: _SURE + 0.2} if named else {Role.SIZE: _SURE}
    return {Role.HEIGHT: _MAYBE} if c == {Concept.Z} else {}


_NO_SIZE: Final = frozenset(
    {
        Concept.OTHER,
        Concept.PAD,
        Concept.PIN,
        Concept.ORDER,
        Concept.QUANTITY,
        Concept.VALUE,
        Concept.DESIGNATOR,
        Concept.REFERENCE,
        Concept.PART_NUMBER,
        Concept.DESCRIPTION,
        Concept.COMMENT,
        Concept.SUPPLIER,
        Concept.MOUNTING,
    }
)
"""Beside these a word of size speaks of something else than the body."""


def _turned(c: frozenset[Concept]) -> dict[Role, float]:
    if Concept.MIRROR in c:
        return {Role.LAYER_MIRROR: _SURE}
    if Concept.ROTATION in c:
        return {Role.ROTATION: _SURE}
    if Concept.SIDE in c or {Concept.TOP, Concept.BOTTOM} <= c:
        return {Role.SIDE: _SURE}
    if c & {Concept.NOT_FITTED} or (Concept.FITTED in c and not c & {Concept.SIDE, Concept.TYPE}):
        return {Role.FITTED: _SURE}
    if Concept.NOT in c and c & {Concept.ASSEMBLY, Concept.MOUNTING}:
        return {Role.FITTED: _SURE}
    if Concept.MOUNTING in c:
        return {Role.MOUNTING: _SURE}
    return {Role.FITTED: _LIKELY} if c == {Concept.ASSEMBLY} else {}


def _number(c: frozenset[Concept]) -> dict[Role, float]:
    """Part numbers, makers and quantities."""
    if Concept.QUANTITY in c:
        return {Role.QUANTITY: _LIKELY if c & {Concept.OTHER, Concept.ORDER} else _SURE}
    less = 0.5 * (Concept.ALTERNATE in c)
    named_number = Concept.NUMBER in c and bool(
        c & {Concept.PART, Concept.ARTICLE, Concept.ORDER, Concept.MAKER, Concept.SUPPLIER, Concept.REFERENCE}
    )
    if (
        Concept.PART_NUMBER in c
        or named_number
        or (c & {Concept.MAKER, Concept.SUPPLIER} and c & {Concept.PART, Concept.REFERENCE, Concept.TYPE})
    ):
        if Concept.DESIGNATOR in c or (
            Concept.REFERENCE in c and not c & {Concept.MAKER, Concept.SUPPLIER, Concept.PART}
        ):
            return {Role.REF: _LIKELY}
        if Concept.SUPPLIER in c:
            return {Role.PART_NUMBER: _LIKELY - 0.5 - less}
        return {Role.PART_NUMBER: _SURE + 0.5 * (Concept.MAKER in c) - less}
    if Concept.MAKER in c:
        return {Role.MANUFACTURER: _SURE - less}
    return {Role.REF: _LIKELY, Role.PART_NUMBER: _LIKELY - 0.1} if Concept.REFERENCE_OR_NUMBER in c else {}


_NAMES: Final[tuple[tuple[frozenset[Concept], Mapping[Role, float]], ...]] = (
    (frozenset({Concept.DESIGNATOR}), {Role.REF: _SURE + 0.2}),
    (frozenset({Concept.REFERENCE, Concept.DES}), {Role.REF: _SURE + 0.2}),
    (frozenset({Concept.FOOTPRINT}), {Role.FOOTPRINT: _SURE + 0.2}),
    (frozenset({Concept.PATTERN}), {Role.FOOTPRINT: _SURE + 0.2}),
    (frozenset({Concept.PACKAGE}), {Role.FOOTPRINT: _SURE}),
    (frozenset({Concept.REFERENCE}), {Role.REF: _SURE, Role.PART_NUMBER: _MAYBE}),
    (frozenset({Concept.VALUE}), {Role.VALUE: _SURE}),
    (frozenset({Concept.DESCRIPTION}), {Role.DESCRIPTION: _SURE}),
    (frozenset({Concept.COMMENT}), {Role.COMMENT: _SURE}),
    (frozenset({Concept.DESIGNATION}), {Role.DESCRIPTION: _LIKELY, Role.REF: _LIKELY - 0.2, Role.VALUE: _MAYBE}),
    (frozenset({Concept.PART, Concept.TYPE}), {Role.VALUE: _MAYBE, Role.PART_NUMBER: _MAYBE - 0.1}),
    (frozenset({Concept.PART}), {Role.REF: _LIKELY - 0.2, Role.PART_NUMBER: _LIKELY - 0.3, Role.VALUE: _MAYBE}),
    (frozenset({Concept.NAME}), {Role.REF: _LIKELY - 0.4, Role.VALUE: _MAYBE, Role.DESCRIPTION: _MAYBE - 0.1}),
)
"""Concepts that must all be there, and what they can mean; the first that fits counts."""


def _named(c: frozenset[Concept]) -> dict[Role, float]:
    """Words for what a part is called: the content of the column settles the doubtful ones."""
    if Concept.OTHER in c and Concept.DESIGNATOR not in c:
        return {}
    for needed, meaning in _NAMES:
        if needed <= c:
            return dict(meaning)
    if c == {Concept.TYPE}:
        return {Role.VALUE: _MAYBE, Role.PART_NUMBER: _MAYBE - 0.1}
    return {Role.REF: _MAYBE} if c == {Concept.POSITION} else {}


def count_roles(cells: list[str]) -> int:
    """Return how many different roles a row's cells claim with some sureness: what makes a row look like a header."""
    roles: set[Role] = set()
    for cell in cells:
        if cell and len(cell) <= _LONGEST:
            title = read_title(cell)
            if title.strongest is not None and title.claims[title.strongest] > _MAYBE:
                roles.add(title.strongest)
    return len(roles)

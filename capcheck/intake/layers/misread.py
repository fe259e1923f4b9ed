"""What a layer may command that its reader passes over, so that lands would lie elsewhere, be turned, or be missing.

Source: the Gerber Layer Format Specification, revision 2021.02, from memory; what the library makes of each was tried.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.values import InputError, pattern

REMEDY: Final = "export the layer again, or leave it out with layers = false in board.toml"
_NUMBER_0: Final = rb"[+-]?0*\.?0*\s*\*"
_NUMBER_1: Final = rb"\+?0*1(?:\.0*)?"
_COMMANDS: Final = (
    (b"IPNEG", rb"IPNEG", "it is drawn as a negative", "what it leaves open, and what not, is not told apart"),
    (
        b"SRX",
        rb"SRX(?!0*1Y0*1\D)",
        "it repeats what it draws in steps",
        "the layers of one board are read, of a panel none",
    ),
    (b"LR", rb"LR(?!" + _NUMBER_0 + rb")", "it turns apertures", "how its lands lie is not read then"),
    (b"LM", rb"LM(?!N\s*\*)", "it mirrors apertures", "how its lands lie is not read then"),
    (b"LS", rb"LS(?!" + _NUMBER_1 + rb"\s*\*)", "it scales apertures", "how large its lands are is not read then"),
    (b"SF", rb"SF(?!A" + _NUMBER_1 + rb"B" + _NUMBER_1 + rb"\s*\*)", "it scales what it draws", "that is not read"),
    (b"IR", rb"IR(?!0+\s*\*)", "it turns what it draws", "how its lands lie is not read then"),
    # The library mirrors along an axis that such a command leaves out.
    (b"MI", rb"MI(?!(?:A0)?B0\s*\*)", "it mirrors what it draws", "where its lands lie is not read then"),
    (b"ASAY", rb"ASAYBX", "it exchanges its axes", "where its lands lie is not read then"),
    (b"G91", rb"G91", "it counts each place from the one before", "where its lands lie is not read then"),
)
"""What stands in such a layer, how its command begins, what it does, and why the layer is not read."""
_PATTERNS: Final = tuple(pattern(rb"(?:[%*]|^)\s*(?:" + command + rb")") for _, command, _, _ in _COMMANDS)
_MM: Final = pattern(rb"[%*]\s*MOMM\s*\*")
_INCH: Final = pattern(rb"[%*]\s*MOIN\s*\*")


def refuse_misread(path: Path, content: bytes) -> None:
    """Raise :class:`InputError` for a layer with a command that its reader passes over."""
    for (sign, _, what, why), command in zip(_COMMANDS, _PATTERNS, strict=True):
        # A sign is found at once in what is long; the pattern is looked for only where there is one.
        if sign in content and command.search(content):
            raise InputError.at(str(path), what, why, REMEDY)
    if b"MOMM" in content and b"MOIN" in content and _MM.search(content) and _INCH.search(content):
        raise InputError.at(str(path), "it changes its unit", "what counts in which is not read", REMEDY)

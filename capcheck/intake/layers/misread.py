"""What a layer may command that its reader passes over, so that lands would lie elsewhere, be turned, or be missing.

Source: the Gerber Layer Format Specification, revision 2021.02, from memory; what the library makes of each was tried.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.intake.exchange import DISPLACING, PassedOver, refuse_passed_over
from capcheck.values import InputError, pattern

REMEDY: Final = "export the layer again, or leave it out with layers = false in board.toml"
_NUMBER_0: Final = rb"[+-]?0*\.?0*\s*\*"
_NUMBER_1: Final = rb"\+?0*1(?:\.0*)?"
_COMMANDS: Final = (
    PassedOver(b"IPNEG", rb"IPNEG", "it is drawn as a negative", "what it leaves open is not told apart"),
    PassedOver(
        b"SRX",
        rb"SRX(?!0*1Y0*1\D)",
        "it repeats what it draws in steps",
        "the layers of one board are read, of a panel none",
    ),
    PassedOver(b"LR", rb"LR(?!" + _NUMBER_0 + rb")", "it turns apertures", "how its lands lie is not read then"),
    PassedOver(b"LM", rb"LM(?!N\s*\*)", "it mirrors apertures", "how its lands lie is not read then"),
    PassedOver(
        b"LS", rb"LS(?!" + _NUMBER_1 + rb"\s*\*)", "it scales apertures", "how large its lands are is not read then"
    ),
    *DISPLACING,
)
_MM: Final = pattern(rb"[%*]\s*MOMM\s*\*")
_INCH: Final = pattern(rb"[%*]\s*MOIN\s*\*")


def refuse_misread(path: Path, content: bytes) -> None:
    """Raise :class:`InputError` for a layer with a command that its reader passes over."""
    refuse_passed_over(str(path), content, _COMMANDS, REMEDY)
    if b"MOMM" in content and b"MOIN" in content and _MM.search(content) and _INCH.search(content):
        raise InputError.at(str(path), "it changes its unit", "what counts in which is not read", REMEDY)

"""The cautions: one text for all papers, every help and whatever stands by itself on a screen."""

from __future__ import annotations

from capcheck.lexicon.wording import sentence
from capcheck.model import say


def cautions() -> str:
    """Return what every paper says besides its figures: what decides, and how the work on machines is done safely."""
    pieces = (
        say("cautions.nominal"),
        say("cautions.standstill"),
        say("cautions.surroundings"),
        say("cautions.trained"),
    )
    return " ".join(map(sentence, pieces))

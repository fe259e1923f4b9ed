"""The cautions: one text for all papers, and its short form for the help."""

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


def cautions_in_short() -> str:
    """Return the cautions without those about what stands around a machine."""
    return " ".join(map(sentence, (say("cautions.nominal"), say("cautions.standstill"), say("cautions.trained"))))

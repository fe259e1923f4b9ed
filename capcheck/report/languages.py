"""The languages in which a customer can be asked, found without reading any."""

from __future__ import annotations

from pathlib import Path
from typing import Final

_CATALOGUES: Final = Path(__file__).parents[1] / "lexicon" / "questions"


def customers_languages() -> list[str]:
    """Return the code of every language that has a catalogue, in alphabetical order."""
    return sorted(path.stem for path in _CATALOGUES.glob("*.toml"))

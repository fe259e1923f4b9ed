"""References that board.toml states as fitted or not, be it by a range: that goes before what the files say."""

from __future__ import annotations

from collections.abc import Container, Sequence
from pathlib import Path
from typing import Final

import numpy as np

from capcheck.intake.compare import FittedByBoth, Joined, fitted_by_both
from capcheck.intake.placements import PlacementColumns
from capcheck.intake.tables import expand_references
from capcheck.model import BomLine, Flags, Manifest
from capcheck.values import InputError, Place, few, line_of, read_text

_EXCLUDE: Final = (("fitted", "not_fitted"), ("provided", "bought"))


def refuse_both_ways(stated: Manifest, file: str | None, known: Container[str]) -> None:
    """Refuse a reference that two keys which exclude one another name, be it within a range.

    *known* are the references of the board. Raises :class:`InputError` at the second key.
    """
    for one, other in _EXCLUDE:
        first, second = (getattr(stated, key) for key in (one, other))
        if not first or not second:
            continue
        named = set(_expanded(first, known))
        both = [ref for ref in dict.fromkeys(_expanded(second, known)) if ref in named]
        if both:
            verb = "stands" if len(both) == 1 else "stand"
            line = None if file is None else line_of(read_text(Path(file), "board.toml"), (other,))
            raise InputError.at(
                Place(file or "board.toml", line, other),
                f"{few(both, 6)} {verb} in {one} and in {other}",
                remedy="keep one of them; a range names each reference in it",
            )


def fitted_as_stated(
    files: Sequence[PlacementColumns],
    base: Sequence[str],
    joined: Joined | None,
    lines: Sequence[BomLine],
    manifest: Manifest,
) -> FittedByBoth:
    """Return which placements are fitted by both lists, and by what board.toml states of them."""
    both = fitted_by_both([f.fitted for f in files], joined, lines)

    def rows(stated: Sequence[str]) -> Flags:
        named = set(_expanded(stated, set(base))) if stated else set()
        return np.fromiter((ref in named for ref in base), dtype=np.bool_, count=len(base))

    if manifest.fitted:
        both = both.with_fitted(rows(manifest.fitted))
    return both.without(rows(manifest.not_fitted)) if manifest.not_fitted else both


def _expanded(stated: Sequence[str], known: Container[str]) -> list[str]:
    return expand_references(", ".join(stated), known)[0]

"""Counts and lists for a reader: ``3 rows``; ``A, B and 4 more``."""

from __future__ import annotations

from collections.abc import Sequence


def counted(number: int, word: str, plural: str = "") -> str:
    """Return a number with its word: ``1 row``, ``3 rows``; *plural* where an s does not make it."""
    return f"{number} {word if number == 1 else plural or f'{word}s'}"


def few(names: Sequence[str], most: int) -> str:
    """Return at most so many names, and how many more there are."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")

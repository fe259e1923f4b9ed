"""Reference designators for a reader: in natural order, runs shortened."""

from __future__ import annotations

import re


def number_of(ref: str) -> tuple[str, int, str]:
    """Return a key that sorts ``R2`` before ``R10``."""
    match = re.match(r"(\D*)(\d{0,12})(.*)", ref, re.DOTALL)
    return (match[1], int(match[2] or 0), match[3]) if match else (ref, 0, "")


def shortened(refs: list[str] | tuple[str, ...], most: int = 10) -> str:
    """Return references for a sentence: ``C1–C4, C20 and 12 more``."""
    runs: list[list[str]] = []
    for ref in sorted(dict.fromkeys(refs), key=number_of):
        head, number, tail = number_of(ref)
        if runs and not tail:
            before = number_of(runs[-1][-1])
            if before[0] == head and before[1] == number - 1 and not before[2] and number:
                runs[-1].append(ref)
                continue
        runs.append([ref])
    texts = [", ".join(run) if len(run) < 3 else f"{run[0]}–{run[-1]}" for run in runs]  # noqa: PLR2004
    if len(texts) <= most:
        return ", ".join(texts)
    rest = sum(len(run) for run in runs[most:])
    return f"{', '.join(texts[:most])} and {rest} more"

"""Reference designators for a reader: in natural order, runs shortened."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from typing import Final

from capcheck.values.patterns import pattern

_PARTS: Final = pattern(r"(?s)(\D*)(\d{0,12})(.*)")


def number_of(ref: str) -> tuple[str, int, str]:
    """Return a key that sorts ``R2`` before ``R10``."""
    match = _PARTS.match(ref)
    return (match[1], int(match[2] or 0), match[3]) if match else (ref, 0, "")


def shortened(refs: list[str] | tuple[str, ...], most: int = 10) -> str:
    """Return references for a sentence: ``C1–C4, C20 and 12 more``; of a panel ``C1–C4 on circuits 1–6; R7``."""
    texts, left, rest = [], most, 0
    for circuits, own in _by_circuits(refs):
        runs = _runs(own)
        rest += sum(map(len, runs[left:])) * max(1, len(circuits))
        shown = [", ".join(run) if len(run) < 3 else f"{run[0]}–{run[-1]}" for run in runs[:left]]
        left -= len(shown)
        if shown:
            texts.append(", ".join(shown) + (f" on circuits {_span(circuits)}" if circuits else ""))
    return "; ".join(texts) + (f" and {rest} more" if rest else "")


def _runs(refs: Iterable[str]) -> list[list[str]]:
    """Return references in natural order, those that follow one another together."""
    runs: list[list[str]] = []
    before = ("", -1, "")
    for key, ref in sorted((number_of(ref), ref) for ref in refs):
        head, number, tail = key
        if number and not tail and before == (head, number - 1, ""):
            runs[-1].append(ref)
        else:
            runs.append([ref])
        before = key
    return runs


def _by_circuits(refs: Iterable[str]) -> list[tuple[tuple[int, ...], list[str]]]:
    """Return references with the circuits that they stand on, those of several circuits first, once for all.

    A stepped panel's first circuit has plain references, the others carry ``/2``, ``/3`` … behind theirs; what has no
    plain reference beside it is named as it is, with no circuits. A single one among references without copies may be a
    designator of the customer's own, and is named as it is too.
    """
    every = dict.fromkeys(refs)
    copies: dict[str, list[int]] = {}
    told = set()
    for ref in every:
        base, circuit = _copy_of(ref) if "/" in ref else (ref, 1)
        if circuit > 1 and base in every:
            copies.setdefault(base, [1]).append(circuit)
            told |= {base, ref}
    if not copies or (len(copies) == 1 and len(told) < len(every)):
        return [((), list(every))]
    together: dict[tuple[int, ...], list[str]] = {}
    for base, circuits in copies.items():
        together.setdefault(tuple(sorted(circuits)), []).append(base)
    alone = [ref for ref in every if ref not in told]
    return [*sorted(together.items(), key=lambda item: (-len(item[0]), item[0])), *([((), alone)] if alone else [])]


def _copy_of(ref: str) -> tuple[str, int]:
    """Return the reference on the first circuit, and the circuit; a pair is a copy where both of its parts are."""
    parts = [part.rpartition("/") for part in ref.split(" and ")]
    number = parts[0][2]
    if all(base and last == number for base, _, last in parts) and re.fullmatch("[1-9][0-9]{0,4}", number):
        return " and ".join(base for base, _, _ in parts), int(number)
    return ref, 1


def _span(circuits: tuple[int, ...]) -> str:
    in_a_row = len(circuits) > 1 and circuits[-1] - circuits[0] == len(circuits) - 1
    return f"{circuits[0]}–{circuits[-1]}" if in_a_row else ", ".join(map(str, circuits))


def in_ranges(refs: Iterable[str]) -> list[str]:
    """Return references in natural order, three and more in a row as one text: ``C1–C4``; none is left out."""
    return [text for run in _runs(dict.fromkeys(refs)) for text in (run if len(run) < 3 else [f"{run[0]}–{run[-1]}"])]


def refs_of_subject(ref: str) -> list[str]:
    """Return the references of a subject: of a pair both."""
    return ref.split(" and ")


def first_circuit(ref: str, every: Container[str]) -> str:
    """Return the reference of the same part on the first circuit of a stepped panel; *every* are those of the board."""
    base, circuit = _copy_of(ref) if "/" in ref else (ref, 1)
    return base if circuit > 1 and base in every else ref

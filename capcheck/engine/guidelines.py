"""The guidelines and standards that rules cite by number, as ``[4]`` in their basis."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Final

from msgspec import Struct

from capcheck.values import pattern

_CITATION: Final = pattern(r"\[([0-9]{1,9})\]")


class Guideline(Struct, frozen=True):
    """One numbered guideline: what it is called, who published it, and where it can be found or how it was read."""

    number: int
    title: str
    publisher: str
    year: str
    where: str

    def __str__(self) -> str:
        year = "" if self.year == "not known" else f", {self.year}"
        return f"[{self.number}] {self.title}. {self.publisher}{year}. {self.where}"


@cache
def shipped_rules() -> Path:
    """Return the folder of the rules that ship, in a checkout or an installed wheel."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_rules"
    return installed if installed.is_dir() else package.parent / "rules"


@cache
def all_guidelines() -> dict[int, Guideline]:
    """Return the guidelines that ship, by number."""
    with (shipped_rules() / "guidelines.csv").open(encoding="utf-8", newline="") as file:
        rows = [
            Guideline(int(row["number"]), row["title"], row["publisher"], row["year"], row["where"])
            for row in csv.DictReader(file)
        ]
    return {guideline.number: guideline for guideline in rows}


def cited_numbers(basis: str) -> tuple[int, ...]:
    """Return the numbers in square brackets of a rule's basis, in order, each once."""
    return tuple(dict.fromkeys(int(number) for number in _CITATION.findall(basis)))

"""A second reader of makers' part numbers, written without knowledge of the project's own: a witness against it.

A scheme, a row of ``independent_part_schemes.csv``, is a pattern of a maker's ordering code with the document that
publishes it. Its fields ``size``, ``size2`` and ``thick`` are looked up in ``independent_part_codes.csv``; ``long``,
``wide`` and ``high`` are digits in tenths of a millimetre, ``high3`` in hundredths; ``positions`` counts a connector's
contacts, ``rows`` those of one of two rows, and the length of its table is what the body adds to the run of contacts.
Most sizes are from memory of these documents, as each row says; heights are the greatest, or the nominal one where a
code names that. A code that several packages share gives them all, so that only what none of them allows is a
contradiction.

Figures: the tables in reference/*.csv.
"""

from __future__ import annotations

import csv
import functools
import re
from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

from capcheck.model import Body

REFERENCE = Path(__file__).resolve().parent.parent / "reference"
DISTRIBUTOR = re.compile(r"^(\d{3}-(?=[A-Z0-9]{4})(?=.*-ND$))|(-ND)$|\s+|\\")
"""What surrounds a maker's number: a distributor's digits and ending, blanks, escapes of a table."""


class Outline(NamedTuple):
    """What a number says of a body: sides without leads, each true within *room_mm*; None where it says nothing."""

    length: float | None
    width: float | None
    height: float | None
    package: str
    pins: int | None
    pitch: float | None
    room_mm: float
    source: str

    @property
    def sides(self) -> str:
        """The sides as intervals, for a message."""
        known = [s for s in (self.length, self.width) if s is not None]
        text = " × ".join(f"{max(s - self.room_mm, 0):.2f} to {s + self.room_mm:.2f}" for s in known)
        return text + (f", height {self.height:g}" if self.height is not None else "")


class Scheme(NamedTuple):
    """One maker's numbers: for which reference letters, in which form, and where that is published."""

    letters: frozenset[str]
    pattern: re.Pattern[str]
    table: str
    heights: str
    room_mm: float
    source: str


def _rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@functools.cache
def codes() -> dict[str, dict[str, list[dict[str, str]]]]:
    """The rows of each table by their code."""
    tables: dict[str, dict[str, list[dict[str, str]]]] = defaultdict(lambda: defaultdict(list))
    for row in _rows("independent_part_codes.csv"):
        tables[row["table"]][row["code"]].append(row)
    return tables


@functools.cache
def schemes() -> tuple[Scheme, ...]:
    """All schemes, with the codes of their tables in their patterns, the longest first."""

    def scheme(row: dict[str, str]) -> Scheme:
        words = sorted((c for c in codes()[row["table"]] if c != "-"), key=len, reverse=True)
        pattern = row["pattern"].replace("{codes}", f"(?P<size>{'|'.join(map(re.escape, words))})")
        letters = frozenset(row["letters"].split())
        return Scheme(
            letters, re.compile(pattern, re.ASCII), row["table"], row["heights"], float(row["room_mm"]), row["source"]
        )

    return tuple(map(scheme, _rows("independent_part_schemes.csv")))


def _number(text: str) -> float | None:
    return float(text) if text else None


def _length(row: dict[str, str], positions: int) -> float | None:
    length = _number(row["length_mm"])
    return None if length is None else length + (positions - 1) * (_number(row["pitch_mm"]) or 0)


# By definition of the schemes: "high" and "long" are tenths of a millimetre, "high3" hundredths.
def _outlines(scheme: Scheme, fields: dict[str, str | None]) -> list[Outline]:
    thick = codes()[scheme.heights].get(fields.get("thick") or "", [])
    height = float(thick[0]["height_mm"]) if thick else None
    for name, unit in (("high", 10), ("high3", 100)):
        height = int(fields[name] or 0) / unit if fields.get(name) else height
    if long := fields.get("long"):
        sides = int(long) / 10, int(fields.get("wide") or long) / 10
        return [Outline(*sides, height, "", None, None, scheme.room_mm, scheme.source)]
    code = (fields.get("size") or "-") + (fields.get("size2") or "")
    contacts = int(fields.get("positions") or 0) or 2 * int(fields.get("rows") or 0) or None
    return [
        Outline(
            _length(r, int(fields.get("positions") or 1)),
            _number(r["width_mm"]),
            _number(r["height_mm"]) if height is None else height,
            r["package"],
            contacts or (int(r["pins"]) if r["pins"] else None),
            _number(r["pitch_mm"]),
            scheme.room_mm,
            scheme.source,
        )
        for r in codes()[scheme.table].get(code, [])
    ]


def outlines_of(part_number: str, ref_prefix: str = "") -> list[Outline]:
    """Return the bodies that a number may mean, of the first scheme it fits; none where it fits none."""
    number = DISTRIBUTOR.sub("", part_number).upper()
    for scheme in schemes():
        if ref_prefix and ref_prefix not in scheme.letters:
            continue
        if (match := scheme.pattern.fullmatch(number)) and (found := _outlines(scheme, match.groupdict())):
            return found
    return []


def is_sized(body: Body) -> bool:
    """Whether both sides of the body are held for proved."""
    return body.length.proved.value.is_known and body.width.proved.value.is_known


# Room for the rounding of a pitch: arithmetic.
def _objections(body: Body, outline: Outline) -> list[str]:
    room, said = outline.room_mm, []
    length, width = body.length.proved, body.width.proved
    if outline.length is not None and outline.width is not None:
        sides = outline.length, outline.width
        if not any(
            a.low - room <= sides[0] <= a.high + room and b.low - room <= sides[1] <= b.high + room
            for a, b in ((length, width), (width, length))
        ):
            said.append(f"sides {length.low:.2f} to {length.high:.2f} × {width.low:.2f} to {width.high:.2f}")
    height = body.height.proved
    if outline.height is not None and not height.low - room <= outline.height <= height.high + room:
        said.append(f"height {height.low:.2f} to {height.high:.2f}")
    if outline.pins is not None and body.pins not in {None, outline.pins, outline.pins + 1}:  # a pad may count as one
        said.append(f"{body.pins} pins")
    pitch = body.pitch.proved
    if outline.pitch is not None and not pitch.low - 0.02 <= outline.pitch <= pitch.high + 0.02:
        said.append(f"pitch {pitch.low:.3f} to {pitch.high:.3f}")
    return said


def contradictions(body: Body, outlines: list[Outline]) -> list[str]:
    """Return what of a body, held for proved, no outline allows; none where one allows all or a conflict is told."""
    if body.conflicts or not outlines:
        return []
    return min((_objections(body, o) for o in outlines), key=len)

"""Real numbers of every scheme, with what their makers' documents say of the body.

Figures: each row of examples.csv names the place where its document was read, or says from memory.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from pathlib import Path

import pytest

from capcheck.model import Mounting, PartName
from capcheck.packages.candidate import Candidate
from capcheck.packages.names import read_part_numbers
from capcheck.packages.names.part_kind import KIND_BY_PREFIX
from capcheck.packages.names.part_numbers.schemes import Scheme, all_families, all_schemes, starting
from capcheck.values import Interval

EXAMPLES = list(csv.DictReader((Path(__file__).parent / "examples.csv").read_text(encoding="utf-8").splitlines()))
LEAST_EXAMPLES = 2


def read(number: str, letters: str = "U") -> Candidate | None:
    """Return what a number says at a reference with these letters."""
    kind = KIND_BY_PREFIX.get(letters)
    return next(iter(read_part_numbers(PartName(part_number=number, ref_prefix=letters), kind)), None)


def holds(interval: Interval | None, figure: float) -> bool:
    """Whether an interval that is known contains a figure."""
    return interval is not None and interval.low <= figure <= interval.high


# How much wider than the document a reading may be: common practice, no source.
@pytest.mark.rows("row", EXAMPLES, ids=lambda row: row["number"])
def test_a_published_number_is_read_as_its_maker_means_it(row: dict[str, str]) -> None:
    found = read(row["number"], row["reference"])
    if row["means"] == "-":
        assert found is None
        return
    assert found is not None
    for said in row["means"].split():
        if said == "th":
            assert found.mounting is Mounting.THROUGH_HOLE
        elif said[0] == "h":
            assert holds(found.height, float(said[1:]))
        elif said[0] == "p":
            assert holds(found.pitch, float(said[1:]))
        elif said[0] == "n":
            assert found.pins == int(said[1:])
        else:
            long, short = map(float, said.split("x"))
            assert holds(found.length, long)
            assert holds(found.width, short)
            if found.length is not None and not found.alternatives:
                # A body that held every size would contain the right one too.
                assert found.length.high <= 1.35 * long + 0.4


READ = re.compile(r"https?://|, table \d|\bJENF\d{3}[A-Z]-\d{4}$|\bfrom memory\b")
LEAST_ROOM_MM = 0.0999  # common practice, no source: a tenth but for rounding


def test_a_document_that_nobody_opened_is_cited_from_memory():
    """A device's data sheet can be named for any device: it is a source only with the place where it was read."""
    assert [row["number"] for row in EXAMPLES if row["means"] != "-" and not READ.search(row["source"])] == []


@pytest.mark.rows("row", [r for r in EXAMPLES if "from memory" in r["source"]], ids=lambda row: row["number"])
def test_what_is_known_from_memory_has_room(row: dict[str, str]) -> None:
    """A tenth of a millimetre at least from end to end, as in independent_part_schemes.csv."""
    found = read(row["number"], row["reference"])
    known = [] if found is None else [found.length, found.width, found.height]
    assert all(side is None or side.high - side.low >= LEAST_ROOM_MM for side in known)


def test_every_scheme_and_family_of_numbers_has_examples() -> None:
    used: Counter[str] = Counter()
    for row in EXAMPLES:
        number = row["number"].upper()
        for entry in starting(number):
            if isinstance(entry, Scheme):
                used[entry.name] += entry.form.fullmatch(number) is not None
            elif entry.base_form.match(number):
                used[entry.key] += 1
    few = [s.name for s in all_schemes() if used[s.name] < LEAST_EXAMPLES]
    few += [f.key for f in all_families() if used[f.key] < 1]
    assert few == []


# Of the same series and another body: two lines in six lands, a coupler with sixteen leads, a jack for the surface,
# a trimmer set from its side, a memory of 208 mil; from memory.
@pytest.mark.rows(
    ("number", "letters"),
    [("RCLAMP0522P.TCT", "D"), ("HCPL-0872", "U"), ("SJ1-3513-SMT", "J"), ("3314Z-1-103E", "RV"), ("FM25V20A-G", "U")],
)
def test_a_number_of_the_same_series_with_another_body_is_not_read_by_its_scheme(number: str, letters: str) -> None:
    assert read(number, letters) is None

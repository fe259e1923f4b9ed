"""Devices that tests, fixtures and documents name are invented, save where a published number is what is tested.

Figures: none are asked for; samples of names are invented.

An invented device follows its maker's scheme with nines for the digits of the device. What is published is known from
the tables of published numbers, and from the beginnings of families that everybody knows.
"""

import ast
import csv
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TESTS = ROOT / "tests"

PUBLISHED_ARE_TESTED = {
    "tests/packages/names/part_numbers/examples.csv": "published numbers with their meaning, a source each",
    "tests/packages/names/part_numbers/test_against.py": "published schemes, damaged by one sign",
    "tests/packages/test_part_numbers_against_a_second_reader.py": "published numbers for two readers to compare",
    "tests/packages/names/part_numbers/test_cells.py": "one number of a scheme among other words",
    "tests/packages/bodies/test_part_number_witness.py": "what numbers of schemes say beside other names",
    "tests/packages/bodies/test_wrong_parts.py": "numbers of published schemes on lands of other bodies",
    "tests/packages/bodies/test_read_for_another.py": "published numbers whose digits look like sizes",
    "tests/packages/test_traps.py": "a device whose package's name misleads; its body is from memory",
    "tests/packages/tables/test_sources.py": "samples of sources, which name a document",
    "tests/checking/test_part_fits_its_land.py": "chip resistors and capacitors by the schemes that state their sizes",
    "tests/checking/test_stated_part_numbers.py": "chip resistors by the scheme that states their sizes",
    "tests/commands/test_library_round_trip.py": "a chip resistor by the scheme that states its size",
    "tests/test_part_command.py": "chip resistors and a tantalum by the schemes that state their sizes",
    "tests/test_invented_names.py": "samples of what is noticed",
    "tests/benchmarks/measure_bodies.py": "names of the open library whose drawings are measured",
}
"""Files that hold published numbers, and why."""

TABLES = ("tests/reference/", "capcheck/packages/data/")
"""Tables whose sources name devices, each row for itself."""

FAMILY = re.compile(
    r"(?<![A-Za-z\d])([12]N\d{4}|BC[58]\d\d|BA[TV]\d\d|BSS\d{2,3}|LM\d{3,4}|NE5\d\d|TL\d{3}|CD4\d{3}|STM32[A-Z]\d|ATMEGA\d|ATTINY\d"
    r"|ESP(32|82)|RP2\d{3}|PIC1\d|NRF5\d|74(HC|LS|LVC|AHC)T?\d|(GRM|BLM)\d\d\w{5}|RC\d{4}[FJ]R-|CRCW\d|ERJ-?\d|IHLP\d{4}|MAX\d{3}"
    r"|TPS\d{4}|IRF\d|AMS1|USB4\d{3}|SMAJ\d|FT232|CH340|TJA\d|ULN2\d)[\w.-]*",
    re.IGNORECASE,
)
"""Beginnings of families of devices."""


def published():
    """Return the numbers of the tables of published ones."""
    with (TESTS / "packages/names/part_numbers/examples.csv").open(encoding="utf-8", newline="") as file:
        found = {row["number"] for row in csv.DictReader(file)}
    source = (TESTS / "packages/test_part_numbers_against_a_second_reader.py").read_text(encoding="utf-8")
    texts = (node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant))
    found |= {word for text in texts if isinstance(text, str) for word in text.split()}
    return {word for word in found if re.fullmatch(r"(?=.*\d)(?=.*[A-Z])[A-Z\d][A-Z\d./()-]{5,}", word)}


PUBLISHED = published()


def devices(text):
    """Return what a text names of published devices: nines stand for a device that there is not."""
    words = set(re.split(r"[\s\"'|;:`=<>]+|,(?!\d{3}\b)", text))
    families = {match[0] for match in FAMILY.finditer(text)}
    return sorted(name for name in (words & PUBLISHED) | families if "99" not in name)


def files():
    """Yield the texts of the project by their names, but for tables."""
    kinds = {".py", ".toml", ".csv", ".md", ".txt", ".html", ".js", ".json", ".svg"}
    found = [p for folder in ("tests", "fixtures", "capcheck", "rules") for p in (ROOT / folder).rglob("*.*")]
    for path in sorted([*found, *ROOT.glob("*.md")]):
        name = path.relative_to(ROOT).as_posix()
        if path.suffix in kinds and not name.startswith(TABLES) and "__pycache__" not in name:
            yield name, path.read_text(encoding="utf-8")


def test_published_devices_are_named_only_where_they_are_what_is_tested():
    found = {name: named for name, text in files() if (named := devices(text))}
    assert {name: named for name, named in found.items() if name not in PUBLISHED_ARE_TESTED} == {}
    assert set(PUBLISHED_ARE_TESTED) <= set(found)
    assert all(len(reason.split()) > 3 for reason in PUBLISHED_ARE_TESTED.values())


@pytest.mark.rows("sample", ["LM358P", "ne555", "a STM32F103C8T6", "GRM188R60J226MEA0D", "74HC595", "2N7002,"])
def test_a_published_device_is_noticed(sample):
    assert devices(sample)


@pytest.mark.rows("sample", ["LM9999DR", "QX1234A", "STM32F999C8T6", "74HC999D,118", "W-31001", "CR2032"])
def test_an_invented_device_is_none(sample):
    assert not devices(sample)

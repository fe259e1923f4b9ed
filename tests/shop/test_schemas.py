"""The schemas hold for every file of the repository, as in an editor, and notice what the program refuses.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from capcheck.cli import main
from capcheck.shop.schemas import FILES, schema_of_file
from capcheck.shop.starting_files import templates
from capcheck.values.quantity_schema import ANGLES, FORCES, LENGTHS, MASSES, SHARES, TIMES
from capcheck.values.units import ANGLE, DIMENSIONS, FORCE, LENGTH, MASS, NUMBER, TIME, read_quantity

ROOT = Path(__file__).parents[2]
BAD = {"length-with-mass.toml": None, "unknown-fact.toml": None, "wrong-key.machine.toml": "max_lenght"}
"""Rules that are wrong only in what they mean are no work of a schema."""


def kind_of(name: str) -> str:
    """Return what a file is, as its name says, or its folder."""
    if "rules/" in name:
        return "rules"
    for ending, kind in ((".machine.toml", "machine"), (".line.toml", "line"), ("board.toml", "board")):
        if name.endswith(ending):
            return kind
    return "configuration" if name.endswith("capcheck.toml") else "rules"


def plain(value: object) -> Any:
    """Return TOML as an editor sees it: dates are texts."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def faults(kind: str, text: str) -> list[str]:
    validator = jsonschema.Draft202012Validator(schema_of_file(kind))
    return [
        f"{list(error.absolute_path)}: {error.message}" for error in validator.iter_errors(plain(tomllib.loads(text)))
    ]


def taken_in(text: str) -> str:
    return re.sub(r'(?m)^# (?=\[|[\w"*.\-]+ +=)', "", text)


FOUND = [
    path
    for folder in ("fixtures", "rules")
    for path in sorted((ROOT / folder).rglob("*.toml"))
    if path.name not in BAD and "syntax-error" not in path.name
]
BLOCKS = re.findall(r"(?s)```toml\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"))


@pytest.mark.rows("kind", FILES)
def test_each_schema_is_one_and_names_itself(kind: str) -> None:
    schema = schema_of_file(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"].endswith(kind)


@pytest.mark.rows("path", FOUND, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_file_of_the_repository_is_valid(path: Path) -> None:
    assert faults(kind_of(str(path.relative_to(ROOT))), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.splitlines()[0])
def test_every_block_of_the_readme_is_valid(block: str) -> None:
    first = block.splitlines()[0]
    if first == "[[head]]":  # the rest of the machine is left out there
        first, block = "# a.machine.toml", f'name = "a"\n{block}'
    kind = kind_of(first.removeprefix("# ").split(":")[0]) if first[0] == "#" else "configuration"
    assert faults(kind, block) == []


@pytest.mark.parametrize("name", [name for name in templates() if name.endswith(".toml")])
def test_every_template_is_valid_once_taken_in_and_names_its_schema(name: str) -> None:
    text = templates()[name]
    assert faults(kind_of(name), taken_in(text)) == []
    assert text.splitlines()[0] == f"#:schema ./.capcheck/{kind_of(name)}.schema.json"
    assert text.splitlines()[0].removeprefix("#:schema ./") in templates()


RULE = """
[[rule]]
id = "a"
title = "a"
subject = "part"
require = "part.height < '2 mm'"
message = "m"
why = "w"
remedy = "r"
basis = "b"
"""


@pytest.mark.rows(
    ("kind", "text"),
    [
        ("machine", 'name = "a"\n[board]\nmax_length = "500 kg"'),
        ("machine", 'name = "a"\n[board]\nmax_length = "500"'),
        ("machine", 'name = "a"\n[board]\nmax_length = "500 mn"'),
        ("machine", 'name = "a"\n[board]\nmax_length = "-500 mm"'),
        ("machine", 'name = "a"\n[board]\nmax_length = 500'),
        ("machine", 'name = "a"\n[board]\nmax_lenght = "500 mm"'),
        ("machine", 'name = "a"\n[[head]]\nname = "h"\nsmallest_chip = "0402"'),
        ("line", 'name = "a"\nmachines = []'),
        ("line", 'name = "a"\nmachines = ["a.machine.toml"]\nfree_area = "16 m"'),
        ("board", 'placements = [{ fil = "a.csv" }]'),
        ("board", 'units = "furlong"'),
        ("board", 'density = "1.85 g"'),
        ("configuration", '[limits]\n"part-height.reserve" = "much"'),
        ("configuration", "ruels = []"),
        ("rules", RULE.replace('"part"', '"prat"')),
        ("rules", RULE + '[[rule.example]]\nfacts = { "part.height" = "2 g" }\noutcome = "pass"'),
        ("rules", RULE + '[[rule.example]]\nfacts = { "part.mounting" = "surfce" }\noutcome = "pass"'),
    ],
)
def test_a_schema_notices_what_the_program_refuses(kind: str, text: str) -> None:
    assert faults(kind, text)


@pytest.mark.rows(
    ("words", "dimension"),
    [(LENGTHS, LENGTH), (MASSES, MASS), (ANGLES, ANGLE), (TIMES, TIME), (FORCES, FORCE), (SHARES, NUMBER)],
)
def test_the_units_of_the_schemas_are_units_of_the_program(words: tuple[str, ...], dimension: Any) -> None:
    for word in words:
        assert read_quantity(f"1 {word}", dimension) > 0


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=str)
def test_the_example_of_every_dimension_is_valid(dimension: Any) -> None:
    limits = '[limits]\n"a.b" = "{}"'
    assert faults("configuration", limits.format(dimension.example)) == []


def test_init_writes_files_and_their_schemas_and_a_check_reads_none_of_them(tmp_path: Path) -> None:
    assert main(["init", str(tmp_path)]) == 0
    assert {path.name for path in (tmp_path / ".capcheck").iterdir()} == {f"{kind}.schema.json" for kind in FILES}
    for path in tmp_path.glob("*.toml"):
        schema = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("#:schema ")
        assert (tmp_path / schema).is_file()

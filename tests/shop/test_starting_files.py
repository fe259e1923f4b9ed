"""The files that ``capcheck init`` writes show every key of their models, and each line is valid once taken in.

Figures: invented.
"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING

import pytest

from capcheck.machines import Bank
from capcheck.machines.line import Bench, LineFile, Station, read_machine
from capcheck.machines.profile import BoardLimits, Feeders, FiducialLimits, Head, MachineProfile, Timing
from capcheck.model.stated import Manifest, load_manifest
from capcheck.shop.configuration import read_configuration
from capcheck.shop.configuration_file import ConfigurationFile
from capcheck.shop.starting_files import templates

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic import BaseModel

SECTION = re.compile(r"(?m)^(?:# )?\[+(\w+)\]+")


def section_of(text: str, title: str) -> str:
    """The lines of one table; those before all tables for an empty title."""
    pieces = SECTION.split(text)
    return pieces[0] if not title else dict(zip(pieces[1::2], pieces[2::2], strict=True))[title]


@pytest.mark.rows(
    ("file", "title", "model"),
    [
        ("my.machine.toml", "", MachineProfile),
        ("my.machine.toml", "board", BoardLimits),
        ("my.machine.toml", "fiducials", FiducialLimits),
        ("my.machine.toml", "feeders", Feeders),
        ("my.machine.toml", "timing", Timing),
        ("my.machine.toml", "head", Head),
        ("my.machine.toml", "bank", Bank),
        ("my.line.toml", "", LineFile),
        ("my.line.toml", "station", Station),
        ("my.line.toml", "bench", Bench),
    ],
)
def test_every_key_is_shown_with_what_it_means(file: str, title: str, model: type[BaseModel]) -> None:
    text = templates()[file]
    shown = {
        line.split("=")[0].strip("# "): line.rpartition("  # ")[2]
        for line in section_of(text, title).splitlines()
        if re.match(r"(# )?\w+ +=", line)
    }
    tables = {name for name in model.model_fields if SECTION.search(text) and f"[{name}]" in text}
    for name, field in model.model_fields.items():
        if name in tables:
            assert re.search(rf"(?m)\[{name}\]+  # ", text)
        elif name in {"name", "machines"}:
            assert name in shown
        else:
            assert shown[name] == field.description


def taken_in(text: str) -> str:
    return re.sub(r'(?m)^# (?=\[|[\w"*.\-]+ +=)', "", text)


def test_every_line_of_the_machine_is_valid_when_taken_in(tmp_path: Path) -> None:
    file = tmp_path / "all.machine.toml"
    # Slots and trays are stated once: in [feeders], or by bank.
    text = re.sub(r"(?m)^(slots|tray_places|tray_slots) =.*\n", "", taken_in(templates()["my.machine.toml"]), count=3)
    file.write_text(text, encoding="utf-8")
    profile = read_machine(file)
    assert profile.board.max_length is not None
    assert profile.head[0].smallest_chip is not None
    assert profile.timing.derate is not None
    assert profile.bank is not None


def test_every_line_of_the_line_is_valid_when_taken_in() -> None:
    file = LineFile.model_validate(tomllib.loads(taken_in(templates()["my.line.toml"])))
    assert (file.hand_placement, file.station[0].name) == (True, "oven")


def test_the_board_says_nothing_shows_all_keys_there_are_and_each_line_is_valid_when_taken_in(tmp_path: Path) -> None:
    text = templates()["board.toml"]
    assert tomllib.loads(text) == {}
    file = tmp_path / "board.toml"
    file.write_text(taken_in(text), encoding="utf-8")
    manifest = load_manifest(file)
    assert manifest.panel is not None
    assert manifest.panel.columns == 2
    assert set(tomllib.loads(taken_in(text))) == set(Manifest.model_fields)


def test_every_line_of_the_configuration_is_valid_when_taken_in(tmp_path: Path) -> None:
    file = tmp_path / "capcheck.toml"
    file.write_text(taken_in(templates()["capcheck.toml"]), encoding="utf-8")
    values = read_configuration(file).values
    assert values.limits == {"some-rule": {"most": "11 mm"}}
    assert values.waiver[0].who == "A. Reviewer"
    assert values.model_fields_set <= set(ConfigurationFile.model_fields)

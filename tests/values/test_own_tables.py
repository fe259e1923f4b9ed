"""Tables of the package are parsed once; what is kept of them never outlives the file it was made of.

Figures: none of the trade; numbers and bytes are invented.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import msgspec
import pytest
import tomli

import capcheck
from capcheck.engine import load_rules, shipped_rules
from capcheck.facts import FACTS
from capcheck.values import own_table

PACKAGE = Path(capcheck.__file__).parent
TABLES = sorted({*PACKAGE.rglob("*.toml"), *shipped_rules().glob("*.toml")})


@pytest.fixture(autouse=True)
def _kept_in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path / "kept"))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)


def _table(folder: Path, text: str = "a = 1\n") -> Path:
    path = folder / "words.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _kept(folder: Path) -> list[Path]:
    return [path for path in (folder / "kept").rglob("*") if path.is_file()]


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_what_is_kept_of_a_table_equals_what_it_says(path: Path, tmp_path: Path) -> None:
    said = tomli.loads(path.read_text(encoding="utf-8"))
    assert repr(own_table(path)) == repr(said), "when it is parsed"
    assert len(_kept(tmp_path)) == 1
    assert repr(own_table(path)) == repr(said), "when it is taken from what was kept: 1 stays apart from 1.0"


def test_a_kept_table_is_taken_and_a_changed_file_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = _table(tmp_path)
    own_table(path)
    with monkeypatch.context() as unparsed:
        unparsed.delattr(tomli, "loads")
        assert own_table(path) == {"a": 1}
    at = path.stat()
    path.write_text("a = 2\n", encoding="utf-8")
    os.utime(path, ns=(at.st_atime_ns, at.st_mtime_ns + 1))
    assert own_table(path) == {"a": 2}, "same size, another time"
    path.write_text("a = 10\n", encoding="utf-8")
    os.utime(path, ns=(at.st_atime_ns, at.st_mtime_ns + 1))
    assert own_table(path) == {"a": 10}, "same time, another size"


@pytest.mark.parametrize("damage", [b"", b"\x93", b"no table", msgspec.msgpack.encode([0, 6, 0, {"a": 9}])])
def test_a_damaged_copy_is_parsed_anew(tmp_path: Path, damage: bytes) -> None:
    path = _table(tmp_path)
    own_table(path)
    (kept,) = _kept(tmp_path)
    kept.write_bytes(damage)
    assert own_table(path) == {"a": 1}
    assert kept.read_bytes() != damage, "and written again"


def test_nothing_is_kept_where_python_keeps_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert own_table(_table(tmp_path)) == {"a": 1}
    assert _kept(tmp_path) == []


def test_a_place_that_cannot_be_written_costs_nothing_but_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path / "file" / "below"))
    assert own_table(_table(tmp_path)) == {"a": 1}


def test_beside_a_shops_rules_nothing_is_kept_or_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "pycache_prefix", None)
    rule = (shipped_rules() / "height.toml").read_text(encoding="utf-8")
    path = _table(tmp_path, rule)
    own_table(path)  # what a stranger might have laid beside the file
    (beside,) = (tmp_path / "__pycache__").iterdir()
    form, size, changed, _ = msgspec.msgpack.decode(beside.read_bytes())
    beside.write_bytes(msgspec.msgpack.encode((form, size, changed, {"rule": []})))
    assert own_table(path) == {"rule": []}, "such a copy would be believed"
    assert len(load_rules([path], FACTS)) == rule.count("\n[[rule]]\n")

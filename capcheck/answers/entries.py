"""TOML files that people wrote, with entries set and added: comments, order and layout stay as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import ModuleType
from typing import TYPE_CHECKING, Any

import tomli
from msgspec import Struct

from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.answers.outcome import Edit


class EntryChange(Struct, frozen=True):
    """One entry of a TOML file: what it says, and what it is to say; empty texts where there is none."""

    path: tuple[str, ...]
    old: str
    new: str


def with_entries(text: str, edits: Sequence[Edit]) -> tuple[str, list[EntryChange]]:
    """Return the text of a TOML file with entries set, designators added to lists, and what each changes.

    *text* is valid TOML. What is there already is no change. A text where a table is meant is the short form of one
    that names a file; ``true`` and ``false`` are of one with no entries.
    """
    kit = _tomlkit()
    document = kit.parse(text)
    changes = []
    for edit in edits:
        *tables, key = edit.path
        table: Any = document
        for name in tables:
            if name not in table:
                table[name] = kit.table()
            elif not isinstance(table[name], Mapping):
                short, table[name] = table[name], kit.inline_table()
                if isinstance(short, str):
                    table[name]["file"] = str(short)
            table = table[name]
        old = table.get(key)
        if isinstance(edit.value, str):
            new: Any = edit.value
        else:
            there = list(old or [])
            more = list(dict.fromkeys(value for value in edit.value if value not in there))
            if not more:
                continue
            new = [*there, *more]
        if old == new:
            continue
        changes.append(EntryChange(edit.path, "" if old is None else _shown(old), _shown(new)))
        if isinstance(new, list) and old is not None:
            for value in more:
                old.append(value)
        elif tables or key in table:
            table[key] = new
        else:
            document = kit.parse(_with_key(str(kit.dumps(document)), key, new, kit))
    return str(kit.dumps(document)), changes


def without_entries(text: str, paths: Sequence[Sequence[str]]) -> tuple[str, list[EntryChange]]:
    """Return the text of a TOML file without some entries, and what each said; one that is not there is no change."""
    document = _tomlkit().parse(text)
    changes = []
    for path in paths:
        *tables, key = path
        table: Any = document
        for name in tables:
            table = table.get(name) if isinstance(table, Mapping) else None
        if isinstance(table, Mapping) and key in table:
            changes.append(EntryChange(tuple(path), _shown(table[key]), ""))
            del table[key]  # type: ignore[attr-defined] # a table of the document
    return str(document.as_string()), changes


def _with_key(text: str, key: str, value: object, kit: ModuleType) -> str:
    """Return a document with a new key behind those that stand above its tables, and above the comments on these."""
    whole = kit.parse(text)
    whole[key] = value
    lines = text.splitlines(keepends=True)
    at = next((i for i, line in enumerate(lines) if line.lstrip().startswith("[")), len(lines))
    while at and (not lines[at - 1].strip() or lines[at - 1].lstrip().startswith("#")):
        at -= 1
    ends = "\n" if at and not lines[at - 1].endswith("\n") else ""
    made = "".join([*lines[:at], ends, str(kit.dumps({key: value})), *lines[at:]])
    try:
        is_same = bool(at) and tomli.loads(made) == whole.unwrap()
    except tomli.TOMLDecodeError:
        is_same = False
    # A bracket may begin a line of a list too: then the library says where the key goes.
    return made if is_same else str(kit.dumps(whole))


def with_tables(text: str, path: Sequence[str], entries: Sequence[Mapping[str, object]]) -> str:
    """Return the text of a TOML file with further tables of an array of tables, such as ``[[waiver]]``."""
    kit = _tomlkit()
    document = kit.parse(text)
    table: Any = document
    *above, name = path
    for step in above:
        table = table[step]
    for entry in entries:
        made = kit.table()
        made.update(entry)
        if name not in table:
            table[name] = kit.aot()
        table[name].append(made)
    return str(kit.dumps(document))


def _shown(value: object) -> str:
    import json

    return json.dumps(value, ensure_ascii=False, default=str)


def _tomlkit() -> ModuleType:
    try:
        import tomlkit
    except ImportError:
        raise InputError.at(
            "capcheck answers",
            "needs the library tomlkit, which is not installed",
            "it writes into board.toml and capcheck.toml without losing their comments",
            'install it with: pip install "capcheck[answers]"',
        ) from None
    return tomlkit

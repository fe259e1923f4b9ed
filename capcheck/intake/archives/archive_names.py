"""What is said of files out of an archive names the archive and its member, not where they were unpacked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TypeVar, cast

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.archives.archive import removed_at_the_end, unpacked_from
from capcheck.values import InputError

_Said = TypeVar("_Said")


@contextmanager
def named_by_archive() -> Iterator[None]:
    """Let errors of the block name files out of archives as :func:`as_given` does; what it unpacks is then removed."""
    with removed_at_the_end():
        try:
            yield
        except InputError as error:
            error.problems = as_given(error.problems)
            error.args = ("\n".join(map(str, error.problems)),)
            raise


def as_given(record: _Said) -> _Said:
    """Return a record in which each path of an unpacked file is that of the archive, with the member behind it."""
    folders = unpacked_from()
    return cast("_Said", _renamed(record, folders)) if folders else record


def _renamed(record: object, folders: Mapping[str, str]) -> object:
    if isinstance(record, str):
        text = str(record)
        for folder, archive in folders.items():
            if folder in text:
                text = text.replace(folder, archive)
        return text if text != record else record
    if isinstance(record, Struct):
        values = {name: getattr(record, name) for name in record.__struct_fields__}
        changed = {name: new for name, old in values.items() if (new := _renamed(old, folders)) is not old}
        return replace(record, **changed) if changed else record
    if isinstance(record, dict):
        return {_renamed(key, folders): _renamed(value, folders) for key, value in record.items()}
    if isinstance(record, list | tuple):
        items = [_renamed(item, folders) for item in record]
        if all(new is old for new, old in zip(items, record, strict=True)):
            return record
        return tuple(items) if isinstance(record, tuple) else items
    return record

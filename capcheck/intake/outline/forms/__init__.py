"""The forms of outline file, one module a form: a new one needs no other change than its module.

A form that takes more than one module is a folder. Libraries that read a form are imported when a file is read.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from typing import Final

from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.values import InputError

HEAD_BYTES: Final = 64 * 1024
"""How much of a file is looked at to recognise its form."""
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
_loaded: dict[tuple[Path, str | None], Drawing] = {}
"""The drawing that was loaded ahead."""


@cache
def forms() -> tuple[OutlineForm, ...]:
    """Return every form, in the order of the modules' names."""
    return tuple(import_module(f"{__name__}.{module.name}").FORM for module in iter_modules(__path__))


def likeliest_form(head: bytes) -> tuple[OutlineForm, Likeness]:
    """Return the form for which the beginning of a file speaks most, and how much; by content alone."""
    head = head.removeprefix(_BYTE_ORDER_MARK)
    found = [(form, form.likeness(head)) for form in forms()]
    return max(found, key=lambda pair: pair[1])


def read_drawing(path: Path, unit: str | None = None) -> Drawing:
    """Read what the file at *path* draws; *unit* is the user's. Raises :class:`InputError`."""
    if (path, unit) in _loaded:
        return _loaded.pop((path, unit))
    try:
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES)
    except OSError as error:
        raise InputError.at(
            str(path), f"it cannot be opened ({error.strerror})", remedy="check the path of the outline"
        ) from error
    if not head.strip():
        raise InputError.at(str(path), "the file is empty", remedy="export the outline again")
    return likeliest_form(head)[0].read(path, unit)


def load_drawing(path: Path, unit: str | None) -> None:
    """Read a drawing ahead of the next call of :func:`read_drawing`, to which it goes. Raises :class:`InputError`."""
    _loaded.clear()
    _loaded[path, unit] = read_drawing(path, unit)

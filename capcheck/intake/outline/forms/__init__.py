"""The forms of outline file, one module a form: a new one needs no other change than its module.

A form that takes more than one module is a folder. Libraries that read a form are imported when a file is read.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from typing import Final

from capcheck.intake.confined import Reader
from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.values import InputError

HEAD_BYTES: Final = 64 * 1024
"""How much of a file is looked at to recognise its form."""
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"


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
    form = _form_of(path)
    if not form.libraries:
        return form.read(path, unit)
    return _confined(form).read(str(path), unit)


def expect_drawing(path: Path, unit: str | None = None) -> None:
    """Have a drawing read while the caller does other work, as :func:`read_drawing` will be asked for it."""
    try:
        form = _form_of(path)
    except InputError:
        return  # said when it is read
    if form.libraries:
        _confined(form).expect(str(path), unit)


def start_reading(form: OutlineForm) -> None:
    """Have the process start that reads drawings of this form, if they are read in one."""
    if form.libraries:
        _confined(form).start()


def read_by_form(file: str, unit: str | None) -> Drawing:
    """Read a drawing in this process, by the likeliest form: what the reading process calls."""
    return _form_of(Path(file)).read(Path(file), unit)


def _confined(form: OutlineForm) -> Reader[Drawing]:
    remedy = "export the board's outline alone, as DXF"
    return Reader(f"{__name__}:{read_by_form.__name__}", Drawing, remedy, form.libraries)


def _form_of(path: Path) -> OutlineForm:
    try:
        with path.open("rb") as stream:
            head = stream.read(HEAD_BYTES)
    except OSError as error:
        raise InputError.at(
            str(path), f"it cannot be opened ({error.strerror})", remedy="check the path of the outline"
        ) from error
    if not head.strip():
        raise InputError.at(str(path), "the file is empty", remedy="export the outline again")
    return likeliest_form(head)[0]

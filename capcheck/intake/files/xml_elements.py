"""The elements of an XML file, handed on as they begin and end, under limits; expat fetches nothing.

A file that declares a document type is refused: it may declare entities that grow without bound, and none of the forms
that are read needs one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final, Self
from xml.parsers import expat

from capcheck.values import InputError

_LARGEST: Final = 32 * 1024 * 1024
_TRUTHS: Final = {"true": True, "1": True, "yes": True, "false": False, "0": False, "no": False}
"""Truths of XML Schema (true, false, 1, 0), and as people write them."""


class XmlElements:
    """A reader of one file that is told of each element; names come without their name space."""

    remedy: str = "export it again"
    most: Mapping[str, int] = MappingProxyType({})
    """So many elements of a name a file has at most: they are counted before it is read, which takes far longer."""

    @classmethod
    def of(cls, file: str) -> Self:
        """Return what a file holds. Raises :class:`InputError` where it is damaged, too large or of ill will."""
        data = Path(file).read_bytes()
        found = cls(file)
        if len(data) > _LARGEST:
            raise found.error(f"it has {len(data) / 1e6:,.0f} MB", "no board is so long")
        for name, most in cls.most.items():
            if sum(1 for _ in re.finditer(rb"<(?:\w+:)?%b[\s/>]" % name.encode(), data)) > most:
                raise found.error(f"it has more than {most:,} elements {name}", "no board has so many")
        try:
            found.parser.Parse(data, True)
        except expat.ExpatError as error:
            raise found.error(f"it is damaged: {error}", "an XML file is read as a whole") from None
        return found

    def __init__(self, file: str) -> None:
        self.file = file
        self.parser = parser = expat.ParserCreate()
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._finish
        parser.StartDoctypeDeclHandler = self._refuse

    @property
    def line(self) -> int:
        """The line of the element that is told of."""
        return self.parser.CurrentLineNumber

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        """Take the beginning of an element."""
        raise NotImplementedError

    def finish(self, name: str) -> None:
        """Take the end of an element."""

    def error(self, what: str, why: str = "") -> InputError:
        """Return an error of the whole file."""
        return InputError.at(self.file, what, why, self.remedy)

    def _begin(self, tag: str, given: dict[str, str]) -> None:
        self.begin(tag.rpartition(":")[2] if ":" in tag else tag, given)

    def _finish(self, tag: str) -> None:
        self.finish(tag.rpartition(":")[2] if ":" in tag else tag)

    def _refuse(self, *_declared: object) -> None:
        raise self.error("it declares a document type", "no such file needs one")


def truth_of(text: str | None) -> bool | None:
    """Return whether a text says yes or no, however it is written; None where it says neither."""
    return None if text is None else _TRUTHS.get(text.strip().casefold())


def number_of(text: str | None) -> float | None:
    """Return a finite number; None for what is none."""
    try:
        value = float(text) if text is not None else math.nan
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def place_of(given: Mapping[str, str], x: str = "x", y: str = "y") -> tuple[float, float] | None:
    """Return the place that two attributes state; None where one is missing or no number."""
    at = number_of(given.get(x)), number_of(given.get(y))
    return None if at[0] is None or at[1] is None else (at[0], at[1])

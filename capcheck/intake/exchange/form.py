"""Which files state something of the parts, told by their beginning."""

from __future__ import annotations

import enum
from typing import Final

from capcheck.values import pattern


class Form(enum.StrEnum):
    """A form of file that states something of the parts; the value is what reports call it."""

    NETLIST = "IPC-D-356 netlist"
    IDF = "IDF board or library"
    IPC2581 = "IPC-2581 file"
    COMPONENTS = "Gerber component layers (X3)"
    PADS = "copper layers that name pins"
    """Gerber layers of the outer copper whose pads carry the attribute of the pin."""


LISTING: Final = frozenset({Form.IPC2581, Form.COMPONENTS, Form.IDF})
"""The forms of files that place parts themselves."""
NAMING: Final = frozenset({Form.NETLIST, Form.PADS})
"""The forms of files that name all parts and their lands: where nothing else places the parts, these do."""
_NETLIST: Final = pattern(
    rb"(?m)^P +(?:UNITS +(?:CUST|SI)\b|VER +IPC-D-356|JOB\b|CODE +00\b)|^3[12]7.{35}A\d\dX[ +-]?\d"
)
"""A parameter that such files begin with, or the record of a test point."""
_COPPER: Final = pattern(rb"TF\.FileFunction, *Copper, *L\d+, *(?:Top|Bot)\b")
_COMPONENTS: Final = pattern(rb"TF\.FileFunction, *Component, *L\d+, *(?:Top|Bot)\b")
_IDF: Final = pattern(rb"(?im)^\.HEADER\s+(?:BOARD|PANEL|LIBRARY)_FILE\s")
_IPC2581: Final = pattern(rb"<(?:\w+:)?IPC-2581\s")
_ATTRIBUTES: Final = pattern(rb"T(?:O\.P,|A\.AperFunction,)")
"""Pins may stand behind an area that fills the beginning; what pads are for stands before."""
_STARTS: Final = (b"C", b"P ", b"317", b"327")


def form_of(head: bytes) -> Form | None:
    """Return the form of a file by its beginning, None where it states nothing of the parts."""
    start = head.lstrip(b"\xef\xbb\xbf \r\n")
    if start.startswith(_STARTS) and _NETLIST.search(start):
        return Form.NETLIST
    if start.startswith(b"<") and _IPC2581.search(start):
        return Form.IPC2581
    if start[:1] in b".#" and _IDF.search(start):
        return Form.IDF
    if _COMPONENTS.search(head):
        return Form.COMPONENTS
    if _ATTRIBUTES.search(head) and _COPPER.search(head):
        return Form.PADS
    return None

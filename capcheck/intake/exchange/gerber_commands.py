r"""The commands of a Gerber layer, and what is in force at each: unit, place, aperture, attributes, way of drawing.

Attributes may stand in comments that begin with ``#@!``, and characters as ``\u`` with four digits. Source: the Gerber
Layer Format Specification, revision 2021.02 (docslib.org, document 6300648), from memory in its details and held to
files.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from msgspec import Struct, field

from capcheck.intake.exchange.displaced import DISPLACING, refuse_passed_over
from capcheck.intake.files import bytes_within
from capcheck.values import InputError, pattern

REMEDY: Final = "export the layers again, or leave them out with fabrication = false in board.toml"
_MEGABYTES: Final = 24
_MOST_COMMANDS: Final = 600_000
_MM_PER: Final = {"MOMM": 1.0, "MOIN": 25.4, "G71": 1.0, "G70": 25.4}
_FORMAT: Final = pattern(r"FSLAX\d(\d)Y\d(\d)")
_OPERATION: Final = pattern(
    r"(?:G0?([123]))?(?:X([+-]?\d{1,15}))?(?:Y([+-]?\d{1,15}))?(?:I([+-]?\d{1,15}))?(?:J([+-]?\d{1,15}))?(?:D0?([123]))?"
)
_APERTURE: Final = pattern(r"(?:G54)?D(\d{2,})")
_DEFINED: Final = pattern(r"ADD(\d+)")
_REPEATED: Final = pattern(r"SRX(\d{1,4})Y(\d{1,4})I(-?\d{1,6}(?:\.\d{1,9})?)J(-?\d{1,6}(?:\.\d{1,9})?)")
_SIDE: Final = pattern(r"TF\.FileFunction, *\w+, *L\d+, *(Top|Bot)\b")
_ESCAPED: Final = pattern(r"\\u([0-9A-Fa-f]{4})")
_COMMENT: Final = "G04 #@! "
_TURNS: Final = {"1": 0, "2": -1, "3": 1}
_LINEAR: Final = {"G01": 0, "G1": 0, "G02": -1, "G2": -1, "G03": 1, "G3": 1}
_ENDS: Final = frozenset({"M02", "M2", "M00", "M0"})
_ONE: Final = (1, 1, 0.0, 0.0)


class Drawn(Struct):
    """One operation: its code (1 draws, 2 moves, 3 flashes), where it begins and ends and an arc's middle, in steps."""

    code: str
    line: int
    start: tuple[int, int]
    end: tuple[int, int]
    centre: tuple[int, int]


class GerberCommands(Struct):
    """What is in force at a place of a layer; a reader of its own says what it takes of what is drawn."""

    file: str
    side: str = ""
    unit_mm: float | None = None
    decimals: tuple[int, int] | None = None
    said: dict[str, str] = field(default_factory=dict)
    """The attributes of objects by their names without ``TO.``, as they are written."""
    function: str = ""
    """The function that apertures defined now, and areas, have."""
    functions: dict[str, str] = field(default_factory=dict)
    aperture: str = ""
    at: tuple[int, int] = (0, 0)
    code: str = "2"
    turn: int = 0
    """1 where arcs are drawn counter-clockwise, −1 clockwise, 0 where lines are."""
    is_quarter: bool = False
    """Whether the middles of arcs are stated without a sign, as older files do."""
    in_region: bool = False
    steps: tuple[int, int, float, float] = _ONE
    """How often what is drawn is repeated along x and y, and how far apart, in the file's unit."""
    has_ended: bool = False

    def draw(self, drawn: Drawn) -> None:
        """Take an operation."""
        raise NotImplementedError

    def close_region(self, line: int) -> None:
        """Take the end of an area."""

    @property
    def function_now(self) -> str:
        """The function of what is drawn now: that of the aperture, of an area its own."""
        return self.function if self.in_region else self.functions.get(self.aperture, "")

    @property
    def is_stepped(self) -> bool:
        """Whether what is drawn is repeated."""
        return self.steps != _ONE

    def mm(self, at: tuple[float, float]) -> tuple[float, float] | None:
        """Return a place in mm; None where unit or format are not stated."""
        if self.unit_mm is None or self.decimals is None:
            return None
        return (
            round(at[0] * self.unit_mm / 10 ** self.decimals[0], 6),
            round(at[1] * self.unit_mm / 10 ** self.decimals[1], 6),
        )

    def read(self, text: str) -> None:
        """Take all commands of a layer. Raises :class:`InputError` where it has no unit, or breaks off."""
        side = _SIDE.search(text)
        self.side = "top" if side is not None and side[1] == "Top" else "bottom"
        for line, block in _blocks(text):
            self._take(block, line)
            if self.has_ended:
                break
        if self.unit_mm is None or self.decimals is None:
            what, why = "it does not state its unit and format", "where its parts lie is not known"
            raise InputError.at(self.file, what, why, REMEDY)
        if not self.has_ended:
            what = "it breaks off: the command that ends a layer is missing"
            raise InputError.at(self.file, what, "what stood behind is not known", REMEDY)

    def _take(self, block: str, line: int) -> None:
        if block[:1] in _OPERATIONS and (found := _OPERATION.fullmatch(block)) and block not in _LINEAR:
            mode, x, y, i, j, code = found.groups()
            self.turn = _TURNS[mode] if mode else self.turn
            self.code = code or self.code
            start, self.at = self.at, (int(x) if x else self.at[0], int(y) if y else self.at[1])
            self.draw(Drawn(self.code, line, start, self.at, (start[0] + int(i or 0), start[1] + int(j or 0))))
        elif block[:1] in _PLACES:
            what = f'"{block[:40]}" in line {line} cannot be read'
            raise InputError.at(self.file, what, "a place that is not known may be a corner or a pin", REMEDY)
        elif block.startswith("T"):
            self._attribute(block)
        elif block in {"G36", "G37"}:
            if block == "G37":
                self.close_region(line)
            self.in_region = block == "G36"
        elif found := _APERTURE.fullmatch(block):
            self.aperture = found[1]
        elif not self._set(block):
            self.unit_mm = _MM_PER.get(block, self.unit_mm)

    def _set(self, block: str) -> bool:
        """Take what holds for all that follows but the unit; return whether a block is such a command."""
        if block.startswith("ADD") and (found := _DEFINED.match(block)):
            self.functions[found[1]] = self.function
        elif block.startswith("FS"):
            form = _FORMAT.fullmatch(block)
            self.decimals = (int(form[1]), int(form[2])) if form else None
        elif block.startswith("SR"):
            self._repeat(block)
        elif block.startswith("ABD"):
            what = "it draws blocks of apertures"
            raise InputError.at(self.file, what, "what lies in them, and where, is not read", REMEDY)
        elif block in _LINEAR:
            self.turn = _LINEAR[block]
        elif block in {"G74", "G75"}:
            self.is_quarter = block == "G74"
        elif block in _ENDS:
            self.has_ended = True
        else:
            return False
        return True

    def _attribute(self, block: str) -> None:
        name, _, value = block.partition(",")
        if name == "TA.AperFunction":
            self.function = value
        elif name.startswith("TO."):
            self.said[name.removeprefix("TO.")] = value
        elif name == "TD":
            self.said, self.function = {}, ""
        elif name == "TD.AperFunction":
            self.function = ""
        elif name.startswith("TD."):
            self.said.pop(name.removeprefix("TD."), None)

    def _repeat(self, block: str) -> None:
        found = _REPEATED.fullmatch(block)
        if found is None and block != "SR":
            raise InputError.at(self.file, f'"{block[:40]}" cannot be read', "how often parts are repeated", REMEDY)
        self.steps = _ONE if found is None else (int(found[1]), int(found[2]), float(found[3]), float(found[4]))
        self.steps = _ONE if self.steps[:2] == (1, 1) else self.steps


_PLACES: Final = frozenset("XY")
_OPERATIONS: Final = _PLACES | frozenset("DGIJ")


def text_of(file: str) -> str:
    """Return the text of a layer. Raises :class:`InputError` where it is too large, or displaces what it draws."""
    data = bytes_within(file, megabytes=_MEGABYTES, marks=b"*", most=_MOST_COMMANDS, things="commands", remedy=REMEDY)
    refuse_passed_over(file, data, DISPLACING, REMEDY)
    return data.decode("utf-8", "replace")


def _blocks(text: str) -> Iterator[tuple[int, str]]:
    """Yield the commands of a layer with their lines; one in a comment like one that is not."""
    line = 1
    for part in text.split("*"):
        line += part.count("\n")
        block = part.strip("\r\n% ")
        yield line, block.removeprefix(_COMMENT)


def plain(text: str) -> str:
    """Return the text of an attribute, its escaped characters as they are."""
    return _ESCAPED.sub(_letter, text).strip() if "\\" in text else text.strip()


def _letter(found: re.Match[str]) -> str:
    return chr(int(found[1], 16))

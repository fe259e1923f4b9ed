"""A drill program (Excellon, XNC) becomes hits, slots and routed lines in mm.

A header from ``M48`` to ``%`` or ``M95`` names unit, zeros and tools, the body selects tools and hits places. Source:
the XNC format specification, revision 2019.02.16 (scribd.com/document/695563161), of which the list of contents was
read; the rest is from memory, as is what IPC-NC-349 allows beside it. Numbers with a decimal point are values; of the
others the header tells which zeros are left out, or nothing does, and then what fits the board decides.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import Final, Literal

from msgspec import Struct, field

from capcheck.lexicon import fold, vocabulary
from capcheck.values import pattern

Point = tuple[float, float]
Zeros = Literal["leading", "trailing"]
"""Which zeros are written: ``LZ`` keeps the leading ones, so that the number is filled up behind."""

_HEADER: Final = pattern(
    rb"\s*(?:;[^\n]*\n\s*|\([^\n]*\)\s*\n\s*)*(?:M48\b|%\s*(?:;[^\n]*\n\s*)*(?:M\d\d\s*)?T0*[1-9])"
)
_TOOL: Final = pattern(r"T(\d{1,6})((?:[A-Z][-+]?[\d.]+)*)")
_DIAMETER: Final = pattern(r"C([\d.]{1,16})")
_NUMBER: Final = r"[-+]?(?:\d{1,16}(?:\.\d{0,16})?|\.\d{1,16})"
_PLACE: Final = pattern(rf"(?:[XYAIJ]{_NUMBER})+")
_HIT: Final = pattern(rf"X({_NUMBER})Y({_NUMBER})")
"""A hit as nearly all lines of a long program are."""
_WORD: Final = pattern(r"([A-Z])([-+]?[\d.]{0,16})")
_FORMAT: Final = pattern(r"file_format\s*=\s*(\d)\s*:\s*(\d)|format\s*=?\s*\{?\s*(\d)\s*[:.]\s*(\d)")
_DIGITS_OF_FORMAT: Final = pattern(r"(?<!0)(0{1,6})\.(0{1,6})")
_FUNCTION: Final = pattern(r"filefunction\s*,\s*(nonplated|plated)")
_APERTURE: Final = pattern(r"aperfunction\s*,\s*(nonplated|plated)")
_TYPE: Final = pattern(r"type\s*=\s*(non_?plated|plated)")
_MM: Final = {"mm": 1.0, "inch": 25.4}
_USUAL: Final = {"mm": (3, 3), "inch": (2, 4)}
"""Digits before and behind the point where nothing states them."""
_WITHOUT_EFFECT: Final = frozenset(
    {
        *("M00", "M01", "M06", "M08", "M09", "M14", "M30", "M47", "M48", "M95", "M99"),
        *("G04", "G05", "G40", "G41", "G42", "G80", "G81", "G90"),
    }
)
_HEADER_WORDS: Final = ("FMAT", "VER", "ATC", "DETECT", "ICI,OFF", "OM48", "TCST", "AFS", "CCW", "CP", "UP", "DN")
MOST_HOLES: Final = 200_000
_STEP: Final = math.radians(10.0)


class Drilled(Struct, frozen=True, array_like=True, gc=False):
    """A hole, or a slot or routed line through several points, in the file's numbers; *size* is the tool's width."""

    points: tuple[tuple[str, str], ...]
    size: float | None
    plated: bool | None
    unit: str


class Program(Struct):
    """What a drill program says, its numbers as written: how they are meant may hang on the board."""

    drilled: list[Drilled] = field(default_factory=list)
    unit: str | None = None
    zeros: Zeros | None = None
    digits: tuple[int, int] | None = None
    unread: list[str] = field(default_factory=list)
    """Commands that are not understood."""


def begins_as_program(head: bytes) -> bool:
    """Whether a file begins as a drill program does, be it one without a hole."""
    return _HEADER.match(head) is not None


def is_program(head: bytes) -> bool:
    """Whether a file is a drill program with holes or routed lines, by its beginning."""
    return begins_as_program(head) and re.search(rb"(?m)^\s*(?:G8[15]|G0?[0-3])?[XY][-+]?\.?\d", head) is not None


def plating_by_name(name: str) -> bool | None:
    """Return what the name of a file says of the plating of its holes."""
    folded = fold(name)
    if re.search(str(vocabulary().layers.not_plated), folded):
        return False
    return True if re.search(str(vocabulary().layers.plated), folded) else None


def read_program(text: str, plated: bool | None) -> Program:
    """Return what a drill program says; *plated* is what its name says, which its own words override."""
    return _Reader(plated).read(text)


class _Reader:
    """The state of a drilling machine while it reads a program."""

    def __init__(self, plated: bool | None) -> None:
        self.program = Program()
        self.tools: dict[int, tuple[float | None, bool | None]] = {}
        self.tool: int | None = None
        self.plated = plated
        self.header = True
        self.at: tuple[str, str] = ("0", "0")
        self.routing = False
        self.route: list[tuple[str, str]] | None = None

    def read(self, text: str) -> Program:
        hits = _HIT.fullmatch
        for raw in text.splitlines():
            if not self.routing and self.route is None and (hit := hits(raw)):
                self.at = hit[1], hit[2]
                self._add((self.at,))
                continue
            line, _, comment = raw.partition(";")
            if comment:
                self._comment(fold(comment))
            line = re.sub(r"\([^)]*\)", "", line).strip().upper()
            if line and not self._declared(line):
                self._command(line)
            if len(self.program.drilled) > MOST_HOLES:
                break
        self._lift()
        if len(self.program.drilled) > MOST_HOLES:
            self.program.unread.append("…")
        return self.program

    def _comment(self, text: str) -> None:
        if found := _FUNCTION.search(text) or _APERTURE.search(text) or _TYPE.search(text):
            self.plated = not found[1].startswith("non")
        if found := _FORMAT.search(text):
            whole, behind = (found[1], found[2]) if found[1] else (found[3], found[4])
            self.program.digits = int(whole), int(behind)

    def _declared(self, line: str) -> bool:
        """Take a line of the header, or one that sets something up; whether it was one."""
        program = self.program
        if line in {"%", "M95"}:
            self.header = False
        elif line in {"M71", "M72"} or line.startswith(("METRIC", "INCH")):
            program.unit = "inch" if line == "M72" or line.startswith("INCH") else "mm"
            if ",LZ" in line or ",TZ" in line:
                program.zeros = "leading" if ",LZ" in line else "trailing"
            if digits := _DIGITS_OF_FORMAT.search(line):
                program.digits = len(digits[1]), len(digits[2])
        elif line.startswith("T"):
            self._tool(line)
        elif line in _WITHOUT_EFFECT or line.startswith(_HEADER_WORDS) or re.fullmatch(r"[SF]\d+", line):
            self.routing = self.routing and line != "G05"
        elif line.startswith("G93"):
            if any(_value(value) != 0.0 for _, value in _WORD.findall(line[3:]) if value.strip("+-.")):
                program.unread.append(line)
        else:
            return False
        return True

    def _tool(self, line: str) -> None:
        found = _TOOL.match(line)
        if found is None:
            self.program.unread.append(line)
            return
        behind = re.search("[XY]", line)
        if behind is not None:
            line, hit = line[: behind.start()], line[behind.start() :]
            self._tool(line)
            self._command(hit)
            return
        number = int(found[1])
        size = _DIAMETER.search(found[2])
        if size is not None:
            self.tools[number] = (_value(size[1]), self.plated)
        elif self.header:
            self.tools.setdefault(number, (None, self.plated))
        if not self.header or size is None:
            self.tool = number or None

    def _command(self, line: str) -> None:
        program = self.program
        if line in {"M15", "M16", "M17"}:
            self._lift()
            self.route = [self.at] if line == "M15" else None
            return
        first, _, second = line.partition("G85")
        code = re.match(r"(?:G0?[0-3](?!\d)|R\d{1,5}(?=[XY])|G85)?", first)
        word = code[0] if code else ""
        rest = first[len(word) :]
        if not _PLACE.fullmatch(rest) or (second and not _PLACE.fullmatch(second)):
            if not rest and word in {"G00", "G0", "G01", "G1"}:
                self.routing = True
            else:
                program.unread.append(line)
            return
        values = dict(_WORD.findall(rest))
        if word.startswith("R"):
            self._repeated(int(word[1:]), values)
            return
        start = self.at
        self.at = values.get("X", self.at[0]), values.get("Y", self.at[1])
        if word in {"G00", "G0"}:
            self.routing = True
        elif word:
            self._routed(word, start, values)
        elif second:
            end = dict(_WORD.findall(second))
            begin, self.at = self.at, (end.get("X", self.at[0]), end.get("Y", self.at[1]))
            self._add((begin, self.at))
        elif self.route is not None:
            self.route.append(self.at)
        elif not self.routing:
            self._add((self.at,))

    def _repeated(self, times: int, values: dict[str, str]) -> None:
        """Add hits at equal steps from the last one; only numbers with a point can be added up as they stand."""
        steps = values.get("X", "0."), values.get("Y", "0.")
        numbers = [*steps, *self.at]
        if times > MOST_HOLES or any("." not in n and n.strip("+-0") for n in numbers):
            self.program.unread.append(f"R{times}")
            return
        for _ in range(times):
            x, y = ((_value(at) or 0.0) + (_value(step) or 0.0) for at, step in zip(self.at, steps, strict=True))
            self.at = f"{x:.6f}", f"{y:.6f}"
            self._add((self.at,))

    def _routed(self, word: str, start: tuple[str, str], values: dict[str, str]) -> None:
        if self.route is None:
            self.program.unread.append(word)
            return
        if word[-1] in "23":
            arc = _arc_through(start, self.at, values, clockwise=word[-1] == "2")
            if arc is None:
                self.program.unread.append(word)
                return
            self.route += arc
        self.route.append(self.at)

    def _lift(self) -> None:
        """End a routed line."""
        route, self.route = self.route, None
        if route is not None and len(route) > 1:
            self._add(tuple(route))

    def _add(self, points: tuple[tuple[str, str], ...]) -> None:
        size, plated = self.tools.get(self.tool or 0, (None, self.plated))
        self.program.drilled.append(Drilled(points, size, plated, self.program.unit or ""))


def _value(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _arc_through(
    start: tuple[str, str], end: tuple[str, str], values: dict[str, str], *, clockwise: bool
) -> list[tuple[str, str]] | None:
    """Return points on an arc given by its radius or by its centre; None where its numbers have no point."""
    written = (*start, *end, *(values[k] for k in "AIJ" if k in values))
    if any("." not in number and number.strip("+-0") for number in written):
        return None
    begin, last = (complex(*(_value(n) or 0.0 for n in point)) for point in (start, end))
    if "A" in values:
        radius, chord = _value(values["A"]) or 0.0, abs(last - begin)
        if not 0.0 < chord <= 2.0 * radius * 1.001:
            return None
        depth = math.sqrt(max(radius * radius - chord * chord / 4.0, 0.0))
        centre = (begin + last) / 2.0 + (last - begin) / chord * depth * (-1j if clockwise else 1j)
    else:
        centre = begin + complex(_value(values.get("I", "0.")) or 0.0, _value(values.get("J", "0.")) or 0.0)
    from_, to = (math.atan2((p - centre).imag, (p - centre).real) for p in (begin, last))
    sweep = -((from_ - to) % math.tau) if clockwise else (to - from_) % math.tau
    sweep = sweep or (-math.tau if clockwise else math.tau)
    count = max(2, math.ceil(abs(sweep) / _STEP))
    spots = [
        centre + abs(begin - centre) * complex(math.cos(from_ + sweep * k / count), math.sin(from_ + sweep * k / count))
        for k in range(1, count)
    ]
    return [(f"{p.real:.6f}", f"{p.imag:.6f}") for p in spots]


class Way(Struct, frozen=True):
    """One way to read the numbers of a program: its unit, which zeros are written, digits before and behind."""

    unit: str
    zeros: Zeros
    digits: tuple[int, int]

    def number(self, text: str) -> float:
        """Return the value of a written number in mm."""
        if "." in text:
            return float(text) * _MM[self.unit]
        sign = -1.0 if text.startswith("-") else 1.0
        bare = text.lstrip("+-")
        if self.zeros == "leading":
            bare = bare.ljust(sum(self.digits), "0")
            value = float(bare[: self.digits[0]] + "." + bare[self.digits[0] :])
        else:
            value = float(bare or "0") / 10 ** self.digits[1]
        return sign * value * _MM[self.unit]


def ways_of_drills(program: Program) -> Sequence[Way]:
    """Return the ways to read the numbers of a program, the likelier ones first; one where it states everything."""
    units = [program.unit] if program.unit else ["mm", "inch"]
    plain = all("." in n or not n.strip("+-0") for d in program.drilled for point in d.points for n in point)
    zeros: list[Zeros] = [program.zeros] if program.zeros else ["trailing"] if plain else ["trailing", "leading"]
    found = [
        Way(unit, kept, digits) for unit in units for kept in zeros for digits in _digits(program, unit, plain=plain)
    ]
    return list(dict.fromkeys(found))


def _digits(program: Program, unit: str, *, plain: bool) -> Iterator[tuple[int, int]]:
    yield program.digits or _USUAL[unit]
    if program.digits is None and not plain:
        yield from ((3, 2), (4, 2), (4, 4)) if unit == "mm" else ((2, 3), (3, 3), (2, 5))


def points_of_drills(drilled: Sequence[Drilled], way: Way) -> list[list[Point]]:
    """Return the points of each hole or line in mm; a number that is written often is read once."""
    value = {text: way.number(text) for text in {text for one in drilled for point in one.points for text in point}}
    return [[(value[x], value[y]) for x, y in one.points] for one in drilled]

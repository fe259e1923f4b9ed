"""Which step of an IPC-2581 file is what is built, and where the steps that it repeats lie in it.

A Step is a board or a panel. A StepRepeat puts a step into another one: its Datum to x and y, turned by angle
counter-clockwise, nx by ny times with dx and dy between. Content names by StepRef the steps that a file is about.
Source: the elements of the standard as public files and their tests have them; their meaning from memory.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files.xml_elements import number_of, place_of, truth_of

_MOST: Final = 5_000
"""Boards of a panel."""
Point = tuple[float, float]


def turned(at: Point, angle_deg: float) -> Point:
    """Return a point turned about the origin, counter-clockwise."""
    if not angle_deg:
        return at
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return at[0] * cos - at[1] * sin, at[0] * sin + at[1] * cos


class StepPlaced(Struct, frozen=True):
    """A step where it lies in the whole: turned about the origin, then moved, in the file's unit."""

    step: str
    turned_deg: float = 0.0
    move: Point = (0.0, 0.0)

    def seen(self, at: Point) -> Point:
        """Return where a point of the step lies in the whole."""
        x, y = turned(at, self.turned_deg)
        return x + self.move[0], y + self.move[1]


class _Repeat(Struct, frozen=True):
    step: str
    at: Point
    times: tuple[int, int]
    apart: Point
    turned_deg: float


class BoardSteps(Struct):
    """The steps read so far, and what each repeats; *problem* says what of it cannot be read."""

    names: list[str] = field(default_factory=list)
    problem: str = ""
    _about: set[str] = field(default_factory=set)
    _datum: dict[str, Point | None] = field(default_factory=dict)
    """The datum of each step; None where it cannot be read, or several differ."""
    _repeats: dict[str, list[_Repeat]] = field(default_factory=dict)

    def take(self, name: str, given: Mapping[str, str]) -> bool:
        """Take the beginning of an element; return whether it was about steps."""
        if name == "Step":
            self.names.append(given.get("name", ""))
        elif name == "StepRef":
            self._about.add(given.get("name", ""))
        elif name == "Datum" and self.names:
            read = place_of(given)
            known = self._datum.setdefault(self.names[-1], read)
            if known != read:
                self._datum[self.names[-1]] = None
        elif name == "StepRepeat" and self.names:
            self._repeat(given)
        else:
            return False
        return True

    def _repeat(self, given: Mapping[str, str]) -> None:
        at, apart = place_of(given), place_of({"dx": "0", "dy": "0", **given}, "dx", "dy")
        times = place_of({"nx": "1", "ny": "1", **given}, "nx", "ny")
        turned = number_of(given.get("angle", "0"))
        mirrored = truth_of(given.get("mirror", "false"))
        if at is None or apart is None or times is None or turned is None or mirrored is None or min(times) < 1:
            self.problem = "it repeats a board in a way that cannot be read"
        elif mirrored:
            self.problem = "it repeats a board turned over"
        else:
            known = self._repeats.setdefault(self.names[-1], [])
            known.append(_Repeat(given.get("stepRef", ""), at, (int(times[0]), int(times[1])), apart, turned))

    def whole(self, filled: Collection[str]) -> str | None:
        """Return the step that is built of those *filled* with parts, or that repeat one; None where it is open."""
        repeated = {one.step for of_step in self._repeats.values() for one in of_step}
        for name in sorted(repeated.difference(self.names)):
            self.problem = self.problem or f'it repeats the step "{name}", which it does not hold'
        tops = [name for name in dict.fromkeys(self.names) if name not in repeated and self._holds(name, filled, ())]
        named = [name for name in tops if name in self._about]
        return tops[0] if len(tops) == 1 else named[0] if len(named) == 1 else None

    def _holds(self, step: str, filled: Collection[str], above: tuple[str, ...]) -> bool:
        if step in above:
            return False
        return step in filled or any(
            self._holds(one.step, filled, (*above, step)) for one in self._repeats.get(step, ())
        )

    def placed(self, whole: str) -> list[StepPlaced]:
        """Return each step where it lies in the whole, itself first.

        Raises :class:`ValueError` where there are too many, or where one lies is not said: a datum counts by where the
        step lies as a whole, and taken for the origin it would move all of its parts.
        """
        found: list[StepPlaced] = []
        for one in self._within(StepPlaced(whole), ()):
            found.append(one)
            if len(found) > _MOST:
                raise ValueError(f"it repeats boards more than {_MOST:,} times")
        return found

    def _within(self, outer: StepPlaced, above: tuple[str, ...]) -> Iterator[StepPlaced]:
        if outer.step in above:
            raise ValueError("a step of it repeats itself")
        yield outer
        for one in self._repeats.get(outer.step, ()):
            datum = self._datum.get(one.step)
            if datum is None:
                how = "has no datum that can be read" if one.step in self._datum else "has no datum"
                raise ValueError(f'the step "{one.step}", which it repeats, {how}')
            x, y = turned(datum, one.turned_deg)
            for k in range(one.times[0] * one.times[1]):
                column, row = k % one.times[0], k // one.times[0]
                at = one.at[0] + column * one.apart[0] - x, one.at[1] + row * one.apart[1] - y
                inner = StepPlaced(one.step, (outer.turned_deg + one.turned_deg) % 360.0, outer.seen(at))
                yield from self._within(inner, (*above, outer.step))

"""What became otherwise from one check of a board to the next: verdicts, readings, parts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Seen, data_in
from capcheck.desk.areas.lines import Lines, OfLine
from capcheck.desk.areas.picture import DrawnPart, Picture

_MOST_PARTS: Final = 30
_MOVED_MM: Final = 0.05
"""What is closer lies where it lay: coordinates are rounded."""
_NOTHING: Final = "nothing to infer"


class LineChanged(Struct, frozen=True):
    """A line's verdict and parts proved, before and after; *same* where neither changed."""

    line: str
    was: str
    now: str

    @property
    def same(self) -> bool:
        """Whether nothing changed."""
        return self.was == self.now


class PartChanged(Struct, frozen=True):
    """A part's outcome on the line that suits the board best, before and after."""

    ref: str
    was: str
    now: str


class Changed(Struct, frozen=True):
    """All that changed: readings as topic, before, after; *more* counts the parts that are not listed."""

    readings: tuple[tuple[str, str, str], ...]
    lines: tuple[LineChanged, ...]
    parts: tuple[PartChanged, ...]
    more: int

    def __bool__(self) -> bool:
        """Whether anything changed."""
        return bool(self.readings or self.parts or any(not line.same for line in self.lines))


def changed_since(seen: Seen, was: Mapping[str, str], now: Mapping[str, str]) -> Changed | None:
    """Return what the check that is shown changed against the one before; None before there is one to compare with.

    *was* and *now* are the readings of the two, by topic.
    """
    lines = [data_in(folder, "lines", Lines) for folder in (seen.before, seen.folder)]
    old, new = (data_in(folder, "picture", Picture) for folder in (seen.before, seen.folder))
    if lines[0] is None or lines[1] is None or old is None or new is None:
        return None
    told = lines_changed(lines[0], lines[1])
    parts = list(_parts_changed(old, new))
    readings = tuple(
        (topic, was.get(topic, _NOTHING), now.get(topic, _NOTHING))
        for topic in {**was, **now}
        if was.get(topic) != now.get(topic)
    )
    found = Changed(readings, told, tuple(islice(parts, _MOST_PARTS)), max(0, len(parts) - _MOST_PARTS))
    return found or None


def _parts_changed(old: Picture, new: Picture) -> Iterator[PartChanged]:
    """Yield the parts that came or left, lie elsewhere, or come out otherwise on the line that suits the board best."""
    was, now = ({part.ref: part for part in picture.parts} for picture in (old, new))
    for ref in {**now, **was}:
        before, after = was.get(ref), now.get(ref)
        if before is None or after is None:
            words = ["not there" if part is None else "there" for part in (before, after)]
            yield PartChanged(ref, words[0], words[1])
        elif (outcomes := (before.on(old.best), after.on(new.best)))[0] != outcomes[1]:
            yield PartChanged(ref, *outcomes)
        elif before.side != after.side or _moved(before.at, after.at):
            yield PartChanged(ref, _place(before), _place(after))


def _moved(was: tuple[float, float] | None, now: tuple[float, float] | None) -> bool:
    return was != now if was is None or now is None else math.dist(was, now) > _MOVED_MM


def _place(part: DrawnPart) -> str:
    return f"{part.side}, no place" if part.at is None else f"{part.side} at {part.at[0]:.2f}, {part.at[1]:.2f} mm"


def lines_changed(was: Lines | None, now: Lines | None) -> tuple[LineChanged, ...]:
    """Return each line of *now* with its verdict in both; nothing where either is not known."""
    if was is None or now is None:
        return ()
    first = {line.line: _told(line) for line in was.lines}
    return tuple(LineChanged(line.line, first.get(line.line, ""), _told(line)) for line in now.lines)


def _told(line: OfLine) -> str:
    slots = f", {line.slots} feeder slots" if line.slots else ""
    return f"{line.builds}{' in a panel' if line.panel else ''}, {line.proved} of {line.parts} parts proved{slots}"

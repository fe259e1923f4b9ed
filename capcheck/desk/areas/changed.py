"""What became otherwise from one check of a board to the next: verdicts, readings, parts."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Seen, data_in
from capcheck.desk.areas.lines import Lines, OfLine
from capcheck.desk.areas.picture import Picture

_MOST_PARTS: Final = 30


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
    outcomes = [{part.ref: part.on(picture.best) for part in picture.parts} for picture in (old, new)]
    parts = [
        PartChanged(ref, outcomes[0].get(ref, "not there"), outcomes[1].get(ref, "not there"))
        for ref in {**outcomes[1], **outcomes[0]}
        if outcomes[0].get(ref) != outcomes[1].get(ref)
    ]
    readings = tuple(
        (topic, was.get(topic, "as stated, or none"), now.get(topic, "as stated, or none"))
        for topic in {**was, **now}
        if was.get(topic) != now.get(topic)
    )
    found = Changed(readings, told, tuple(islice(parts, _MOST_PARTS)), max(0, len(parts) - _MOST_PARTS))
    return found or None


def lines_changed(was: Lines | None, now: Lines | None) -> tuple[LineChanged, ...]:
    """Return each line of *now* with its verdict in both; nothing where either is not known."""
    if was is None or now is None:
        return ()
    first = {line.line: _told(line) for line in was.lines}
    return tuple(LineChanged(line.line, first.get(line.line, ""), _told(line)) for line in now.lines)


def _told(line: OfLine) -> str:
    slots = f", {line.slots} feeder slots" if line.slots else ""
    return f"{line.builds}{' in a panel' if line.panel else ''}, {line.proved} of {line.parts} parts proved{slots}"

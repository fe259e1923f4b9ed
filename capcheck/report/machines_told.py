"""What profiles say of machines beside what rules ask: options that the line has on them, a note, and their sheet."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from capcheck.machines import Line


class MachineTold(Struct, frozen=True):
    """A machine by its name, the options that the line has on it, its note, and the rows of its sheet."""

    name: str
    options: tuple[str, ...]
    note: str
    sheet: tuple[tuple[str, str], ...]

    @property
    def called(self) -> str:
        """The name with the options."""
        return f"{self.name}, with {' and '.join(self.options)}" if self.options else self.name


def machines_told(line: Line | None) -> Iterator[MachineTold]:
    """Yield the machines of a line whose profiles say something beside limits and times."""
    for machine in line.machines if line is not None else ():
        options = line.options_of(machine.name) if line is not None else ()
        if options or machine.note or machine.sheet:
            rows = tuple((name, _in_words(value)) for name, value in machine.sheet.items())
            yield MachineTold(machine.name, options, machine.note, rows)


def _in_words(value: str | float | bool | tuple[str | float, ...]) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(_in_words, value))
    return value if isinstance(value, str) else f"{value:g}"

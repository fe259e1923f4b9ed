"""What a check needs beside the board: rules, line, libraries, an earlier report; read once for many boards."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.checking.read import Libraries
from capcheck.engine import Rule, choose
from capcheck.machines import Line, line_of_machines, read_line
from capcheck.model import InputFile
from capcheck.shop import GivenAnswer, Settings, all_rules, refuse_unknown

if TYPE_CHECKING:
    from capcheck.shop import Known


class Prepared(Struct, frozen=True):
    """All that a check needs beside the board, read once for as many boards as there are."""

    settings: Settings
    devices: Line | None
    rules: Sequence[Rule]
    libraries: Libraries
    baseline: Sequence[Known] | None = None
    inputs: Sequence[InputFile] = ()
    answers: Sequence[GivenAnswer] = ()
    """What customers answer in this run, beside what the shop keeps of theirs."""
    by_layers: dict[tuple[object, ...], Prepared] = field(default_factory=dict)
    """What was prepared for boards of the run that are settled otherwise, by the layers that hold for them."""

    def of_board(self, path: str | Path) -> Prepared:
        """Return what a board of the run needs, by the layers of the configuration that are its own.

        Raises :class:`~capcheck.values.InputError`.
        """
        settings = self.settings.of_board(path)
        if settings.layers == self.settings.layers:
            return self
        if settings.layers not in self.by_layers:
            devices = self.devices if settings.line == self.settings.line else devices_of(settings)
            self.by_layers[settings.layers] = replace(prepare(settings, devices), baseline=self.baseline)
        return self.by_layers[settings.layers]

    def told_of(self, path: Path) -> Hashable:
        """Return what the shop says of the board in *path* by its place or its name, beside what its files do."""
        settings = self.settings.of_board(path)
        by_name = settings.libraries or settings.store is not None or settings.answers is not None or self.answers
        return settings.layers, path.name if by_name else ""


def prepare(
    settings: Settings,
    devices: Line | None,
    *,
    baseline: str | Path | None = None,
    every: Sequence[Rule] | None = None,
    answers: Sequence[GivenAnswer] = (),
) -> Prepared:
    """Return rules, earlier report and libraries of the settings; a library is read when the first board needs it.

    *every* are all rules, where they were read before; *answers* are given in this run.
    """
    every = all_rules(settings.choice) if every is None else every
    rules = choose(every, settings.choice.select, settings.choice.ignore)
    refuse_unknown(settings.waivers, settings.configuration, [rule.id for rule in every])
    old = None
    if baseline is not None:
        from capcheck.shop import read_report

        old = read_report(baseline)
    return Prepared(settings, devices, rules, libraries_of(settings), old, _inputs(settings), answers)


def libraries_of(settings: Settings) -> Libraries:
    """Return the shop's libraries and its store, ready to be asked."""
    return Libraries(settings.libraries, settings.store, settings.customer, settings.prefer)


def devices_of(settings: Settings, machines: Sequence[str | Path] = ()) -> Line | None:
    """Return the line of the settings, or the machines named. Raises :class:`~capcheck.values.InputError`."""
    return line_or_machines(settings.line, machines)


def line_or_machines(line: Path | None, machines: Sequence[str | Path]) -> Line | None:
    """Return the line of a file, else one of the machines named, else None."""
    if line is not None:
        return read_line(line)
    return line_of_machines([Path(m) for m in machines]) if machines else None


def _inputs(settings: Settings) -> list[InputFile]:
    """Return the shop's files with their hashes; what ships is of the program's version, a board.toml of the board."""
    import hashlib

    files = [(path, role) for path, role in settings.files() if role != "board"]
    return [InputFile(str(path), role, hashlib.sha256(path.read_bytes()).hexdigest()) for path, role in files]

"""The commands: for each its arguments, and the function that calls the public interface. Light to import."""

from __future__ import annotations

from importlib import import_module
from typing import Final

from capcheck.commands.command import Command
from capcheck.commands.output import (
    refuse_outputs as refuse_outputs,
    refuse_without_library as refuse_without_library,
    settle_format as settle_format,
)
from capcheck.commands.watch import run_at_each_change as run_at_each_change

_HOMES: Final = {
    "check": "check_and_read",
    "read": "check_and_read",
    "boards": "boards",
    "answers": "answers",
    "part": "part",
    "library": "library",
    "plan": "plan_and_compare",
    "compare": "plan_and_compare",
    "survey": "survey",
    "needs": "needs",
    "lists": "lists",
    "diff": "diff",
    "rules": "rules_and_facts",
    "facts": "rules_and_facts",
    "explain": "rules_and_facts",
    "test": "rules_and_facts",
    "docs": "docs",
    "desk": "desk",
    "trust": "trust",
    "init": "init_and_schema",
    "schema": "init_and_schema",
    "completion": "completion",
}
"""The module of each command, in the order of the help."""


def commands(chosen: str | None = None) -> tuple[Command, ...]:
    """Return the command *chosen*, importing no other's module; all of them where it is none."""
    homes = [_HOMES[chosen]] if chosen in _HOMES else dict.fromkeys(_HOMES.values())
    found: list[Command] = [c for home in homes for c in import_module(f"{__name__}.{home}").COMMANDS]
    return tuple(command for command in found if chosen not in _HOMES or command.name == chosen)

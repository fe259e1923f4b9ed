"""The commands: for each its arguments, and the function that calls the public interface. Light to import."""

from __future__ import annotations

from typing import Final

from capcheck.commands import catalogue, checking, parts, planning, revisions, setting_up
from capcheck.commands.command import Command

COMMANDS: Final[tuple[Command, ...]] = (
    *checking.COMMANDS,
    *parts.COMMANDS,
    *planning.COMMANDS,
    *revisions.COMMANDS,
    *catalogue.COMMANDS,
    *setting_up.COMMANDS,
)

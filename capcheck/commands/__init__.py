"""The commands: for each its arguments, and the function that calls the public interface. Light to import."""

from __future__ import annotations

from typing import Final

from capcheck.commands import check_and_read, diff, init_and_schema, part, plan_and_compare, rules_and_facts, trust
from capcheck.commands.command import Command
from capcheck.commands.output import refuse_outputs as refuse_outputs

COMMANDS: Final[tuple[Command, ...]] = (
    *check_and_read.COMMANDS,
    *part.COMMANDS,
    *plan_and_compare.COMMANDS,
    *diff.COMMANDS,
    *rules_and_facts.COMMANDS,
    *trust.COMMANDS,
    *init_and_schema.COMMANDS,
)

"""Whether a line of placement machines can build a board: pass, warn or fail, with the reasons.

The public interface: :func:`check`, :func:`check_board`, :func:`read_board`, :func:`read_line`, :func:`read_machine`,
:func:`load_rules`, and the types of what they return. Importing the package loads none of it; each name is imported
when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from capcheck.board import read_board
    from capcheck.checking import Choice, check, check_board
    from capcheck.engine.collect import load_rules
    from capcheck.engine.finding import Finding
    from capcheck.engine.rule import Rule
    from capcheck.errors import InputError, Problem, Where
    from capcheck.facts import FACTS
    from capcheck.facts.catalogue import Catalogue, Fact
    from capcheck.machines.line import Line, read_line, read_machine
    from capcheck.machines.profile import MachineProfile
    from capcheck.model import Board
    from capcheck.report.model import ExitCode, Report

__version__: Final = "0.1.0"

_HOME: Final = {
    "FACTS": "capcheck.facts",
    "Board": "capcheck.model",
    "Catalogue": "capcheck.facts.catalogue",
    "Choice": "capcheck.checking",
    "ExitCode": "capcheck.report.model",
    "Fact": "capcheck.facts.catalogue",
    "Finding": "capcheck.engine.finding",
    "InputError": "capcheck.errors",
    "Line": "capcheck.machines.line",
    "MachineProfile": "capcheck.machines.profile",
    "Problem": "capcheck.errors",
    "Report": "capcheck.report.model",
    "Rule": "capcheck.engine.rule",
    "Where": "capcheck.errors",
    "check": "capcheck.checking",
    "check_board": "capcheck.checking",
    "load_rules": "capcheck.engine.collect",
    "read_board": "capcheck.board",
    "read_line": "capcheck.machines.line",
    "read_machine": "capcheck.machines.line",
}

__all__ = [
    "FACTS",
    "Board",
    "Catalogue",
    "Choice",
    "ExitCode",
    "Fact",
    "Finding",
    "InputError",
    "Line",
    "MachineProfile",
    "Problem",
    "Report",
    "Rule",
    "Where",
    "check",
    "check_board",
    "load_rules",
    "read_board",
    "read_line",
    "read_machine",
]


def __getattr__(name: str) -> Any:  # noqa: ANN401  whatever the name stands for
    """Import a public name when it is first used (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    # The module "capcheck.checking" would otherwise hide the function of the same name once it is imported.
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value

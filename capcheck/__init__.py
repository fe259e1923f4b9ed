"""Whether a line of placement machines can build a board: pass, warn or fail, with the reasons.

The public interface: :func:`check`, :func:`check_board`, :func:`read_board`, :func:`read_line`, :func:`read_machine`,
:func:`load_rules`, :func:`read_configuration`, and the types of what they return. Rules and facts in Python are made
with :func:`rule`, :func:`example`, :func:`at_most` and the others, on the columns :class:`Numbers`, :class:`Truths`,
:class:`Texts` and :class:`Sets`; units are in :mod:`capcheck.units`. Importing the package loads none of it; each name
is imported when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from capcheck.board import read_board
    from capcheck.checking import check, check_board
    from capcheck.configuration import Configuration, read_configuration
    from capcheck.engine.collect import load_rules
    from capcheck.engine.finding import Finding
    from capcheck.engine.python_rules import all_of, any_of, at_least, at_most, example, rule
    from capcheck.engine.rule import Rule
    from capcheck.errors import InputError, Problem, Where
    from capcheck.facts import FACTS
    from capcheck.facts.catalogue import Catalogue, Fact
    from capcheck.facts.columns import Numbers, Sets, Texts, Truths
    from capcheck.machines.line import Line, read_line, read_machine
    from capcheck.machines.profile import MachineProfile
    from capcheck.model import Board
    from capcheck.planning_api import compare, plan
    from capcheck.report.model import ExitCode, Report
    from capcheck.settings import Choice

__version__: Final = "0.1.0"

_HOME: Final = {
    "FACTS": "capcheck.facts",
    "Board": "capcheck.model",
    "Catalogue": "capcheck.facts.catalogue",
    "Choice": "capcheck.settings",
    "Configuration": "capcheck.configuration",
    "ExitCode": "capcheck.report.model",
    "Fact": "capcheck.facts.catalogue",
    "Finding": "capcheck.engine.finding",
    "InputError": "capcheck.errors",
    "Line": "capcheck.machines.line",
    "MachineProfile": "capcheck.machines.profile",
    "Numbers": "capcheck.facts.columns",
    "Problem": "capcheck.errors",
    "Report": "capcheck.report.model",
    "Rule": "capcheck.engine.rule",
    "Sets": "capcheck.facts.columns",
    "Texts": "capcheck.facts.columns",
    "Truths": "capcheck.facts.columns",
    "Where": "capcheck.errors",
    "all_of": "capcheck.engine.python_rules",
    "any_of": "capcheck.engine.python_rules",
    "at_least": "capcheck.engine.python_rules",
    "at_most": "capcheck.engine.python_rules",
    "check": "capcheck.checking",
    "compare": "capcheck.planning_api",
    "plan": "capcheck.planning_api",
    "check_board": "capcheck.checking",
    "example": "capcheck.engine.python_rules",
    "load_rules": "capcheck.engine.collect",
    "read_board": "capcheck.board",
    "read_configuration": "capcheck.configuration",
    "read_line": "capcheck.machines.line",
    "read_machine": "capcheck.machines.line",
    "rule": "capcheck.engine.python_rules",
}

__all__ = [
    "FACTS",
    "Board",
    "Catalogue",
    "Choice",
    "Configuration",
    "ExitCode",
    "Fact",
    "Finding",
    "InputError",
    "Line",
    "MachineProfile",
    "Numbers",
    "Problem",
    "Report",
    "Rule",
    "Sets",
    "Texts",
    "Truths",
    "Where",
    "all_of",
    "any_of",
    "at_least",
    "at_most",
    "check",
    "check_board",
    "compare",
    "example",
    "load_rules",
    "plan",
    "read_board",
    "read_configuration",
    "read_line",
    "read_machine",
    "rule",
]


def __getattr__(name: str) -> Any:  # noqa: ANN401  whatever the name stands for
    """Import a public name when it is first used (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    # The module "capcheck.checking" would otherwise hide the function of the same name once it is imported.
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value

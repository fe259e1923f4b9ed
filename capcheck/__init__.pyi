from .checking import (
    ExitCode as ExitCode,
    read_board as read_board,
)
from .engine import (
    Finding as Finding,
    Rule as Rule,
    all_of as all_of,
    any_of as any_of,
    at_least as at_least,
    at_most as at_most,
    example as example,
    load_rules as load_rules,
    rule as rule,
)
from .facts import (
    FACTS as FACTS,
    Catalogue as Catalogue,
    Fact as Fact,
    Numbers as Numbers,
    Sets as Sets,
    Texts as Texts,
    Truths as Truths,
)
from .machines import (
    Line as Line,
    MachineProfile as MachineProfile,
    read_line as read_line,
    read_machine as read_machine,
)
from .model import Board as Board
from .planning import compare as compare, plan as plan
from .report import Report as Report, check as check, check_board as check_board
from .shop import (
    Choice as Choice,
    Configuration as Configuration,
    read_configuration as read_configuration,
    rules_that_ship as rules_that_ship,
)
from .values import InputError as InputError, Place as Place, Problem as Problem

__version__: str

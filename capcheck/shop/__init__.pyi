from .answered import (
    ANSWER_COLUMNS as ANSWER_COLUMNS,
    GivenAnswer as GivenAnswer,
    answered_of as answered_of,
    answers_as_text as answers_as_text,
    answers_given as answers_given,
    read_answers as read_answers,
)
from .baseline import (
    SCHEMA as SCHEMA,
    Difference as Difference,
    Known as Known,
    compared as compared,
    difference as difference,
    identities as identities,
    known_in as known_in,
    known_of as known_of,
    outcome_word as outcome_word,
    read_report as read_report,
    renamed as renamed,
    report_data as report_data,
)
from .configuration import (
    Configuration as Configuration,
    NotObeyed as NotObeyed,
    read_configuration as read_configuration,
)
from .configuration_file import ConfigurationFile as ConfigurationFile, Keeper as Keeper
from .costs import Costs as Costs, within as within
from .in_force import configuration_of as configuration_of
from .permission import python_of as python_of
from .schemas import DRAFT as DRAFT, schema_name as schema_name, schema_of_file as schema_of_file
from .settings import (
    COMMAND_LINE as COMMAND_LINE,
    Choice as Choice,
    Settings as Settings,
    all_rules as all_rules,
    chosen_rules as chosen_rules,
    named_line as named_line,
    rules_that_ship as rules_that_ship,
    settle as settle,
)
from .settings_shown import shown as shown
from .starting_files import demo as demo, templates as templates
from .trust import (
    as_text as as_text,
    hash_of as hash_of,
    read_trusted as read_trusted,
    trust_list as trust_list,
)
from .waivers import EXPIRED as EXPIRED, UNUSED as UNUSED, refuse_unknown as refuse_unknown, waived as waived

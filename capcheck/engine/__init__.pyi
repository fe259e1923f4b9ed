from .can_place import Take as Take, TypeTakers as TypeTakers, takers as takers
from .collect import (
    catalogue_of as catalogue_of,
    choose as choose,
    is_python as is_python,
    load_rules as load_rules,
    rule_files as rule_files,
    rule_files_there as rule_files_there,
    rules_made as rules_made,
    table_files as table_files,
)
from .evaluate import Answers as Answers, answer as answer
from .examples import as_written as as_written, faults_of as faults_of, run_examples as run_examples
from .findings import (
    FactValue as FactValue,
    Finding as Finding,
    Margin as Margin,
    SubjectName as SubjectName,
    Tightest as Tightest,
    Waiting as Waiting,
)
from .guidelines import Guideline as Guideline, all_guidelines as all_guidelines, shipped_rules as shipped_rules
from .kept_off import kept_off_by_one as kept_off_by_one
from .limit_tables import LimitTable as LimitTable
from .limits import Limit as Limit
from .named_lengths import lengths_named as lengths_named, with_derived as with_derived
from .nodes import Comparison as Comparison, Constant as Constant, NumberFact as NumberFact, walk as walk
from .python_rules import (
    ENDING as ENDING,
    PythonRule as PythonRule,
    all_of as all_of,
    any_of as any_of,
    at_least as at_least,
    at_most as at_most,
    example as example,
    rule as rule,
)
from .rule_entries import Level as Level, entry_schema as entry_schema
from .rules import Rule as Rule
from .subjects import SUBJECTS as SUBJECTS, Subject as Subject
from .truth import Counts as Counts
from .waiting import adopted as adopted, folded as folded, needed as needed

from .customer_questions import (
    GROUPS as GROUPS,
    Outlook as Outlook,
    Question as Question,
    Row as Row,
    outlook_of_questions as outlook_of_questions,
    questions as questions,
    questions_asked as questions_asked,
)
from .list_of_questions import (
    TABLE_COLUMNS as TABLE_COLUMNS,
    boxes_of as boxes_of,
    questions_table as questions_table,
    row_in_words as row_in_words,
    table_of as table_of,
)
from .question_types import type_of_rule as type_of_rule

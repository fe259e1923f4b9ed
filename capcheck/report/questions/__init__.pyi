from .customer_questions import (
    GROUPS as GROUPS,
    Outlook as Outlook,
    Question as Question,
    outlook_of_questions as outlook_of_questions,
    questions as questions,
    questions_asked as questions_asked,
    questions_by_key as questions_by_key,
)
from .list_of_questions import (
    DATA_SHEET as DATA_SHEET,
    FILLED_IN as FILLED_IN,
    ListedRow as ListedRow,
    boxes_of as boxes_of,
    columns_of as columns_of,
    listed_rows as listed_rows,
    questions_table as questions_table,
    row_in_words as row_in_words,
    table_of as table_of,
)
from .part_rows import Row as Row
from .question_types import FIGURES as FIGURES, type_of_rule as type_of_rule

from .customer_questions import (
    TITLES as TITLES,
    Question as Question,
    questions as questions,
    questions_table as questions_table,
)

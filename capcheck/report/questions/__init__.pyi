from .asked import TITLES as TITLES, questions as questions, questions_table as questions_table

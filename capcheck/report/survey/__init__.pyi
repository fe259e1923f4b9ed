from .needs_as_data import (
    needs_csv as needs_csv,
    needs_json as needs_json,
    needs_parquet as needs_parquet,
    needs_xlsx as needs_xlsx,
)
from .needs_in_words import (
    SHARES as SHARES,
    Needs as Needs,
    because as because,
    cover_in_words as cover_in_words,
    feeding_notes as feeding_notes,
    feeding_rows as feeding_rows,
    headline_of_needs as headline_of_needs,
    needs_text as needs_text,
    notes_of_left as notes_of_left,
    open_by_limit as open_by_limit,
    shares_of as shares_of,
)
from .obstacles_in_words import (
    ObstacleView as ObstacleView,
    case_in_words as case_in_words,
    obstacle_views as obstacle_views,
    why_unread as why_unread,
)
from .survey_as_data import (
    survey_csv as survey_csv,
    survey_json as survey_json,
    survey_parquet as survey_parquet,
    survey_xlsx as survey_xlsx,
)
from .survey_as_text import (
    brief_survey as brief_survey,
    cells_of as cells_of,
    headline as headline,
    survey_text as survey_text,
)

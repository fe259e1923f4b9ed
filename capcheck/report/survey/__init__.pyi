from .obstacles_in_words import ObstacleView as ObstacleView, obstacle_views as obstacle_views
from .survey_as_data import (
    survey_csv as survey_csv,
    survey_json as survey_json,
    survey_parquet as survey_parquet,
    survey_xlsx as survey_xlsx,
)
from .survey_as_text import cells_of as cells_of, headline as headline, survey_text as survey_text

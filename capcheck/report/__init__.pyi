from .board_as_read import styled_reading as styled_reading
from .explain import (
    explain_fact as explain_fact,
    explain_rule as explain_rule,
    explained as explained,
    fact_json as fact_json,
    names_explained as names_explained,
    rule_json as rule_json,
)
from .formats import (
    ENDINGS as ENDINGS,
    ONE_AFTER_ANOTHER as ONE_AFTER_ANOTHER,
    format_names as format_names,
    load_format as load_format,
    pieces_of as pieces_of,
)
from .json_encoding import json_spelled as json_spelled, json_text as json_text
from .json_schema import report_schema as report_schema
from .languages import customers_languages as customers_languages
from .libraries import require_library as require_library
from .lists import (
    list_csv as list_csv,
    list_json as list_json,
    list_page as list_page,
    list_text as list_text,
)
from .page import environment_of as environment_of, html_report as html_report
from .papers import (
    Quote as Quote,
    comparison_page as comparison_page,
    comparison_xlsx as comparison_xlsx,
    composed_page as composed_page,
    composed_xlsx as composed_xlsx,
    hand_page as hand_page,
    needs_page as needs_page,
    pdf_of as pdf_of,
    plan_page as plan_page,
    plan_xlsx as plan_xlsx,
    quote_page as quote_page,
    quote_text as quote_text,
    quotes as quotes,
    set_up_page as set_up_page,
    survey_page as survey_page,
)
from .parts_table import parts_csv as parts_csv
from .picture import PICTURE_STYLE as PICTURE_STYLE, board_svg as board_svg, report_svg as report_svg
from .plan import (
    brief_comparison as brief_comparison,
    brief_composed as brief_composed,
    brief_plan as brief_plan,
    comparison_json as comparison_json,
    comparison_schema as comparison_schema,
    comparison_text as comparison_text,
    composed_json as composed_json,
    composed_so_far as composed_so_far,
    composed_text as composed_text,
    hand_lines as hand_lines,
    hand_list as hand_list,
    line_so_far as line_so_far,
    plan_json as plan_json,
    plan_schema as plan_schema,
    plan_text as plan_text,
    set_up_list as set_up_list,
)
from .questions import (
    DATA_SHEET as DATA_SHEET,
    FIGURES as FIGURES,
    FILLED_IN as FILLED_IN,
    Question as Question,
    Row as Row,
    questions_asked as questions_asked,
    questions_by_key as questions_by_key,
)
from .reference import (
    reference_as_html as reference_as_html,
    reference_as_markdown as reference_as_markdown,
    reference_pages as reference_pages,
)
from .report_as_text import (
    lines_of_boards as lines_of_boards,
    styled_heads as styled_heads,
    styled_report as styled_report,
)
from .report_in_python import Report as Report, check as check, check_board as check_board
from .report_json import known_json as known_json, read_json as read_json
from .revisions import (
    DIFFERENCE_STYLES as DIFFERENCE_STYLES,
    brief_difference as brief_difference,
    difference_json as difference_json,
    difference_markdown as difference_markdown,
    difference_page as difference_page,
    difference_schema as difference_schema,
    difference_sections as difference_sections,
    difference_svg as difference_svg,
    headline_of_difference as headline_of_difference,
    styled_difference as styled_difference,
)
from .rows_of_gaps import lacking_on as lacking_on
from .sentences import (
    count_line as count_line,
    line_of_finding as line_of_finding,
    unanswered as unanswered,
    without_folders as without_folders,
)
from .spreadsheet_cells import csv_text as csv_text
from .styled_lines import WIDTH_WHEN_PIPED as WIDTH_WHEN_PIPED, Line as Line, plain as plain, wrapped as wrapped
from .survey import (
    Needs as Needs,
    brief_survey as brief_survey,
    case_in_words as case_in_words,
    cells_of as cells_of,
    cover_in_words as cover_in_words,
    needs_csv as needs_csv,
    needs_json as needs_json,
    needs_parquet as needs_parquet,
    needs_text as needs_text,
    needs_xlsx as needs_xlsx,
    shares_of as shares_of,
    survey_csv as survey_csv,
    survey_json as survey_json,
    survey_parquet as survey_parquet,
    survey_text as survey_text,
    survey_xlsx as survey_xlsx,
)
from .witness_table import witness_lines as witness_lines

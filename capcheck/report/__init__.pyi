from .catalogue import (
    explain_fact as explain_fact,
    explain_rule as explain_rule,
    fact_json as fact_json,
    rule_json as rule_json,
)
from .characters import visible as visible
from .formats import (
    WIDTH_WHEN_PIPED as WIDTH_WHEN_PIPED,
    Line as Line,
    dumps as dumps,
    line_of_finding as line_of_finding,
    parts_csv as parts_csv,
    read_json as read_json,
    render as render,
)
from .json_schema import report_schema as report_schema
from .page import html_report as html_report
from .picture import board_svg as board_svg
from .plan import (
    comparison_text as comparison_text,
    comparison_to_json as comparison_to_json,
    composed_text as composed_text,
    composed_to_json as composed_to_json,
    hand_lines as hand_lines,
    hand_list as hand_list,
    plan_text as plan_text,
    set_up_list as set_up_list,
    to_json as to_json,
)
from .read_text import render_reading as render_reading

from .comparison_as_text import (
    best_line as best_line,
    brief_comparison as brief_comparison,
    brief_composed as brief_composed,
    carried as carried,
    comparison_text as comparison_text,
    composed_so_far as composed_so_far,
    composed_text as composed_text,
    cost_of_board as cost_of_board,
    left_over as left_over,
    line_so_far as line_so_far,
    nowhere_lines as nowhere_lines,
    search_lines as search_lines,
    within as within,
)
from .costs_and_work import (
    NAMES as NAMES,
    bottleneck_lines as bottleneck_lines,
    break_even_lines as break_even_lines,
    cost_besides as cost_besides,
    cost_head as cost_head,
    cost_lines as cost_lines,
    kind_of_feeder as kind_of_feeder,
    money as money,
    owned_lines as owned_lines,
    refill_lines as refill_lines,
    sum_of_term as sum_of_term,
)
from .plan_as_json import comparison_json as comparison_json, composed_json as composed_json, plan_json as plan_json
from .plan_as_text import (
    brief_plan as brief_plan,
    change_lines as change_lines,
    plan_text as plan_text,
    sum_lines as sum_lines,
)
from .rows_of_boards import BoardRow as BoardRow, board_rows as board_rows, finite as finite, table_of as table_of
from .schema_of_plan import comparison_schema as comparison_schema, plan_schema as plan_schema
from .set_up_lists import (
    HAND_COLUMNS as HAND_COLUMNS,
    HandRow as HandRow,
    hand_list as hand_list,
    hand_rows as hand_rows,
    references as references,
    set_up_list as set_up_list,
    set_up_rows as set_up_rows,
    slot_text as slot_text,
)
from .spans import (
    bench_lines as bench_lines,
    count as count,
    ends as ends,
    hand_lines as hand_lines,
    numbered as numbered,
    order_lines as order_lines,
    reasons as reasons,
    refill_sum as refill_sum,
    span as span,
    two_lane_lines as two_lane_lines,
    two_line_lines as two_line_lines,
    why_by_kind as why_by_kind,
    why_lines as why_lines,
)
from .summary import (
    cycle as cycle,
    set_by as set_by,
    slots as slots,
    tray_places as tray_places,
    verdict_sentence as verdict_sentence,
)

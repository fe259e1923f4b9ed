from .comparison_as_text import comparison_text as comparison_text, composed_text as composed_text
from .plan_as_json import comparison_json as comparison_json, composed_json as composed_json, plan_json as plan_json
from .plan_as_text import plan_text as plan_text
from .set_up_lists import hand_list as hand_list, set_up_list as set_up_list, slot_text as slot_text
from .spans import (
    count as count,
    ends as ends,
    hand_lines as hand_lines,
    numbered as numbered,
    why_lines as why_lines,
)

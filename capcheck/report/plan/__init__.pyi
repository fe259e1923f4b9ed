from .as_json import comparison_to_json as comparison_to_json, composed_to_json as composed_to_json, to_json as to_json
from .compare_text import comparison_text as comparison_text, composed_text as composed_text
from .set_up_lists import hand_list as hand_list, set_up_list as set_up_list, slot_text as slot_text
from .text import plan_text as plan_text
from .words import (
    count as count,
    ends as ends,
    hand_lines as hand_lines,
    numbered as numbered,
    why_lines as why_lines,
)

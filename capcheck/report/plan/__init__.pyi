from .as_json import comparison_to_json as comparison_to_json, composed_to_json as composed_to_json, to_json as to_json
from .compare_text import comparison_text as comparison_text, composed_text as composed_text
from .text import plan_text as plan_text
from .words import count as count, ends as ends, numbered as numbered

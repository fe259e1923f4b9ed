from .causes import headline_of_difference as headline_of_difference
from .difference_as_json import difference_json as difference_json, difference_schema as difference_schema
from .difference_as_markdown import difference_markdown as difference_markdown
from .difference_as_text import brief_difference as brief_difference, styled_difference as styled_difference
from .page import (
    DIFFERENCE_STYLES as DIFFERENCE_STYLES,
    difference_page as difference_page,
    difference_sections as difference_sections,
    difference_svg as difference_svg,
)

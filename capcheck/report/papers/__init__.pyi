from .needs_sheet import needs_page as needs_page
from .plan_workbook import (
    comparison_xlsx as comparison_xlsx,
    composed_xlsx as composed_xlsx,
    plan_xlsx as plan_xlsx,
)
from .printed import pdf_of as pdf_of, require_pdf as require_pdf
from .quote import Quote as Quote, quote_text as quote_text, quotes as quotes
from .sheets import (
    comparison_page as comparison_page,
    composed_page as composed_page,
    hand_page as hand_page,
    page_of as page_of,
    plan_page as plan_page,
    quote_page as quote_page,
    set_up_page as set_up_page,
)
from .survey_sheet import survey_page as survey_page

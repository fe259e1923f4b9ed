"""Lists that people act on, as text, CSV, data and pages."""

from capcheck.report.lists.list_as_data import list_csv as list_csv, list_json as list_json
from capcheck.report.lists.list_as_page import list_page as list_page
from capcheck.report.lists.list_as_text import list_text as list_text

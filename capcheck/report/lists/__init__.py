"""Lists that people act on, as text, CSV and data."""

from capcheck.report.lists.list_as_data import list_csv as list_csv, list_json as list_json
from capcheck.report.lists.list_as_text import list_text as list_text

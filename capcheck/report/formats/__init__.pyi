from .csv import parts_csv as parts_csv
from .json import dumps as dumps, read_json as read_json
from .lines import line_of_finding as line_of_finding
from .text import WIDTH_WHEN_PIPED as WIDTH_WHEN_PIPED, Line as Line, render as render, wrapped as wrapped

from .delimited import read_text as read_text
from .encoding import decode as decode
from .grid import Grid as Grid, Middle as Middle
from .html_table import read_html as read_html
from .packed import PackedColumn as PackedColumn, pack_around as pack_around
from .ragged import (
    TornCells as TornCells,
    decimal_commas as decimal_commas,
    long_rows as long_rows,
    mended_rows as mended_rows,
    parts_numbers as parts_numbers,
    short_rows as short_rows,
)
from .spreadsheet import read_spreadsheet as read_spreadsheet
from .spreadsheet_xml import read_spreadsheet_xml as read_spreadsheet_xml

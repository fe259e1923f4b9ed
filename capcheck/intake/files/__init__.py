"""Bytes to cells: text in every encoding, spreadsheets, HTML; each cell keeps its row of the file.

Where a cell ends in a text without markup depends on what makes a table of it, which :mod:`capcheck.intake.tables`
knows: to it a text is handed on as it is, and it asks here for the cells by one delimiter or another.
"""

from capcheck.intake.files.delimited import (
    DELIMITERS as DELIMITERS,
    Rows as Rows,
    may_need_mending as may_need_mending,
    mend_quotes as mend_quotes,
    read_delimited as read_delimited,
    without_outer_quotes as without_outer_quotes,
)
from capcheck.intake.files.encoding import Decoded as Decoded
from capcheck.intake.files.form import open_file as open_file
from capcheck.intake.files.grid import BLANK_RUN as BLANK_RUN, Grid as Grid, without_blank_runs as without_blank_runs

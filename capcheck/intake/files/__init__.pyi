from .board_steps import BoardSteps as BoardSteps, StepPlaced as StepPlaced, turned as turned
from .delimited import (
    DELIMITERS as DELIMITERS,
    Rows as Rows,
    may_need_mending as may_need_mending,
    mend_quotes as mend_quotes,
    read_delimited as read_delimited,
    without_outer_quotes as without_outer_quotes,
)
from .encoding import Decoded as Decoded, names_as_text as names_as_text
from .ended import layer_has_ended as layer_has_ended, program_has_ended as program_has_ended
from .filled_rows import tables_of_file as tables_of_file, text_of_file as text_of_file
from .form import (
    TooLargeError as TooLargeError,
    expect_cells as expect_cells,
    expect_file as expect_file,
    open_file as open_file,
)
from .grid import BLANK_RUN as BLANK_RUN, Grid as Grid, without_blank_runs as without_blank_runs
from .named_below import as_named as as_named, files_below as files_below
from .own_files import leads_inside as leads_inside, refuse_outside as refuse_outside
from .within_budget import bytes_within as bytes_within, lines_within_budget as lines_within_budget
from .xml_elements import (
    XmlElements as XmlElements,
    number_of as number_of,
    place_of as place_of,
    truth_of as truth_of,
)

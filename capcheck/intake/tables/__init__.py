"""Cells to named columns: headers, column roles, cells read strictly as numbers, references and words."""

from capcheck.intake.tables.about_all import speaks_of_all as speaks_of_all, speaks_of_panel as speaks_of_panel
from capcheck.intake.tables.about_data import is_about_data as is_about_data, title_in_doubt as title_in_doubt
from capcheck.intake.tables.cells import (
    CellError as CellError,
    ambiguous_cells as ambiguous_cells,
    read_measure as read_measure,
    read_numbers as read_numbers,
)
from capcheck.intake.tables.columns import Columns as Columns, Purpose as Purpose
from capcheck.intake.tables.conditional import (
    remarks_asked as remarks_asked,
    words_beside_what_it_is as words_beside_what_it_is,
)
from capcheck.intake.tables.content import (
    TURNED as TURNED,
    is_mounting as is_mounting,
    is_reference_list as is_reference_list,
)
from capcheck.intake.tables.dimensions import (
    DimensionColumns as DimensionColumns,
    figures_of_rows as figures_of_rows,
    heights_in_remarks as heights_in_remarks,
    names_of_sizes as names_of_sizes,
    read_dimensions as read_dimensions,
)
from capcheck.intake.tables.file_tables import read_tables as read_tables
from capcheck.intake.tables.fitted import (
    FittedColumn as FittedColumn,
    ambiguous_nc as ambiguous_nc,
    by_words as by_words,
    choose_variant as choose_variant,
    is_not_fitted_title as is_not_fitted_title,
    not_fitted_words as not_fitted_words,
    read_fitted as read_fitted,
    says_not_fitted as says_not_fitted,
    words_say_not_fitted as words_say_not_fitted,
)
from capcheck.intake.tables.fitting_remarks import (
    is_turned as is_turned,
    list_is_not_fitted as list_is_not_fitted,
    remarks_in as remarks_in,
    sheet_is_not_fitted as sheet_is_not_fitted,
    sheet_may_be_off as sheet_may_be_off,
)
from capcheck.intake.tables.further_numbers import (
    number_taken as number_taken,
    other_numbers as other_numbers,
    without_marks as without_marks,
)
from capcheck.intake.tables.grouping import Coded as Coded, code as code, code_stems as code_stems, group as group
from capcheck.intake.tables.header_units import refuse_units as refuse_units
from capcheck.intake.tables.header_words import Role as Role, read_title as read_title
from capcheck.intake.tables.named_parts import (
    REFERENCE as REFERENCE,
    begins_as_reference as begins_as_reference,
    parts_named as parts_named,
    references_in as references_in,
)
from capcheck.intake.tables.open_rows import (
    footnotes_asked as footnotes_asked,
    nothing_counted as nothing_counted,
    rows_asked as rows_asked,
    rows_by_hand as rows_by_hand,
)
from capcheck.intake.tables.provided_rows import rows_provided as rows_provided
from capcheck.intake.tables.recognised import Recognised as Recognised
from capcheck.intake.tables.references import (
    expand_each as expand_each,
    expand_references as expand_references,
    prefix_of as prefix_of,
    without_footnotes as without_footnotes,
)
from capcheck.intake.tables.remarks import listed_count as listed_count
from capcheck.intake.tables.revision_names import (
    names_a_revision as names_a_revision,
    newer as newer,
    newest as newest,
    plain_revision as plain_revision,
    revisions_in as revisions_in,
    versions_in as versions_in,
    without_revision as without_revision,
)
from capcheck.intake.tables.sides import (
    against_names as against_names,
    against_titles as against_titles,
    code_column as code_column,
    read_mirror_labels as read_mirror_labels,
    read_side_labels as read_side_labels,
    side_from_names as side_from_names,
    sides_by_folders as sides_by_folders,
    sides_by_pair as sides_by_pair,
    sides_by_titles as sides_by_titles,
)
from capcheck.intake.tables.size_cell import may_name_body as may_name_body, states_size as states_size
from capcheck.intake.tables.stated_units import (
    StatedUnit as StatedUnit,
    in_metres as in_metres,
    other_unit as other_unit,
    stated_unit as stated_unit,
    unit_in_line as unit_in_line,
)
from capcheck.intake.tables.table import Table as Table
from capcheck.intake.tables.told_sides import sides_told as sides_told

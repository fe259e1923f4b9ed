"""What the files of a board say differently: placements against BOM, values, part numbers, revisions."""

from capcheck.intake.compare.against_bom import (
    FittedByBoth as FittedByBoth,
    Joined as Joined,
    fitted_by_both as fitted_by_both,
    fitted_or_not as fitted_or_not,
    join as join,
    reconcile as reconcile,
    settled_as_fitted as settled_as_fitted,
    spelled_as_placed as spelled_as_placed,
)
from capcheck.intake.compare.blocking_questions import (
    left_out as left_out,
    missing_places as missing_places,
    open_questions as open_questions,
    part_or_not as part_or_not,
    told_of_data as told_of_data,
)
from capcheck.intake.compare.component_values import different_values as different_values, magnitude as magnitude
from capcheck.intake.compare.file_revisions import (
    begins_provisional as begins_provisional,
    dates_apart as dates_apart,
    different_revisions as different_revisions,
    provisional as provisional,
)
from capcheck.intake.compare.listed_rows import doubts_about_rows as doubts_about_rows
from capcheck.intake.compare.no_value import values_without_figure as values_without_figure
from capcheck.intake.compare.one_of_two import choices_of_two as choices_of_two
from capcheck.intake.compare.one_spot import same_spot as same_spot
from capcheck.intake.compare.part_numbers import compare_types as compare_types
from capcheck.intake.compare.second_list import elsewhere as elsewhere, places_of as places_of
from capcheck.intake.compare.two_lists import settle_lists as settle_lists
from capcheck.intake.compare.two_numbers import (
    different_numbers as different_numbers,
    numbered_by as numbered_by,
)
from capcheck.intake.compare.two_sides import different_angles as different_angles, different_sides as different_sides

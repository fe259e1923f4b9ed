"""Names that tell a body: size codes, land patterns, package outlines, devices, free text."""

from capcheck.packages.names.arrays import read_array as read_array
from capcheck.packages.names.chip_codes import (
    AgreedSystem as AgreedSystem,
    read_size_codes as read_size_codes,
    resistor_height as resistor_height,
)
from capcheck.packages.names.connectors import (
    Connector as Connector,
    connector_bounds as connector_bounds,
    connector_in as connector_in,
    contacts_named as contacts_named,
    has_rows_of_leads as has_rows_of_leads,
    read_connector as read_connector,
)
from capcheck.packages.names.free_text import read_dimensions as read_dimensions
from capcheck.packages.names.grid_arrays import read_grid_array as read_grid_array
from capcheck.packages.names.held_parts import (
    holds_another as holds_another,
    of_itself as of_itself,
    own_words as own_words,
)
from capcheck.packages.names.land_patterns import read_land_pattern as read_land_pattern
from capcheck.packages.names.least_bodies import read_least_body as read_least_body
from capcheck.packages.names.mounting import (
    joints_said as joints_said,
    mountings_said as mountings_said,
    opposed as opposed,
    says_no_part as says_no_part,
    says_surface as says_surface,
    speaks_of_itself as speaks_of_itself,
)
from capcheck.packages.names.named_bodies import names_body as names_body
from capcheck.packages.names.named_sizes import read_named as read_named, read_tantalum as read_tantalum
from capcheck.packages.names.outlines import (
    UNDER_THE_BODY as UNDER_THE_BODY,
    offers_packages as offers_packages,
    read_package_name as read_package_name,
    words as words,
)
from capcheck.packages.names.part_classes import (
    PartClass as PartClass,
    class_named as class_named,
    class_names as class_names,
    part_classes as part_classes,
    read_class as read_class,
)
from capcheck.packages.names.part_kind import (
    KIND_BY_PREFIX as KIND_BY_PREFIX,
    NO_CHIP as NO_CHIP,
    chip_family as chip_family,
    kind_among as kind_among,
    kind_of as kind_of,
    stated_kind as stated_kind,
)
from capcheck.packages.names.part_numbers import alternates as alternates, read_part_numbers as read_part_numbers
from capcheck.packages.names.silent_texts import (
    is_silent as is_silent,
    names_no_body as names_no_body,
    part_number_is_silent as part_number_is_silent,
)
from capcheck.packages.names.size_code_mentions import find_codes as find_codes, plainly_named as plainly_named
from capcheck.packages.names.terminations import no_balls as no_balls
from capcheck.packages.names.usual_names import family_names as family_names, name_meant as name_meant
from capcheck.packages.names.written_sizes import USUAL_PITCHES_MM as USUAL_PITCHES_MM

"""Numbers within bounds, quantities with units, references and errors: what every other room counts and speaks in."""

from capcheck.values.collector import collector_at_rest as collector_at_rest
from capcheck.values.control_characters import (
    cut as cut,
    in_toml as in_toml,
    inert_lines as inert_lines,
    visible as visible,
    visible_lines as visible_lines,
)
from capcheck.values.counts import counted as counted, few as few
from capcheck.values.errors import (
    TRACEBACK as TRACEBACK,
    InputError as InputError,
    Place as Place,
    Problem as Problem,
    Problems as Problems,
    UnreadableError as UnreadableError,
    nearest as nearest,
    reading as reading,
    unforeseen as unforeseen,
)
from capcheck.values.formulas import (
    as_written as as_written,
    harmless as harmless,
    is_formula_like as is_formula_like,
)
from capcheck.values.interval import (
    UNKNOWN as UNKNOWN,
    UNKNOWN_SIZE as UNKNOWN_SIZE,
    Interval as Interval,
    product as product,
    quotient as quotient,
    total as total,
)
from capcheck.values.own_tables import own_table as own_table
from capcheck.values.patterns import pattern as pattern
from capcheck.values.phases import Phase as Phase, at_phase as at_phase, phases_heard_by as phases_heard_by
from capcheck.values.plain_files import refuse_special as refuse_special
from capcheck.values.refs import (
    first_circuit as first_circuit,
    in_ranges as in_ranges,
    number_of as number_of,
    refs_of_subject as refs_of_subject,
    shortened as shortened,
)
from capcheck.values.toml import (
    line_of as line_of,
    lines_of_items as lines_of_items,
    load_toml as load_toml,
    problems_in_code as problems_in_code,
    problems_of as problems_of,
    read_text as read_text,
    validate as validate,
)
from capcheck.values.units import (
    ANGLE as ANGLE,
    AREA as AREA,
    AREAL_MASS as AREAL_MASS,
    COMMON_UNITS as COMMON_UNITS,
    DIMENSIONS as DIMENSIONS,
    FORCE as FORCE,
    LENGTH as LENGTH,
    MASS as MASS,
    NUMBER as NUMBER,
    OUTPUT_PER_AREA as OUTPUT_PER_AREA,
    RATE as RATE,
    Acceleration as Acceleration,
    Angle as Angle,
    Density as Density,
    Dimension as Dimension,
    Exponents as Exponents,
    Force as Force,
    Length as Length,
    Mass as Mass,
    Number as Number,
    PositiveLength as PositiveLength,
    PositiveMass as PositiveMass,
    PositiveTime as PositiveTime,
    Quantity as Quantity,
    Rate as Rate,
    SignedLength as SignedLength,
    Speed as Speed,
    Time as Time,
    UnitError as UnitError,
    as_shown as as_shown,
    dimension_of as dimension_of,
    lengths_shown_in as lengths_shown_in,
    read_any_quantity as read_any_quantity,
    read_quantity as read_quantity,
    schema_of_any_quantity as schema_of_any_quantity,
    schema_of_quantity as schema_of_quantity,
    show as show,
    show_number as show_number,
    show_sides as show_sides,
    shown_unit as shown_unit,
    signed as signed,
)

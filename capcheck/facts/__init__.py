"""What rules may ask for, and who provides it: :data:`FACTS` is the catalogue, filled by one module a scope."""

from capcheck.facts.board import longer_and_shorter as longer_and_shorter
from capcheck.facts.catalogue import (
    SCOPES as SCOPES,
    Catalogue as Catalogue,
    Fact as Fact,
    FactError as FactError,
    Session as Session,
    UnknownFactError as UnknownFactError,
    UsualNames as UsualNames,
    fact_of_parameter as fact_of_parameter,
    is_after_heads as is_after_heads,
)
from capcheck.facts.columns import (
    Column as Column,
    Numbers as Numbers,
    Sets as Sets,
    Texts as Texts,
    Truths as Truths,
    expected as expected,
)
from capcheck.facts.feeder import bodies_by_label as bodies_by_label
from capcheck.facts.fiducial import (
    certain_marks as certain_marks,
    marks_listed as marks_listed,
    marks_of as marks_of,
    stated_marks as stated_marks,
)
from capcheck.facts.lands import asks_for_lands as asks_for_lands, asks_for_marks as asks_for_marks
from capcheck.facts.members import members_beyond as members_beyond, sure_members as sure_members
from capcheck.facts.pair import OPEN_GAPS as OPEN_GAPS, not_compared as not_compared
from capcheck.facts.panel import steps_of as steps_of
from capcheck.facts.panel_proposal import panel_to_order as panel_to_order
from capcheck.facts.part import part_label as part_label
from capcheck.facts.part_as_stated import columns_not_there as columns_not_there, titles_of_bom as titles_of_bom
from capcheck.facts.picking import names_of as names_of
from capcheck.facts.place import (
    contour_doubted as contour_doubted,
    doubt as doubt,
    doubted_by as doubted_by,
    may_be_inserted as may_be_inserted,
    with_leads_through_holes as with_leads_through_holes,
)
from capcheck.facts.python_files import (
    approve as approve,
    row_of as row_of,
    run_file as run_file,
    shop_catalogue as shop_catalogue,
)
from capcheck.facts.standard import FACTS as FACTS
from capcheck.facts.transport import (
    each_way as each_way,
    takes_one_way as takes_one_way,
    travel_notes as travel_notes,
    travels as travels,
)

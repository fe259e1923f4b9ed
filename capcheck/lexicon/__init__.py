"""Words as data: the sentences that reports make, and what customers' files call things, one file a language."""

from capcheck.lexicon.axes import (
    AXES as AXES,
    SIDE_OF_LETTER as SIDE_OF_LETTER,
    TIMES as TIMES,
    axes_of as axes_of,
    sides_named as sides_named,
)
from capcheck.lexicon.catalogue import (
    Catalogue as Catalogue,
    customers_catalogue as customers_catalogue,
    customers_language as customers_language,
    template_fields as template_fields,
)
from capcheck.lexicon.caution import cautions as cautions
from capcheck.lexicon.fact_names import plain_fact as plain_fact
from capcheck.lexicon.heights import (
    WrittenHeight as WrittenHeight,
    height_in_words as height_in_words,
    heights_in_words as heights_in_words,
    heights_overall as heights_overall,
    may_state_height as may_state_height,
)
from capcheck.lexicon.layer_names import layer_by_name as layer_by_name
from capcheck.lexicon.named import is_named as is_named
from capcheck.lexicon.references import (
    Nothing as Nothing,
    reference_letters as reference_letters,
    usual_letters as usual_letters,
)
from capcheck.lexicon.sorts import (
    Concept as Concept,
    Lists as Lists,
    vocabulary as vocabulary,
)
from capcheck.lexicon.tolerances import above_by as above_by, tolerance_at as tolerance_at
from capcheck.lexicon.unit_table import (
    mm_per as mm_per,
    unit_in_title as unit_in_title,
    unit_named as unit_named,
    unit_words as unit_words,
    units as units,
)
from capcheck.lexicon.wording import (
    in_short as in_short,
    sentence as sentence,
    sentence_of_decision as sentence_of_decision,
)
from capcheck.lexicon.words import (
    DIGITS_ALIKE as DIGITS_ALIKE,
    Words as Words,
    fold as fold,
    is_ideographic as is_ideographic,
    numbered as numbered,
    shape as shape,
    unaccented as unaccented,
)

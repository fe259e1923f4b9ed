from .by_content import sorted_by_content as sorted_by_content
from .layer_set import LayerSet as LayerSet, lay_onto as lay_onto, layers_of as layers_of
from .marks import marks_of_layers as marks_of_layers
from .onto_bodies import (
    lands_of_types as lands_of_types,
    settled_by_lands as settled_by_lands,
    with_lands as with_lands,
)
from .part_lands import lands_of_board as lands_of_board
from .paste import Pasted as Pasted, Stencil as Stencil, stencil_of as stencil_of
from .places_by_lands import settle_places as settle_places
from .registration import Spots as Spots, register as register
from .tooling import tooling_holes as tooling_holes

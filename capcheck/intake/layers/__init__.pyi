from .around import Windows as Windows, drawn_around as drawn_around
from .openings import (
    expect_layer as expect_layer,
    expect_layers as expect_layers,
    layers_by_kind as layers_by_kind,
    read_layer as read_layer,
)
from .role import is_gerber as is_gerber, layer_of as layer_of, named_layer as named_layer
from .time_allowed import time_of_a_board as time_of_a_board

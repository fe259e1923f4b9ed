from .openings import Openings as Openings, expect_layer as expect_layer, read_layer as read_layer
from .role import LayerFile as LayerFile, LayerKind as LayerKind, layer_of as layer_of, named_layer as named_layer

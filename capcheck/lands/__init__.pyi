from .layer_set import LayerSet as LayerSet, layers_of as layers_of
from .registration import Registered as Registered, register as register

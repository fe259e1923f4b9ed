"""Two revisions of a board compared: what of the data changed, whatever form they come in."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

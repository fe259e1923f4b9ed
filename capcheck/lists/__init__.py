"""Lists that people act on, from a board's data: what to order, nozzles, pin 1, handling, test points."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

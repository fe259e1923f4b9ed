"""The assignment of parts to heads: mixed-integer programs, bounds, a plan without a solver."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""From all that the names say to one body: weighed, narrowed, bounded; mass and packaging that follow from it."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""What a board becomes: placements, parts with bodies, outline, and what was inferred or set aside on the way."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

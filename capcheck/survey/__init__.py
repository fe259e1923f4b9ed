"""Many boards in one run: found by content, each checked by itself."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

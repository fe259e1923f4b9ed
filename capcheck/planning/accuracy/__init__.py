"""Whether a head places a part accurately enough: what its joints allow against what the head reaches."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""Which files of a folder make up one board, told by content, and what is passed over."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

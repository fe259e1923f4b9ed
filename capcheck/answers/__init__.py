"""The list of questions as it comes back: what was answered, what that changes, and the files that it is written to."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

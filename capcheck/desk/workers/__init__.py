"""Workers: each piece of work on untrusted files in a process of its own, confined to its folder."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

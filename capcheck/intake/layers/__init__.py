"""Gerber layers of copper, solder mask and paste: which file is which, and the openings in it, merged.

Files are told apart by content first and by their names where they do not say; each is read in the reading process,
under limits.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

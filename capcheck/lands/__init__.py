"""Lands of a board, from its Gerber layers and drills: where they lie, whose they are, and what they prove of parts.

Layers are laid onto the placements first, each side for itself; a set that does not lie on them is of another board and
is not used. What lands never prove (the upper end of a body's size, its height) is never asked of them.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

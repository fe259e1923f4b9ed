"""Files of fabrication that state something of the parts: netlists for the test of bare boards, and layers.

What they state of a reference (lands, holes, side, height) goes on record beside the other sources of its type, with
file and line. Files are told apart by content; each is read in the reading process, under limits.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

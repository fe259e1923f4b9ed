"""The board's outline from a drawing or a profile layer: contour, cut-outs, holes and possible fiducials, in mm."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

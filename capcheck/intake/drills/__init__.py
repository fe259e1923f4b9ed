"""Drill files beside the outline: their holes without metal are openings of the board."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

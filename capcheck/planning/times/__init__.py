"""Seconds and feeding of one machine, figures of a line, each as a sum that can be redone by hand."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

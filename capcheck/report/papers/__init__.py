"""Papers of a plan that people act on: plan, comparison, quote sheet, lists for the floor."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

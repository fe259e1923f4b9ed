"""Two revisions of a board compared: text, JSON, Markdown, and a page with both pictures over one another."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""One report for every reader: sentences, groups, formats, picture, page, plan and questions."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

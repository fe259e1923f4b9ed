"""What the shop remembers: parts with their figures, customers, boards, questions and answers, in one database."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

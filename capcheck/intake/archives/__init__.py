"""Archives and revisions as folders of this run alone: unpacked under limits, removed at the end."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

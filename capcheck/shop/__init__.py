"""What a shop sets and accepts: configuration, settings in force, waivers, known findings, files to start from."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

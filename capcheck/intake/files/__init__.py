"""Bytes to cells: text in every encoding and layout, spreadsheets, HTML; each cell keeps its row of the file."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

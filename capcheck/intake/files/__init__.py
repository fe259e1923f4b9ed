"""Bytes to cells: text in every encoding, spreadsheets, HTML; each cell keeps its row of the file.

Where a cell ends in a text without markup depends on what makes a table of it, which :mod:`capcheck.intake.tables`
knows: to it a text is handed on as it is, and it asks here for the cells by one delimiter or another.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

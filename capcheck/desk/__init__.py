"""The desk: the page for the people who quote; a second face of the same tool, whose numbers the public API makes.

From the ground up: ``readings`` states what a board's files do not say; ``shop_at_desk`` knows where things lie;
``areas/`` what each area of a board's page shows; ``workers/`` check in processes of their own; ``web/`` serves.

**An area of a board's page** is one module of ``areas/`` and one template of its name in ``web/templates/areas/``:

* ``made(found)`` runs in the worker, with the board and the reports at hand, and returns a frozen record of plain data
  in words. It is written as ``NAME.json`` into the folder of the check at each of the stages in ``after``, so that an
  area fills as soon as what it needs is known. It never sees the store's own file, only a copy.
* ``shown(seen, data)`` runs in the server at each request, is given that record (None before it is there), may ask the
  store, and returns what the template gets as ``data``. It reads no file of a customer's: the server parses nothing.
* ``AREA`` names both; ``every.py`` lists the areas in their order. The page asks for one area again when the events
  of the quote say that its file has changed (``web/events.py``, ``static/desk.js``).

A change that an area offers is a form (it works without a script) whose route stands in ``web/`` beside the others and
takes the person's name from ``person(request)``; it writes rows or ``board.toml`` by the room that knows how
(``answers``, ``store``), logs it, and asks for a check again (``Quotes.ask_again``).

**An answer** (``answering``) is a list that came back, with one row where it was typed: a worker says at once what it
changes (``workers/answered.py``), the server writes ``board.toml`` and rows together, and keeps both so as to undo it.

State is nowhere kept but in rows (see ``store/quotes.py``) and in a board's own folder, which the command line reads;
what its board.toml said before each change lies beside it, to be taken back. Whatever a worker is given lies in a
folder of its own.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

"""Quotes as rows: what one is at follows from them, work is held by one and lost by none.

Figures: invented.
"""

import pytest

from capcheck.store import open_store


@pytest.fixture
def quotes(store):
    return store.quotes


def new(quotes, folder="a", **facts):
    given = {"customer": "Meadow Pumps", "name": "Pump", "quantity": 500, "due": "2027-03-31", "who": "Ada", **facts}
    return quotes.new(folder, **given)


def with_board(quotes):
    """A quote whose one board waits for its check."""
    number = new(quotes)
    quotes.add_files(number, "arrived/1", [("<b>pump</b>.zip", "arrived/1/pump.zip", 12)], "Ada")
    quotes.add_boards(quotes.claim("one", 60), [("Pump", "1-board-1", [("bom.csv", "bom.csv", 7)])])
    return number


def test_what_a_quote_is_at_follows_from_its_rows(quotes):
    number = new(quotes)

    def state(questions=0):
        return quotes.one(number).state(questions)

    assert state() == "nothing to check"
    quotes.add_files(number, "arrived/1", [("pump.zip", "arrived/1/pump.zip", 12)], "Ada")
    assert state() == "reading"
    quotes.add_boards(quotes.claim("one", 60), [("Pump", "1-board-1", [])])
    assert state() == "reading"
    quotes.end(quotes.claim("one", 60).id, "done", result="{}")
    assert (state(3), state(0)) == ("questions open", "no questions open")
    quotes.change(number, "Ada", "sent the questions", waiting_since="2027-01-01")
    assert state(3) == "waiting for the customer"
    quotes.ask_again(number, quotes.one(number).boards[0].id, "Ada")
    assert state(3) == "reading"
    quotes.end(quotes.claim("one", 60).id, "refused", told="no placements")
    assert state(3) == "not read"
    quotes.change(number, "Ada", "decided", decided_at="2027-01-02")
    assert state(3) == "decided"
    assert [(one.who, one.what) for one in quotes.logged(number)][:2] == [
        ("Ada", "decided"),
        ("Ada", "asked for a check"),
    ]


def test_work_is_held_by_one_for_a_time_and_then_anybodys(quotes):
    with_board(quotes)
    first = quotes.claim("one", 60)
    assert first.kind == "check"
    assert first.tries == 1
    assert quotes.claim("two", 60) is None
    quotes.hold([first.id], "two", 0)  # it is not theirs
    assert quotes.claim("two", 60) is None
    quotes.let_go("one")
    again = quotes.claim("two", -1)
    assert (again.id, again.tries) == (first.id, 2)
    assert quotes.claim("three", 60).tries == 3  # the time of the second was over before it began


def test_boards_are_written_once_whoever_found_them(quotes):
    number = new(quotes)
    quotes.add_files(number, "arrived/1", [], "Ada")
    slow = quotes.claim("one", -1)
    quick = quotes.claim("two", 60)
    assert slow.id == quick.id
    for work in (quick, slow):
        quotes.add_boards(work, [("Pump", "1-board-1", [("bom.csv", "bom.csv", 7)])], "one file was too large")
    quote = quotes.one(number)
    assert [board.name for board in quote.boards] == ["Pump"]
    assert len(quote.boards[0].works) == 1
    assert quote.works[0].told == "one file was too large"
    assert [file.shown for file in quotes.files(number, quote.boards[0].id)] == ["bom.csv"]


def test_a_check_that_waits_takes_the_place_of_another_and_one_that_runs_does_not(quotes):
    number = with_board(quotes)
    board = quotes.one(number).boards[0]
    assert quotes.ask_again(number, board.id, "Ada") == board.works[0].id
    running = quotes.claim("one", 60)
    assert quotes.ask_again(number, board.id, "Ada") != running.id


def test_quotes_are_there_again_when_the_store_is(address):
    with open_store(address) as store:
        number = with_board(store.quotes)
        store.quotes.claim("killed", -1)
    with open_store(address) as store:
        assert store.quotes.one(number).boards[0].is_open
        assert store.quotes.claim("started anew", 60).board == store.quotes.one(number).boards[0].id
        assert [quote.id for quote in store.quotes.all()] == [number]
        assert store.quotes.one(number + 1) is None

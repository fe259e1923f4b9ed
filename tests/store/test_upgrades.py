"""An older store is brought to today's version in numbered steps, with all that it holds, or not at all.

Figures: invented.
"""

import pytest
from sqlalchemy import BigInteger, Double, Text, inspect

from capcheck.store import BoardKey, PartKey, Question, Statement, open_store, upgrade_store
from capcheck.store.opening import database_at
from capcheck.store.tables import METADATA
from capcheck.store.upgrades import LATEST, statements_of, step_of, upgrade
from capcheck.values import InputError, Interval

KINDS = {Double: ("DOUBLE", "REAL"), Text: ("TEXT",), BigInteger: ("INT",)}
KEY = PartKey(part_number="AB123")


def made_at(address, step):
    """Make a store as the step left it."""
    database = database_at(address, create=True)
    with database.writing() as connection:
        upgrade(connection, upto=step)
    return database


def test_the_steps_make_the_tables_that_statements_name(address):
    made_at(address, LATEST).close()
    database = database_at(address)
    with database.reading() as connection:
        found = inspect(connection)
        assert set(found.get_table_names()) - {"sqlite_sequence"} == set(METADATA.tables)
        for name, table in METADATA.tables.items():
            columns = {c["name"]: c["type"] for c in found.get_columns(name)}
            assert columns.keys() == set(table.columns.keys())
            for column in table.columns:
                kind = str(columns[column.name])
                words = next(some for of, some in KINDS.items() if isinstance(column.type, of))
                assert any(word in kind.upper() for word in words)
    database.close()


@pytest.mark.parametrize("step", range(1, LATEST))
def test_an_older_store_is_refused_with_the_command_then_upgraded_with_all_it_holds(address, given, step):
    from capcheck.store.figures import record

    database = made_at(address, step)
    with database.writing() as connection:
        record(connection, [Statement(KEY, {"height": Interval(1, 1.5), "pins": 8}, given(link="sheet 7"))])
    database.close()
    with pytest.raises(InputError, match=rf"older version \({step}; .*capcheck library upgrade --store"):
        open_store(address)
    assert upgrade_store(address) == (step, LATEST)
    assert upgrade_store(address) == (LATEST, LATEST)
    with open_store(address) as store:
        assert {f.field: f.value for f in store.figures(KEY)} == {"height": Interval(1, 1.5), "pins": 8}
        assert {f.given for f in store.figures(KEY)} == {given(link="sheet 7")}
        store.ask(BoardKey("Lamp"), [Question("q", "height", "How tall?", "f")], given())
        assert len(store.questions(BoardKey("Lamp"))) == 1


def test_a_step_that_fails_leaves_the_store_as_it_was(address):
    database = made_at(address, 1)
    with database.writing() as connection:
        # In the way of the second step's last statement but one.
        connection.exec_driver_sql("CREATE TABLE used_on (id BIGINT)")
    database.close()
    with pytest.raises(InputError, match="already exists"):
        upgrade_store(address)
    database = database_at(address)
    with database.reading() as connection:
        assert step_of(connection) == 1
        assert not inspect(connection).has_table("revision")
    database.close()


def test_what_is_no_store_is_not_upgraded(tmp_path, server_database):
    empty = tmp_path / "empty.db"
    empty.write_bytes(b"")
    for address in (empty, server_database):
        with pytest.raises(InputError, match="holds no store"):
            upgrade_store(address)


def test_a_semicolon_of_a_comment_ends_no_statement():
    assert statements_of("-- one; two\nCREATE TABLE a (\n  id {identity}\n);\n", "sqlite") == [
        "CREATE TABLE a (\n  id INTEGER PRIMARY KEY AUTOINCREMENT\n)"
    ]

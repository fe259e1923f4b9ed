"""What is stated of parts is kept: the later supersedes, nothing is lost, and each holds for whom it was said.

Figures: invented.
"""

import math

import pytest
from depth import sample_size
from hypothesis import HealthCheck, given as random_, settings, strategies as st

from capcheck.store import EVERYONE, PartKey, Scope, Statement
from capcheck.values import Interval

KEY = PartKey(part_number="AB-12 3")
HEIGHT, TALLER = Interval(1.0, 1.2), Interval(2.0, 2.2)
_LISTS = (("Ada", 1, "a1-x"), ("Ben", 2, "b1-x"), ("Ada", 3, "c1-x"), ("Ben", 4, "d1-x"))


def stated(given, key=KEY, scope=EVERYONE, **values):
    return Statement(key, values, given, scope)


def standing(store, key=KEY, scope=EVERYONE):
    return {f.field: f.value for f in store.figures(key) if f.scope == scope}


def test_a_later_figure_supersedes_and_the_older_stays_in_the_history(store, given):
    first, second = given("Ada", 1), given("Ben", 2, link="sheet 7")
    assert [c.kind for c in store.record([stated(first, height=HEIGHT, pins=8)])] == ["new", "new"]
    (change,) = store.record([stated(second, height=TALLER)])
    assert (change.kind, change.old.value, change.old.given) == ("other", HEIGHT, first)
    assert standing(store) == {"height": TALLER, "pins": 8}
    history = [(f.field, f.value, f.given, f.superseded) for f in store.history(KEY)]
    assert history == [
        ("height", HEIGHT, first, second.when),
        ("pins", 8, first, None),
        ("height", TALLER, second, None),
    ]


def test_the_same_figure_again_writes_nothing_unless_it_brings_a_data_sheet(store, given):
    store.record([stated(given(day=1), height=HEIGHT)])
    assert [c.kind for c in store.record([stated(given(day=2), height=HEIGHT)])] == ["same"]
    assert len(store.history(KEY)) == 1
    store.record([stated(given(day=3, link="sheet 7"), height=HEIGHT)])
    assert [f.given.link for f in store.figures(KEY)] == ["sheet 7"]
    assert len(store.history(KEY)) == 2


def test_what_would_change_is_told_without_writing(store, given):
    store.record([stated(given(), height=HEIGHT)])
    later = [stated(given(day=2), height=TALLER), stated(given(day=3), height=HEIGHT, mass=Interval(0, 0.5))]
    told = store.changes(later)
    assert [c.kind for c in told] == ["other", "other", "new"]
    assert standing(store) == {"height": HEIGHT}
    assert [(c.field, c.kind, c.new) for c in store.record(later)] == [(c.field, c.kind, c.new) for c in told]


def test_a_number_is_one_part_however_it_is_written_and_a_value_is_not(store, given):
    store.record([stated(given(), height=HEIGHT)])
    assert standing(store, PartKey(part_number="ab123")) == {"height": HEIGHT}
    small, large = PartKey(value="10m", footprint="X1"), PartKey(value="10M", footprint="x1")
    store.record([stated(given(), small, height=HEIGHT), stated(given(), large, height=TALLER)])
    assert (standing(store, small), standing(store, large)) == ({"height": HEIGHT}, {"height": TALLER})


def test_each_scope_keeps_its_own(store, given):
    of_board = Scope(customer="Umbra", board="Lamp")
    for scope, height in ((EVERYONE, HEIGHT), (Scope("Umbra"), TALLER), (of_board, Interval(3, 3))):
        store.record([stated(given(), scope=scope, height=height)])
    assert standing(store, scope=EVERYONE) == {"height": HEIGHT}
    assert standing(store, scope=Scope("Umbra")) == {"height": TALLER}
    assert standing(store, scope=of_board) == {"height": Interval(3, 3)}
    assert [f.value for f in store.history(KEY, Scope("Umbra"))] == [TALLER]


def test_sides_without_a_direction_undo_an_older_direction(store, given):
    lying = {"length": Interval(2, 2), "width": Interval(5, 5)}
    store.record([stated(given(), oriented=True, **lying)])
    assert standing(store) == {**lying, "oriented": True}
    store.record([stated(given(day=2), height=HEIGHT)])
    assert standing(store)["oriented"] is True
    store.record([stated(given(day=3), length=Interval(2, 2), width=Interval(6, 6))])
    assert standing(store) == {"length": Interval(6, 6), "width": Interval(2, 2), "oriented": False, "height": HEIGHT}


def test_undoing_what_a_list_brought_lets_what_it_superseded_stand_again(store, given):
    first, second, third, last = (given(who, day, where=where) for who, day, where in _LISTS)
    store.record([stated(first, height=HEIGHT, length=TALLER, width=HEIGHT, oriented=True)])
    store.record([stated(second, height=TALLER, length=Interval(3, 3), pins=8)])
    gone = store.undo("b1", given("Cy", 5, where="undone: b1"))
    assert {f.field: f.value for f in gone} == {
        "height": TALLER, "length": Interval(3, 3), "pins": 8, "oriented": False,
    }  # fmt: skip
    assert standing(store) == {"height": HEIGHT, "length": TALLER, "width": HEIGHT, "oriented": True}
    assert {f.given for f in store.figures(KEY)} == {first}
    store.record([stated(third, height=Interval(4, 4))])
    store.record([stated(last, height=Interval(5, 5))])
    # The one between is undone first: what it said does not come back with the last one's undoing.
    assert store.undo("c1", given("Cy", 6, where="undone: c1")) == []
    store.undo("d1", given("Cy", 7, where="undone: d1"))
    assert standing(store)["height"] == HEIGHT
    store.undo("a1", given("Cy", 8, where="undone: a1"))
    assert standing(store) == {}


def test_undoing_does_not_bring_back_what_was_withdrawn(store, given):
    store.record([stated(given("Ada", 1, where="a1-x"), height=HEIGHT)])
    store.withdraw(KEY, ["height"], given("Ben", 2), EVERYONE)
    store.record([stated(given("Cy", 3, where="b1-x"), height=TALLER)])
    store.undo("b1", given("Cy", 4, where="undone: b1"))
    assert standing(store) == {}


def test_a_figure_can_be_withdrawn_and_stays_in_the_history(store, given):
    store.record([stated(given(), height=HEIGHT, pins=8)])
    assert [f.value for f in store.withdraw(KEY, ["height"], given("Ben", 2), EVERYONE)] == [HEIGHT]
    assert standing(store) == {"pins": 8}
    assert len(store.history(KEY)) == 2
    assert store.withdraw(PartKey(part_number="other"), [], given(), EVERYONE) == []


@pytest.mark.parametrize(
    ("key", "values"),
    [
        (KEY, {"height": Interval(-1, 1)}),
        (KEY, {"height": Interval(0, 0)}),
        (KEY, {"height": Interval(math.inf, math.inf)}),
        (KEY, {"height": 3}),
        (KEY, {"pins": 0}),
        (KEY, {"lost_per_thousand": -1}),
        (KEY, {"pins": True}),
        (KEY, {"mounting": "glued"}),
        (KEY, {"polarised": "yes"}),
        (KEY, {"colour": "red"}),
        (PartKey(), {"pins": 8}),
        (PartKey(reference="U1"), {"pins": 8}),
    ],
)
def test_what_no_part_can_have_is_refused_and_nothing_is_written(store, given, key, values):
    with pytest.raises(ValueError, match=r"cannot be|no key|of one board"):
        store.record([stated(given(), pins=4), Statement(key, values, given())])
    assert store.figures(KEY) == []


VALUES = st.fixed_dictionaries(
    {},
    optional={
        "height": st.tuples(st.floats(0, 50), st.floats(0.001, 50)).map(lambda t: Interval(t[0], t[0] + t[1])),
        "mass": st.floats(0.001, 9).map(lambda high: Interval(0, high)) | st.just(Interval(1.0, math.inf)),
        "pins": st.integers(1, 2000),
        "mounting": st.sampled_from(["surface", "through hole"]),
        "family": st.text(st.characters(codec="utf-8", exclude_categories=("C",)), min_size=1, max_size=9),
        "polarised": st.booleans(),
    },
)
KEYS = st.sampled_from(
    [KEY, PartKey("cd"), PartKey(footprint="F 1", value="4K7"), PartKey(footprint="F 1"), PartKey("z*")]
)
SCOPES = st.sampled_from([EVERYONE, Scope("Umbra"), Scope("Umbra", "Lamp"), Scope("", "Lamp")])


@random_(st.lists(st.lists(st.tuples(KEYS, SCOPES, VALUES), max_size=5), max_size=5))
@settings(max_examples=sample_size(25), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_stands_is_what_was_said_last_and_a_look_up_reads_the_same(store, given, batches):
    import msgspec
    from sqlalchemy import select

    from capcheck.store.figures import value_of
    from capcheck.store.tables import FIGURE, PART

    for figure in store.figures():
        store.withdraw(figure.key, [figure.field], given("Ben"), figure.scope)
    last, before = {}, len(_all_rows(store))
    written = 0
    for number, batch in enumerate(batches):
        said = [Statement(key, values, given(day=number + 1), scope) for key, scope, values in batch]
        written += sum(c.kind != "same" for c in store.record(said))
        for key, scope, values in batch:
            last |= {(key.compared, scope, field): value for field, value in values.items()}
    assert {(f.key.compared, f.scope, f.field): f.value for f in store.figures()} == last
    assert len(_all_rows(store)) == before + written
    # The copy that a look-up reads is what the figures say.
    with store._database.reading() as connection:
        rows = connection.execute(select(FIGURE).where(FIGURE.c.superseded_at.is_(None)))
        by_part = {}
        for row in rows:
            by_part.setdefault(row.part_id, {})[row.field] = value_of(row.field, row.low, row.high, row.word)
        for row in connection.execute(select(PART)):
            copied = {f: value_of(f, *ends) for f, *ends, _ in msgspec.json.decode(row.standing)}
            assert copied == by_part.get(row.id, {})


def _all_rows(store):
    from sqlalchemy import select

    from capcheck.store.tables import FIGURE

    with store._database.reading() as connection:
        return connection.execute(select(FIGURE.c.id)).all()


def test_that_nothing_is_lost_of_a_part_is_a_figure_too(store, given):
    store.record([stated(given(), lost_per_thousand=0)])
    assert standing(store) == {"lost_per_thousand": 0}

"""What the store knows goes into a board's bodies with who said it; without a store nothing of it is touched.

Figures: invented.
"""

import datetime as dt
import json
import sqlite3

import pytest
from depth import sample_size
from hypothesis import given as hypothesis_given, settings as settings_of_hypothesis, strategies as st

from capcheck.checking import Libraries, read_board
from capcheck.lexicon import sentence
from capcheck.model import PartName
from capcheck.store import EVERYONE, BoardKey, Given, PartKey, Revision, Scope, Statement, Used, open_store
from capcheck.values import Interval

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nU1,,HOUSE9,10,20,0,top\nU2,4K7,HOUSE8,30,40,0,top\n"
BOM = "References,Value,Part number,Height [mm]\nU1,,AB-123,\nU2,4K7,,\n"


@pytest.fixture
def folder(tmp_path):
    board = tmp_path / "lamp"
    board.mkdir()
    (board / "board.toml").write_text('name = "Lamp"\n')
    (board / "placements.csv").write_text(PLACED)
    (board / "bom.csv").write_text(BOM)
    return board


def height(folder, address, customer="", ref="U1"):
    board = read_board(folder, libraries=Libraries((), address, customer))
    return board.bodies[int(board.placements.part_type[list(board.placements.ref).index(ref)])].height


def keep(address, given, key, low, high, scope=EVERYONE):
    with open_store(address) as store:
        store.record([Statement(key, {"height": Interval(low, high)}, given, scope)])


TORCH = BoardKey("Torch", "Umbra")
NUMBER = PartKey(part_number="ab123")


def test_an_answer_proves_a_body_and_says_who_gave_it_and_when(folder, address, given):
    keep(address, given("Ada Example", 3, where="questions.xlsx:14", link="sheet 7"), NUMBER, 1, 1.2)
    found = height(folder, address)
    assert found.value == Interval(1, 1.2)
    assert found.source == ("shop's library, answered by Ada Example, 2026-03-03 (questions.xlsx:14), sheet 7")
    assert found.basis == "shop library"


@pytest.mark.parametrize(("customer", "expected"), [("", 1.0), ("Noctua", 1.0), ("Umbra", 2.0), ("umbra ", 2.0)])
def test_what_holds_for_one_customer_is_not_told_another(folder, address, given, customer, expected):
    keep(address, given(), NUMBER, 1, 1)
    keep(address, given(), NUMBER, 2, 2, Scope("Umbra"))
    assert height(folder, address, customer).value == Interval(expected, expected)


def test_a_board_goes_before_its_customer_and_another_board_counts_for_nothing(folder, address, given):
    keep(address, given(), NUMBER, 1, 1)
    keep(address, given(), NUMBER, 9, 9, Scope("Umbra", "Other"))
    assert height(folder, address, "Umbra").value == Interval(1, 1)
    keep(address, given(), NUMBER, 3, 3, Scope("Umbra", "lamp"))
    assert height(folder, address, "Umbra").value == Interval(3, 3)
    assert height(folder, address, "Noctua").value == Interval(1, 1)


@pytest.mark.parametrize(
    ("key", "scope"),
    [
        (PartKey(footprint="house8", value="4K7"), EVERYONE),
        (PartKey(footprint="House8"), EVERYONE),
        (PartKey(footprint="HOUSE?"), EVERYONE),
        (PartKey(reference="u2"), Scope(board="Lamp")),
    ],
)
def test_a_part_without_a_number_is_found_by_the_rest(folder, address, given, key, scope):
    keep(address, given(), key, 1, 1, scope)
    assert height(folder, address, ref="U2").value == Interval(1, 1)
    assert height(folder, address, ref="U1").value == Interval(1, 1) or not key.is_pattern


@pytest.mark.parametrize("key", [PartKey(footprint="HOUSE8", value="4k7"), PartKey(part_number="AB1234")])
def test_a_part_of_another_value_or_number_is_not_taken(folder, address, given, key):
    keep(address, given(), key, 1, 1)
    assert height(folder, address, ref="U2").basis != "shop library"
    assert height(folder, address).basis != "shop library"


def body_beside(folder, address, listed, rows, board_toml='name = "Lamp"\n', prefer=None):
    listed.write_text(rows)
    (folder / "board.toml").write_text(board_toml)
    board = read_board(folder, libraries=Libraries((listed,), address, prefer=prefer))
    return board.bodies[int(board.placements.part_type[0])]


def test_a_list_and_the_store_that_differ_both_count_until_somebody_settles_it(folder, address, given, tmp_path):
    keep(address, given(), NUMBER, 1, 1)
    listed, rows = tmp_path / "packages.csv", "part number,height [mm]\nAB123,1.4\n"
    body = body_beside(folder, address, listed, rows)
    assert body.height.value == Interval(1, 1.4)
    (told,) = map(sentence, body.conflicts)
    assert "shop library packages.csv:2 says 1.4 mm, shop's library, answered by Ada, 2026-03-01 says 1 mm" in told
    assert "capcheck library import" in told
    preferred = body_beside(folder, address, listed, rows, 'name = "Lamp"\nprefer = "library"\n')
    assert preferred.height.value == Interval(1.4, 1.4)
    # The same may be said for the store, and by the shop, a customer or a board in capcheck.toml.
    believed = {None: (1, 1), "library": (1.4, 1.4), "store": (1, 1)}
    for of_board in believed:
        for of_shop in believed:
            text = 'name = "Lamp"\n' + (f'prefer = "{of_board}"\n' if of_board else "")
            body = body_beside(folder, address, listed, rows, text, of_shop)
            holds = of_board or of_shop
            assert body.height.value == Interval(*(believed[holds] if holds else (1, 1.4))), (of_board, of_shop)
            (told,) = map(sentence, body.conflicts)
            assert (f'prefer = "{holds}"' in told) == bool(holds)
            assert ("either counts" in told) == (holds is None)
            assert told.count("either counts") < 2, told
    # An entry that says the same ends it.
    agreed = body_beside(folder, address, listed, rows.replace("1.4", "1.0"))
    assert (agreed.height.value, agreed.conflicts) == (Interval(1, 1), ())


@pytest.mark.parametrize(("prefer", "low"), [("library", 1.4), ("store", 1.0)])
def test_who_is_believed_is_believed_by_whatever_key_the_other_knows_the_part(
    folder, address, given, tmp_path, prefer, low
):
    """The list knows a footprint, the store the part number, which is the more particular key."""
    keep(address, given(), NUMBER, 1, 1)
    listed = tmp_path / "packages.csv"
    body = body_beside(folder, address, listed, "footprint,height [mm]\nHOUSE9,1.4\n", prefer=prefer)
    assert body.height.value == Interval(low, low)
    body = body_beside(folder, address, listed, "footprint,height [mm]\nHOUSE9,1.4\n")
    assert body.height.value == Interval(1, 1.4)


def test_a_figure_that_a_kept_board_contradicts_proves_nothing_on_any_board_until_it_is_settled(
    folder, address, given, tmp_path, run
):
    """The store says 1 mm, the files of the kept board 1.4 mm: on a third board either counts."""
    keep(address, given(), NUMBER, 1, 1)
    with open_store(address) as store:
        used = Used(NUMBER, ("U7",), {"height": (Interval(1.4, 1.4), "bom.csv:2")})
        store.keep_revision(Revision(TORCH, "0" * 64, (), given("Ben", 4)), [used])
    assert height(folder, address).value == Interval(1, 1.4)
    told = read_board(folder, libraries=Libraries((), address)).bodies
    (said,) = [sentence(said) for body in told for said in body.of_records]
    assert "Torch, bom.csv:2" in said
    assert "library offer" in said
    # Whom the shop believes of its list and its store says nothing of two figures within the store.
    board = read_board(folder, libraries=Libraries((), address, prefer="store"))
    assert board.bodies[0].height.value == Interval(1, 1.4)
    # The store's figure, looked at and held against what the files say, counts alone, and so says who held it.
    torch = tmp_path / "torch"
    torch.mkdir()
    (torch / "board.toml").write_text('name = "Torch"\n')
    (torch / "placements.csv").write_text(PLACED)
    (torch / "bom.csv").write_text(BOM.replace("AB-123,", "AB-123,1.4"))
    asked = ("library", "offer", torch, "--store", address, "--no-config", "--by", "Cleo", "--keep", "--holds")
    assert run(*asked, "store")[0] == 0
    found = height(folder, address)
    assert found.value == Interval(1, 1)
    assert "Cleo" in found.source
    # A later revision that says it again, of whatever board, was not looked at.
    with open_store(address) as store:
        later = Given("Ben", dt.datetime.now(dt.UTC) + dt.timedelta(days=1), "entered")
        store.keep_revision(Revision(BoardKey("Lantern"), "1" * 64, (), later), [used])
    assert height(folder, address).value == Interval(1, 1.4)
    # The other side may hold as well, for one who looked it up.
    assert run(*asked, "file")[0] == 0
    assert height(folder, address).value == Interval(1.4, 1.4)


def test_a_lead_count_that_a_kept_board_contradicts_proves_nothing_until_it_is_settled(folder, address, given):
    """The store counts 6 leads, the files of the kept board 8, and those of another 6 as the store does."""
    with open_store(address) as store:
        store.record([Statement(NUMBER, {"pins": 6}, given())])
        for count, (board, pins) in enumerate({"Torch": 8, "Lantern": 6}.items()):
            used = Used(NUMBER, ("U7",), {"pins": (Interval.exactly(pins), "bom.csv:2")})
            store.keep_revision(Revision(BoardKey(board), f"{count:064d}", (), given("Ben", 4)), [used])
    board = read_board(folder, libraries=Libraries((), address))
    body = board.bodies[int(board.placements.part_type[0])]
    assert body.pins is None
    (told,) = map(sentence, body.of_records)
    assert "says 6" in told
    assert "(Torch, bom.csv:2) says 8" in told
    assert "Lantern" not in told
    with open_store(address) as store:
        store.record([Statement(NUMBER, {"pins": 6}, Given("Cleo", given("Ben", 5).when, "held"))])
    board = read_board(folder, libraries=Libraries((), address))
    assert board.bodies[int(board.placements.part_type[0])].pins == 6


def test_no_statement_of_a_look_up_goes_over_all_that_the_store_holds(tmp_path, given):
    """Among a million parts it would take a tenth of a second; SQLite says beforehand what it would go over."""
    from sqlalchemy import event

    file, sent = tmp_path / "parts.db", []
    keep(file, given(), NUMBER, 1, 1, Scope("Umbra", "Torch"))
    with open_store(file) as store:
        used = Used(NUMBER, ("U7",), {"height": (Interval.exactly(2), "bom.csv:2")})
        store.keep_revision(Revision(BoardKey("Lantern"), "0" * 64, (), given()), [used])
        engine = store._database._engine
        event.listen(engine, "before_cursor_execute", lambda *of: sent.append(of[2:4]))
        store.library([PartName(part_number="AB-123", reference="U7")], board="Torch", customer="Umbra")
    with sqlite3.connect(file) as connection:
        plans = {text: connection.execute(f"EXPLAIN QUERY PLAN {text}", values).fetchall() for text, values in sent}
    connection.close()
    assert len(plans) > 5
    over = [step for plan in plans.values() for *_, step in plan if "SCAN" in step and "VIRTUAL" not in step]
    assert over == []


def test_who_asks_for_a_part_number_is_told_what_a_kept_board_says_against_it(address, given, run):
    with open_store(address) as store:
        store.record([Statement(NUMBER, {"pins": 6, "height": Interval(1, 1)}, given())])
        used = Used(NUMBER, ("U7",), {name: (Interval.exactly(8), "bom.csv:2") for name in ("pins", "height")})
        store.keep_revision(Revision(TORCH, "0" * 64, (), given("Ben", 4)), [used])
    for command in (("part", "AB-123"), ("library", "show", "AB-123")):
        out = run(*command, "--store", address, "--no-config")[1]
        told = "against it: height 8 mm, pins 8, stated by Ben, 2026-03-04 (Torch, bom.csv:2); either counts until"
        assert told in " ".join(out.split()), out
    data = json.loads(run("part", "AB-123", "--store", address, "--no-config", "--format", "json")[1])
    assert data["against"] == [
        {"height": [8, 8], "pins": 8, "said": "stated by Ben, 2026-03-04 (Torch, bom.csv:2)"},
    ]


SIDES = {"length": Interval(10, 10), "width": Interval(10, 10), "height": Interval(2, 2)}
LISTED = "part number,length [mm],width [mm],height [mm]\nAB123,12,12,2\n"


@pytest.mark.parametrize(("prefer", "low", "high"), [(None, 10, 12), ("library", 12, 12), ("store", 10, 10)])
def test_the_sides_too_are_those_of_who_is_believed(folder, address, given, tmp_path, prefer, low, high):
    with open_store(address) as store:
        store.record([Statement(NUMBER, SIDES, given(), EVERYONE)])
    body = body_beside(folder, address, tmp_path / "packages.csv", LISTED, prefer=prefer)
    assert (body.length.low, body.length.high) == (low, high)
    assert len(body.of_records) == 1
    assert body.disputed == (() if prefer else ("body",))


def test_the_shop_settles_what_its_own_records_differ_in_and_no_customer_is_asked(
    folder, address, given, run, tmp_path
):
    with open_store(address) as store:
        store.record([Statement(NUMBER, SIDES, given(), EVERYONE)])
    listed = tmp_path / "packages.csv"
    listed.write_text(LISTED)
    shared = (folder, "--library", listed, "--store", address, "--no-config")

    def findings():
        return {f["rule"]: f for f in json.loads(run("check", *shared, "--format", "json")[1])["findings"]}

    found = findings()
    assert "sources-agree" not in found
    assert "data sheet" in found["records-agree"]["remedy"]
    assert "part-against-land" not in run("check", *shared, "--format", "questions")[1]
    shown = run("part", "U1", *shared)[1]
    head = next(line for line in shown.splitlines() if "what counts" in line)
    assert head.split() == ["library", "store", "what", "counts"]
    assert "! 10 × 10 mm" in next(line for line in shown.splitlines() if line.startswith("size"))
    assert all(f'prefer = "{keeper}"' in shown for keeper in ("library", "store"))
    assert "if the store is right" in shown
    (folder / "board.toml").write_text('name = "Lamp"\nprefer = "store"\n')
    assert not findings().keys() & {"records-agree", "sources-agree"}


def test_a_list_that_the_store_holds_against_is_said_to_differ_still(address, run, tmp_path, given):
    keep(address, given(), NUMBER, 1, 1)
    listed = tmp_path / "packages.csv"
    listed.write_text("part number,height [mm]\nAB123,1.4\n")
    asked = ("library", "import", listed, "--store", address, "--no-config", "--by", "Ada", "--holds", "store")
    code, out, _ = run(*asked)
    assert code == 0
    assert "nothing to write" in out
    assert "still differs" in out
    assert "library export" in out


MEASURES = ("length", "width", "height", "pitch", "ball_diameter", "lead_width", "mass")
SAID = {"mounting": ("surface", "through hole"), "lead_style": ("gull wing", "no lead"), "pins": (8, 10)}


@settings_of_hypothesis(max_examples=sample_size(40))
@hypothesis_given(
    st.lists(st.sampled_from([*MEASURES, *SAID]), min_size=1, max_size=6, unique=True),
    st.lists(st.integers(1, 4), min_size=9, max_size=9),
    st.lists(st.integers(1, 4), min_size=9, max_size=9),
)
def test_no_figure_of_a_list_or_the_store_is_passed_over_where_they_differ(tmp_path_factory, fields, listed, kept):
    folder = tmp_path_factory.mktemp("either")
    board = folder / "lamp"
    board.mkdir()
    (board / "placements.csv").write_text(PLACED)
    (board / "bom.csv").write_text(BOM)
    sides = zip([*MEASURES, *SAID], listed, kept, strict=False)
    values = {name: (one, other) for name, one, other in sides if name in fields}
    values |= {
        name: (SAID[name][one % 2], SAID[name][other % 2]) for name, (one, other) in values.items() if name in SAID
    }
    if {"length", "width"} <= values.keys():  # which side is which is another matter
        values["length"] = (values["length"][0] + 10, values["length"][1] + 10)
    units = {name: " [g]" if name == "mass" else " [mm]" for name in MEASURES}
    titles = ",".join(name.replace("_", " ") + units.get(name, "") for name in values)
    cells = ",".join(str(one) for one, _ in values.values())
    rows = f"part number,{titles}\nAB123,{cells}\n"
    address = str(folder / "parts.db")
    figures = {n: Interval(v[1], v[1]) if n in MEASURES else v[1] for n, v in values.items()}
    moment = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)  # invented
    with open_store(address) as store:
        store.record([Statement(NUMBER, figures, Given("Ada", moment, "answered"))])
    body = body_beside(board, address, folder / "packages.csv", rows)
    for name, (one, other) in values.items():
        found = getattr(body, name)
        if name in MEASURES:
            measure = found if hasattr(found, "low") and not hasattr(found, "value") else found.value
            assert measure.low <= min(one, other), name
            assert measure.high >= max(one, other), name
        elif one != other:
            assert found is None, name


def test_sides_from_two_people_are_one_size_that_names_both(store, given):
    store.record([Statement(NUMBER, {"length": Interval(2, 2)}, given("Ada"))])
    store.record([Statement(NUMBER, {"width": Interval(5, 5), "mounting": "surface"}, given("Ben", 2))])
    name = PartName(part_number="AB-123")
    sized, mounted = store.library([name]).candidates(name)
    assert (sized.length, sized.width) == (Interval(5, 5), Interval(2, 2))
    assert sized.source == "shop's library, answered by Ada, 2026-03-01 and answered by Ben, 2026-03-02"
    assert (mounted.mounting, mounted.source) == ("surface", "shop's library, answered by Ben, 2026-03-02")


def used_elsewhere(address, given, height_mm, board=TORCH):
    stated = {"height": (Interval.exactly(height_mm), "parts.csv:9 height")}
    with open_store(address) as store:
        store.keep_revision(Revision(board, f"h{height_mm}", (), given), [Used(NUMBER, ("Q1",), stated)])


def test_a_part_that_another_board_states_differently_is_a_finding(folder, address, given):
    from capcheck import check_board
    from capcheck.shop import Choice, chosen_rules

    (folder / "bom.csv").write_text(BOM.replace("AB-123,", "AB-123,1.2"))

    def told():
        board = read_board(folder, libraries=Libraries((), address))
        findings = check_board(board, None, chosen_rules(Choice())).findings
        return [f.message for f in findings if f.rule == "one-size-a-number"]

    used_elsewhere(address, given(), 1.2)
    assert told() == []
    used_elsewhere(address, given(day=2), 2)
    (message,) = told()
    assert "AB-123 has height 1.2 mm by bom.csv:2 height" in message
    assert "and 2 mm by parts.csv:9 height of board Torch of Umbra, seen 2026-03-02" in message
    # An earlier revision of the same board is no other board.
    used_elsewhere(address, given(day=3), 2, BoardKey("Lamp"))
    assert len(told()) == 1
    # What the store keeps is weighed with the other sources, and is not told twice.
    keep(address, given(), NUMBER, 2, 2)
    assert told() == []

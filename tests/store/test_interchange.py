"""A package library in CSV goes into the store and comes back as it was; where the two differ, somebody decides.

Figures: invented.
"""

import csv
import datetime as dt
import io
import math

import pytest
from depth import sample_size
from hypothesis import given as random_, settings, strategies as st

from capcheck.cli import main
from capcheck.store import (
    EVERYONE,
    Figure,
    Given,
    PartKey,
    Scope,
    Statement,
    as_csv,
    open_store,
    statements_of_file,
)
from capcheck.values import Interval

LISTED = (
    "part number,footprint,value,reference,board,"
    "length [mm],width [mm],height [mm],mass [g],pins,mounting,length along x\n"
    "AB-123,,,,,3,1 to 2,max 1.2,0.1,8,surface,\n"
    ",X-0603,4K7,,,,,0.5,,,,\n"
    ",,,U7,Lamp,,,9,,,,\n"
    "CD*,,,,,4,2.5,,,,,yes\n"
)


@pytest.fixture
def listed(tmp_path):
    path = tmp_path / "packages.csv"
    path.write_text(LISTED)
    return path


def run(capsys, *arguments):
    code = main(["library", *map(str, arguments), "--no-config"])
    told = capsys.readouterr()
    return code, told.out, told.err


def rows(text):
    read = csv.DictReader(io.StringIO(text))
    return sorted(tuple(sorted((k, v) for k, v in row.items() if v and k != "source")) for row in read)


def test_a_list_comes_back_as_it_went_in(capsys, address, listed):
    code, out, _ = run(capsys, "import", listed, "--store", address, "--by", "Ada")
    assert (code, out.splitlines()[-1].partition(";")[0]) == (0, "11 new figures, 0 different, 0 the same")
    code, out, err = run(capsys, "export", "--store", address)
    assert (code, err) == (0, "")
    assert rows(out) == rows(LISTED)
    again = listed.with_name("again.csv")
    again.write_text(out)
    code, out, _ = run(capsys, "import", again, "--store", address, "--by", "Ben")
    assert (code, out.splitlines()[-1].partition(";")[0]) == (0, "0 new figures, 0 different, 11 the same")


@pytest.mark.parametrize(
    ("holds", "expected"),
    [
        ([], (1, "max 1.2", "")),
        (["--holds", "store"], (0, "max 1.2", "7")),
        (["--holds", "file"], (0, "1.1", "7")),
    ],
)
def test_where_a_list_differs_both_are_shown_and_nothing_is_written_until_one_side_holds(
    capsys, address, listed, holds, expected
):
    run(capsys, "import", listed, "--store", address, "--by", "Ada")
    listed.write_text("part number,height [mm],mass [g]\nAB123,1.1,\nNEW,7,\n")
    code, out, _ = run(capsys, "import", listed, "--store", address, "--by", "Ben", *holds)
    assert "AB123: height 1.1 mm (imported by Ben, " in out
    assert "; the store has at most 1.2 mm (imported by Ada, " in out
    _, written, _ = run(capsys, "export", "--store", address)
    heights = {row["part number"]: row["height [mm]"] for row in csv.DictReader(io.StringIO(written))}
    assert (code, heights["AB-123"], heights.get("NEW", "")) == expected


def test_a_preview_writes_nothing(capsys, address, listed):
    open_store(address).close()
    code, out, _ = run(capsys, "import", listed, "--store", address, "--by", "Ada", "--preview")
    assert code == 0
    assert "nothing was written" in out
    with open_store(address) as store:
        assert store.figures() == []


def test_a_reference_without_a_board_is_refused_with_its_row(capsys, address, listed):
    listed.write_text("reference,height [mm]\nU1,3\n")
    code, out, err = run(capsys, "import", listed, "--store", address, "--by", "Ada")
    assert (code, out) == (2, "")
    assert "packages.csv:2: names references and no board" in err
    code, _, _ = run(capsys, "import", listed, "--store", address, "--by", "Ada", "--board", "Lamp")
    assert code == 0


def test_what_is_kept_for_a_customer_is_not_written_into_everyones_list(capsys, address, given):
    with open_store(address) as store:
        key = PartKey(part_number="AB")
        store.record([Statement(key, {"pins": 8}, given()), Statement(key, {"pins": 9}, given(), Scope("Umbra"))])
    code, out, err = run(capsys, "export", "--store", address)
    assert [row["pins"] for row in csv.DictReader(io.StringIO(out))] == ["8"]
    assert (code, err) == (0, "1 figure not written: kept for others than everyone, or without an upper bound\n")
    _, out, _ = run(capsys, "export", "--store", address, "--customer", "Umbra")
    assert [row["pins"] for row in csv.DictReader(io.StringIO(out))] == ["9"]


def test_show_tells_what_stands_what_stood_and_the_boards(capsys, address, given):
    with open_store(address) as store:
        key = PartKey(part_number="AB-1")
        store.record([Statement(key, {"height": Interval(1, 1)}, given("Ada", 1))])
        store.record([Statement(key, {"height": Interval(2, 2)}, given("Ben", 2, link="sheet 7"))])
    code, out, _ = run(capsys, "show", "ab1", "zz", "--store", address)
    assert code == 0
    assert out.splitlines() == [
        "ab1",
        "  height: 2 mm (answered by Ben, 2026-03-02, sheet 7)",
        "  before: height: 1 mm (answered by Ada, 2026-03-01, until 2026-03-02)",
        "zz",
        "  the store knows nothing of it",
    ]


@pytest.mark.parametrize(
    "arguments", [["show", "AB"], ["export"], ["import"], ["import", "none.csv", "--by", "Ada"], ["create", "AB"]]
)
def test_what_cannot_be_done_ends_with_2_and_makes_no_store(capsys, tmp_path, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(capsys, *arguments, "--store", "parts.db")
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_a_board_is_kept_offered_and_found_again(capsys, shop, address):
    board, line = shop / "irrigation-controller", shop / "lines" / "mixed.line.toml"
    open_store(address).close()
    kept = ["--store", address, "--no-config"]
    assert main(["check", str(board), "--line", str(line), *kept, "--keep", "--by", "Ada", "--label", "A"]) in {0, 1}
    assert "a new revision; its files state 54 figures the store does not have" in capsys.readouterr().err
    code, out, _ = run(capsys, "offer", board, "--store", address)
    assert (code, out.splitlines()[-1]) == (0, "54 new figures, 0 different, 0 the same; nothing was written")
    code, _, _ = run(capsys, "offer", board, "--store", address, "--keep")
    assert code == 0
    _, out, _ = run(capsys, "show", "W-37021", "--store", address)
    assert "  height: 4.3 mm (stated by Irrigation controller, " in out
    assert "  used on Irrigation controller: A (1 a board)" in out
    with open_store(address) as store:
        (revision,) = store.revisions()
        assert store.results(revision.board)[0].line == "Line 1, mixed"
        assert {role for _, role, _ in revision.files} >= {"placements", "bom"}


SIZES = st.tuples(st.floats(0, 30), st.floats(0.001, 30)).map(lambda t: Interval(round(t[0], 6), round(t[0] + t[1], 6)))
BODIES = st.fixed_dictionaries(
    {"height": SIZES},
    optional={
        "length": SIZES,
        "pitch": SIZES,
        "mass": SIZES,
        "pins": st.integers(1, 2000),
        "supply": st.sampled_from(["tape", "tray", "stick"]),
        "polarised": st.booleans(),
    },
)
GIVEN = Given("Ada", dt.datetime(2026, 1, 1, tzinfo=dt.UTC), "imported")  # invented


@random_(st.lists(BODIES, min_size=1, max_size=6))
@settings(max_examples=sample_size(60), deadline=None)
def test_whatever_stands_is_read_back_from_the_list_as_it_stands(tmp_path_factory, bodies):
    figures = [
        Figure(PartKey(part_number=f"P{i}"), EVERYONE, field, value, GIVEN)
        for i, body in enumerate(bodies)
        for field, value in body.items()
    ]
    text, left_out = as_csv(figures)
    path = tmp_path_factory.mktemp("list") / "packages.csv"
    path.write_text(text)
    read = {s.key.part_number: dict(s.values) for s in statements_of_file(path, GIVEN)}
    assert left_out == 0
    assert read.keys() == {f"P{i}" for i in range(len(bodies))}
    for i, body in enumerate(bodies):
        assert read[f"P{i}"].keys() == body.keys()
        for field, value in body.items():
            found = read[f"P{i}"][field]
            if isinstance(value, Interval):
                assert math.isclose(found.low, value.low, abs_tol=1e-9)
                assert math.isclose(found.high, value.high, abs_tol=1e-9)
            else:
                assert found == value

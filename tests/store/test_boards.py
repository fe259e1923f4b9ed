"""Boards, their revisions and results, and where a part is used. Figures: invented.

Figures: invented.
"""

from capcheck.store import EVERYONE, BoardKey, PartKey, Result, Revision, Statement, Used
from capcheck.values import Interval

LAMP, OTHER = BoardKey("Lamp", "Umbra"), BoardKey("Lamp", "Noctua")
KEY, SECOND = PartKey(part_number="AB-123"), PartKey(footprint="X1", value="4K7")


def test_a_revision_is_kept_once_with_its_files_results_and_parts(store, given):
    files = (("bom.csv", "bom", "aa"), ("xy.csv", "placements", "bb"))
    first = Revision(LAMP, "h1", files, given(day=1), "A")
    used = [Used(KEY, ("U1", "U2"), {"height": (Interval(1, 1.2), "bom.csv:4")}), Used(SECOND, ("R1",), {})]
    result = Result(LAMP, "h1", "line 1", "warn", {"pass": 3, "warn": 1}, given(day=1), "0.1")
    assert store.keep_revision(first, used, [result]) is True
    later = Result(LAMP, "h1", "line 1", "pass", {"pass": 4}, given(day=2), "0.1")
    assert store.keep_revision(first, used, [later]) is False
    second = Revision(LAMP, "h2", files[:1], given(day=3), "B")
    assert store.keep_revision(second, used[:1]) is True
    assert store.revisions(LAMP) == [first, second]
    assert store.results(LAMP) == [result, later]
    assert store.revisions(OTHER) == [] == store.results(OTHER)


def test_a_part_knows_the_boards_that_use_it_and_what_they_state(store, given):
    for board, height in ((LAMP, Interval(1, 1)), (OTHER, Interval(2, 2))):
        used = Used(KEY, ("U1",), {"height": (height, "bom.csv:4")})
        store.keep_revision(Revision(board, "h", (), given(), "A"), [used])
    found = store.used_on([PartKey(part_number="ab123")])
    assert [(u.board, u.used.stated["height"]) for u in found] == [
        (LAMP, (Interval(1, 1), "bom.csv:4")),
        (OTHER, (Interval(2, 2), "bom.csv:4")),
    ]
    assert store.used_on([SECOND]) == [] == store.used_on([])


def test_the_store_s_state_is_another_after_anything_was_written(store, given):
    seen = [store.state()]
    for step in (
        lambda: store.record([Statement(KEY, {"pins": 8}, given())]),
        lambda: store.record([Statement(KEY, {"pins": 9}, given())]),
        lambda: store.withdraw(KEY, ["pins"], given(), EVERYONE),
        lambda: store.keep_revision(Revision(LAMP, "h1", (), given())),
    ):
        step()
        seen.append(store.state())
        assert store.state() == seen[-1]
    assert len(set(seen)) == len(seen)

"""Which of two names is the newer one, where names tell."""

import pytest

from capcheck.intake.tables.revision_names import names_a_revision, newer, newest

ORDERED = [
    ("rev A", "rev B"),
    ("BOM_RevA", "BOM_RevC"),
    ("Rev. 02", "Rev. 10"),
    ("bom rev 1.9", "bom rev 1.10"),
    ("V1", "V2"),
    ("bom_v1.2", "bom_v1.3"),
    ("bom_old", "bom"),
    ("bom", "bom_new"),
    ("Stückliste alt", "Stückliste"),
    ("Stückliste veraltet", "Stückliste aktuell"),
    ("nomenclature ancienne", "nomenclature nouvelle"),
    ("lista antigua", "lista"),
    ("部品表_旧", "部品表_新"),
    ("旧版", "新版"),
    ("bom_20240131", "bom_20240201"),
    ("bom 2023-12-31", "bom 2024-01-01"),
    ("bom 31.12.2023", "bom 01.01.2024"),
    ("231231_bom", "240101_bom"),
    ("révision A", "révision B"),
    ("bom_rev1_20240101", "bom_rev2_20240201"),
]


@pytest.mark.rows(("older", "later"), ORDERED)
def test_names_tell_the_newer_one(older, later):
    assert (newer(later, older), newer(older, later)) == (1, -1)


@pytest.mark.rows(
    ("one", "two"),
    [
        ("bom", "parts list"),
        ("bom_A", "bom_B"),
        ("bom_top", "bom_bottom"),
        ("rev A", "rev 1"),
        ("bom", "bom rev B"),
        ("rev B", "rev B"),
        ("bom_rev1_20240201", "bom_rev2_20240101"),
        ("bom_rev_B_old", "bom_rev_A"),
        ("bom 02-03-2024", "bom 03-02-2024"),
    ],
)
def test_other_names_tell_nothing(one, two):
    assert (newer(one, two), newer(two, one)) == (0, 0)


def test_the_newest_of_several_is_newer_than_all():
    assert newest(["rev B", "rev C", "rev A"]) == 1
    assert newest(["rev B", "rev C", "bom"]) is None


def test_a_history_names_no_revision():
    assert names_a_revision("Revision B")
    assert not names_a_revision("Revision history")

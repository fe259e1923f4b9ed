"""Kinds of parts that have no balls; common practice, no source."""

import pytest

from capcheck.model import Basis
from capcheck.packages.terminations import no_balls


@pytest.mark.parametrize(
    ("kind", "prefix"), [("inductor", "L"), ("fuse", "F"), (None, "SW"), (None, "BT"), (None, "bz")]
)
def test_a_kind_that_is_never_sold_with_balls_is_said_to_have_none(kind, prefix):
    found = no_balls(kind, prefix)
    assert found.lead_style == "other"
    assert found.basis is Basis.BOUND


@pytest.mark.parametrize(
    ("kind", "prefix"), [(None, "U"), (None, "K"), (None, "J"), (None, "D"), ("crystal", "Y"), (None, "")]
)
def test_other_kinds_are_left_open(kind, prefix):
    assert no_balls(kind, prefix) is None

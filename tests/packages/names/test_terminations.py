"""Kinds of parts that have no balls; common practice, no source."""

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names.terminations import no_balls


@pytest.mark.rows(("kind", "prefix"), [("inductor", "L"), ("fuse", "F"), (None, "SW"), (None, "BT"), (None, "bz")])
def test_a_kind_that_is_never_sold_with_balls_is_said_to_have_none(kind, prefix):
    found = no_balls(kind, prefix)
    assert found.lead_style == "other"
    assert found.basis is Basis.BOUND


@pytest.mark.rows(
    ("kind", "prefix", "family"),
    [
        (None, "J", None),
        (None, "CN", None),
        ("led", "LED", None),
        (None, "K", None),
        (None, "X1", "connector"),
        (None, "", "pin header"),
    ],
)
def test_a_connector_a_lamp_and_a_relay_have_leads_of_a_form_not_known(kind, prefix, family):
    assert no_balls(kind, prefix, family).lead_style == "leads"


@pytest.mark.parametrize("text", ["CONN HD ARRAY 143POS", "BGA SOCKET 256", "MEZZANINE 2x20", "stacking connector"])
def test_a_connector_that_may_stand_on_a_grid_is_left_open(text):
    assert no_balls(None, "J", "connector", text) is None


@pytest.mark.rows(("kind", "prefix"), [(None, "U"), ("led", "U"), (None, "Q"), (None, "FL"), (None, "")])
def test_other_kinds_are_left_open(kind, prefix):
    assert no_balls(kind, prefix) is None


@pytest.mark.rows(
    ("kind", "prefix", "text"),
    [
        ("diode", "D", "ESD protection"),
        ("diode", "D", "TVS ARRAY"),
        ("resistor", "R", "BGA NETWORK"),
        ("capacitor", "C", "CSP"),
        ("crystal", "Y", "MEMS OSC 32k"),
        ("crystal", "X", "TCXO 26MHz"),
        ("led", "DRV", "LED driver"),
    ],
)
def test_a_passive_that_may_be_a_network_or_a_circuit_is_left_open(kind, prefix, text):
    assert no_balls(kind, prefix, None, text) is None


@pytest.mark.parametrize(("kind", "style"), [("crystal", "leads"), ("diode", "leads"), ("capacitor", "other")])
def test_a_plain_passive_has_no_balls(kind, style):
    assert no_balls(kind, "Y").lead_style == style


def test_what_a_name_says_of_the_leads_goes_before_the_kind():
    lamp, plain = bodies_of(
        [PartName(footprint="LED PLCC2 3.5x2.8", ref_prefix="LED"), PartName(footprint="QX-USB-7", ref_prefix="J")]
    )
    assert lamp.lead_style == "molded"
    assert plain.lead_style == "leads"
    assert plain.hidden_joints is None

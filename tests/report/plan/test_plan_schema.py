"""The JSON of plans and comparisons is as its schema says, and every figure of it can be redone from it alone.

Figures: rates, minutes, reels and hours are invented.
"""

import importlib.util
import json
from pathlib import Path

import jsonschema
import pytest

from capcheck.checking import prepare
from capcheck.planning import PlanSettings, Supply, compare, compose, plan
from capcheck.report import (
    comparison_json,
    comparison_schema,
    composed_json,
    json_text,
    plan_json,
    plan_schema,
)
from capcheck.shop import Settings
from capcheck.shop.costs import Costs

_SPEC = importlib.util.spec_from_file_location("redone_from_json", Path(__file__).with_name("redone_from_json.py"))
redone_from_json = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(redone_from_json)
RATES = {
    "currency": "EUR",
    "machine_hour": 40,
    "machines": {"reflow oven": 12},
    "operator_hour": [34, 38],
    "operators": 2,
    "batch": [100, 200],
    "board_minutes": 20,
    "feeder_minutes": 1.5,
    "feeder_hour": 0.03,
    "hand_hour": 34,
    "hand_seconds": 6,
    "good": [0.98, 1],
    "shift_hours": 7.5,
    "refill_minutes": 2,
}
BENCH = '\n[[bench]]\nname = "table"\ntakes = ["through-hole"]\nseconds = "8 s"\npeople = 2\nlength = "2 m"\n'


def closed(schema):
    """Return a schema in which no object has a key that is not named."""
    if isinstance(schema, list):
        return [closed(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    more = {"additionalProperties": False} if "properties" in schema else {}
    return {**{key: closed(value) for key, value in schema.items()}, **more}


def as_data(data):
    return json.loads(json_text(data))


@pytest.fixture(scope="module")
def planned(shop, tmp_path_factory):
    folder = tmp_path_factory.mktemp("lines")
    text = (shop / "lines" / "full.line.toml").read_text(encoding="utf-8").replace("../", f"{shop}/")
    line = folder / "full.line.toml"
    line.write_text(text + BENCH)
    return plan(
        [shop / "irrigation-controller", shop / "flow-sensor"],
        line,
        per_year=[5000, 800],
        settings=PlanSettings(time_limit=4.0, hours_per_year=1500.0, set_up="each"),
        changes=True,
        break_even=True,
        supply=Supply({"W-31001": 4000, "W-32001": 5000}, 6.0),
        shop=prepare(Settings(costs=Costs.model_validate(RATES)), None),
    )


@pytest.fixture(scope="module")
def data(planned):
    return as_data(plan_json(planned.plan, planned.changes, by_hand=planned.given.by_hand, hand_seconds=6.0))


def test_every_figure_of_a_plan_can_be_redone_from_its_json_alone(data):
    found = list(redone_from_json.redone(data))
    assert [one for one in found if not redone_from_json.near(*one[1:])] == []
    names = {name for name, *_ in found}
    assert names >= {"cycle", "load", "trips", "hours available", "cost of a good board", "refills", "bench", "slots"}
    assert len(found) > 300


@pytest.mark.parametrize("asked", [None, 0.5])
def test_a_line_with_options_an_uptime_and_a_board_of_unknown_length_can_be_redone_too(shop, make_board, asked):
    rows = ["R1,9,10,0,top,XQ99,R0603", "R2,300,10,0,top,XQ99,R0603"]
    settings = PlanSettings(time_limit=3.0, hours_per_year=1500.0, uptime=asked)
    line = shop / "lines" / "modular.line.toml"
    both = [make_board(rows), shop / "irrigation-controller"]
    told = as_data(plan_json(plan(both, line, per_year=[800, 900], settings=settings).plan))
    assert [one for one in redone_from_json.redone(told) if not redone_from_json.near(*one[1:])] == []
    jsonschema.Draft202012Validator(closed(plan_schema())).validate(told)
    assert told["uptime"] == [asked or 0.8] * 2
    (time,) = (m for s in told["set_ups"] for t in s["times"] if t["board"].startswith("board") for m in t["machines"])
    # Longer than the buffers take for sure, and perhaps than one stop: 6 s, and 5 s at the slow end.
    assert [(t["name"], t["seconds"]) for t in time["sum"]][::2] == [("board transfer", 6.0), ("second stop", 5.0)]
    assert (time["fast"]["transfer_s"], time["fast"]["second_stop_s"]) == (6.0, 0.0)


def test_a_plan_is_as_its_schema_says_and_has_no_key_that_it_lacks(data):
    jsonschema.Draft202012Validator(closed(plan_schema())).validate(data)
    assert data["by_hand"]
    assert data["costs"]
    assert data["changeovers"]


def test_feeders_tell_value_and_package_as_the_customer_has_them(data):
    feeders = {f["part_number"]: f for s in data["set_ups"] for f in s["feeders"]}
    assert (feeders["W-32002"]["value"], feeders["W-32002"]["package"]) == ("4k7 1%", "1005M")


def test_a_plan_that_lacks_places_and_comparisons_are_as_their_schemas_say(shop):
    board, quick = [shop / "irrigation-controller"], PlanSettings(time_limit=3.0)
    compared = compare(board, [shop / "lines" / "chip.line.toml"], settings=quick)
    of_lines = as_data(comparison_json(compared))
    assert of_lines["lines"][0]["plan"]["shortage"]
    stock = [shop / "machines" / f"{name}.machine.toml" for name in ("chip-placer", "fine-pitch-placer")]
    composed = [as_data(composed_json(compose(board, some, settings=quick), "cycle")) for some in (stock, stock[:1])]
    assert composed[1]["plan"] is None
    checked = jsonschema.Draft202012Validator(closed(comparison_schema()))
    for one in (of_lines, *composed):
        checked.validate(one)


@pytest.mark.parametrize(("what", "schema"), [("plan", plan_schema), ("compare", comparison_schema)])
def test_the_schemas_are_printed(run, what, schema):
    assert json.loads(run("schema", what)[1]) == schema()
    jsonschema.Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("schema", [plan_schema, comparison_schema])
def test_every_key_of_the_schema_is_described_and_ends_tell_their_unit(schema):
    general = "least and greatest value; null is without bound"
    silent = [
        f"{name}.{key}"
        for name, one in schema()["$defs"].items()
        for key, holds in one.get("properties", {}).items()
        if holds.get("description", general) == general
    ]
    assert silent == []

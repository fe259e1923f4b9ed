"""Layers of a configuration: shop, customer, board.

Figures: names, limits and boards are invented.
"""

import os
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.shop import read_configuration, settle, shown
from capcheck.shop.settings import chosen_rules
from capcheck.values.errors import InputError

SHOP = """
line = "all.line.toml"
rules = ["shop-rules"]
product_class = 2
[limits]
"fiducial-count.least" = 2
"body-gap.least" = "0.2 mm"
[assumed]
thickness = "1.6 mm"
[panel]
rail = "5 mm"
gap = "2 mm"
[losses]
"up to 1005M" = { share = 0.02, least = 40 }
[[waiver]]
rule = "part-height"
reason = "of the shop"
who = "Ada"
until = 2099-12-31
[customers.Umbra]
boards = ["quotes/umbra"]
product_class = 3
rules = ["umbra-rules"]
[customers.Umbra.limits]
"fiducial-count.least" = 3
[customers.Umbra.losses]
"up to 1005M" = { share = 0.01 }
[[customers.Umbra.waiver]]
rule = "feeder-slots"
reason = "of the customer"
who = "Ben"
until = 2099-12-31
[boards."quotes/umbra/pump"]
line = "pump.line.toml"
panel = { rail = "8 mm" }
limits.fiducial-count.least = 4
assumed.thickness = "1 mm"
[boards."quotes/lent.zip"]
customer = "umbra"
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    for folder in ("quotes/umbra/pump", "quotes/umbra/lamp", "quotes/noctua"):
        (tmp_path / folder).mkdir(parents=True)
    path = tmp_path / "capcheck.toml"
    path.write_text(SHOP)
    return path


def settled(shop: Path, board: str, **more):
    return settle(read_configuration(shop), board=shop.parent / board, **more)


def test_each_layer_changes_only_what_it_names(shop: Path) -> None:
    pump, lamp, other = (settled(shop, f"quotes/{name}") for name in ("umbra/pump", "umbra/lamp", "noctua"))
    assert [s.choice.limits["fiducial-count"]["least"] for s in (other, lamp, pump)] == [2, 3, 4]
    assert {s.choice.limits["body-gap"]["least"] for s in (other, lamp, pump)} == {"0.2 mm"}
    assert [s.product_class for s in (other, lamp, pump)] == [2, 3, 3]
    assert [s.assumed.thickness for s in (other, lamp, pump)] == [1.6, 1.6, 1]
    assert [(s.panel.rail, s.panel.gap) for s in (other, lamp, pump)] == [(5, 2), (5, 2), (8, 2)]
    assert [s.line.name for s in (other, lamp, pump)] == ["all.line.toml", "all.line.toml", "pump.line.toml"]
    assert [s.customer for s in (other, lamp, pump)] == ["", "Umbra", "Umbra"]
    assert [[w.reason for w in s.waivers] for s in (other, pump)] == [
        ["of the shop"],
        ["of the customer", "of the shop"],
    ]
    assert [[f.name for f in s.choice.folders] for s in (other, pump)] == [
        ["shop-rules"],
        ["umbra-rules", "shop-rules"],
    ]
    losses = pump.configuration.values.losses["up to 1005M"]
    assert (losses.share, losses.least) == (0.01, 40)


def test_a_board_is_known_by_its_folder_its_board_toml_its_archive_or_whose_it_is_said_to_be(shop: Path) -> None:
    assert settled(shop, "quotes/umbra/pump/board.toml").layers == settled(shop, "quotes/umbra/pump").layers
    assert settled(shop, "quotes/umbra/order.zip").customer == "Umbra"
    assert settled(shop, "quotes/lent.zip").product_class == 3
    assert settled(shop, "quotes/noctua", customer="UMBRA").choice.limits["fiducial-count"]["least"] == 3
    # A folder whose name begins like another's is another one.
    (shop.parent / "quotes/umbrage").mkdir()
    assert settled(shop, "quotes/umbrage").customer == ""


def test_one_run_of_many_boards_settles_each_by_its_own_layers(shop: Path) -> None:
    first = settled(shop, "quotes/noctua", limits={"body-gap": {"least": "9 mm"}})
    pump = first.of_board(shop.parent / "quotes/umbra/pump")
    assert pump.layers == settled(shop, "quotes/umbra/pump").layers
    assert pump.choice.limits["body-gap"]["least"] == "9 mm"
    assert pump.of_board(shop.parent / "quotes/noctua").layers == first.layers


def test_every_value_is_shown_with_its_layer_and_line(shop: Path) -> None:
    lines = SHOP.splitlines()
    rows = shown(settled(shop, "quotes/umbra/pump", limits={"body-gap": {"least": "9 mm"}}))

    def of(key: str) -> str:
        return next(row for row in rows if row.startswith(f"{key} "))

    def ends(key: str, layer: str, text: str) -> None:
        assert of(key).endswith(f"{layer}  {shop}:{lines.index(text) + 1}"), of(key)

    ends("line", "board quotes/umbra/pump", 'line = "pump.line.toml"')
    ends("limits.fiducial-count.least", "board quotes/umbra/pump", "limits.fiducial-count.least = 4")
    ends("assumed.thickness", "board quotes/umbra/pump", 'assumed.thickness = "1 mm"')
    ends("panel.gap", "shop", 'gap = "2 mm"')
    ends("panel.rail", "board quotes/umbra/pump", 'panel = { rail = "8 mm" }')
    ends("product_class", "customer Umbra", "product_class = 3")
    ends("waiver 2", "shop", "[[waiver]]")
    assert of("customer").endswith("customer Umbra")
    assert of("limits.body-gap.least").endswith("command line")
    assert "customer Umbra" in of("waiver 1")
    assert of("units").endswith("default")
    assert of("no such board").endswith(f"board quotes/lent.zip  {shop}")
    rows = shown(settled(shop, "quotes/umbra/lamp"))
    ends("limits.fiducial-count.least", "customer Umbra", '"fiducial-count.least" = 3')


@pytest.mark.rows(
    ("text", "said"),
    [
        ('[customers.Umbra]\n[boards.pump]\ncustomer = "Umbar"\n', r":3: .*did you mean \"Umbra\"|Umbar"),
        ("[customers.Umbra]\nboard = 'x'\n", "board"),
        ("[boards.pump]\nfacts = ['x.py']\n", "facts"),
        ("[boards.pump]\nstore = 'x.db'\n", "store"),
        ("[customers.Umbra]\n[customers.UMBRA]\nproduct_class = 3\n", r':2.*customers "Umbra" and "UMBRA"'),
        ("[customers.A]\nboards = ['x']\n[customers.B]\nboards = ['./x']\n", r":4.*customer A.*customer B"),
        ("[boards.x]\nstrict = true\n[boards.'./x']\nstrict = false\n", r":3.*\"x\" and \"./x\""),
    ],
)
def test_a_layer_that_cannot_hold_is_refused_where_it_stands(shop: Path, text: str, said: str) -> None:
    shop.write_text(text)
    with pytest.raises(InputError, match=said) as caught:
        read_configuration(shop)
    assert str(shop) in str(caught.value)


def test_a_limit_of_a_layer_that_fits_no_rule_is_told_at_its_line(shop: Path) -> None:
    shop.write_text('[boards.pump]\n[boards.pump.limits]\n"fiducial-count.lest" = 3\n')
    with pytest.raises(InputError, match="did you mean") as caught:
        chosen_rules(settle(read_configuration(shop), board=shop.parent / "pump").choice)
    assert f"{shop}:3" in str(caught.value)
    # For another board it changes nothing.
    chosen_rules(settle(read_configuration(shop), board=shop.parent / "lamp").choice)


def test_what_the_customer_sends_is_no_layer(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from capcheck.shop import configuration_of

    pump = shop.parent / "quotes/umbra/pump"
    (pump / "capcheck.toml").write_text("[limits]\nfiducial-count.least = 0\n")
    monkeypatch.chdir(shop.parent)
    found = settle(configuration_of([pump]), board=pump)
    assert found.choice.limits["fiducial-count"]["least"] == 4
    assert [other.path for other in found.configuration.not_obeyed] == [Path("quotes/umbra/pump/capcheck.toml")]


def test_python_that_only_a_layer_names_needs_trust_as_the_shop_s_does(shop: Path, monkeypatch) -> None:
    from capcheck.shop import configuration_of

    (shop.parent / "own").mkdir()
    (shop.parent / "own" / "some.rules.py").write_text("raise SystemExit('it ran')\n")
    shop.write_text('[boards."quotes/noctua"]\nrules = ["own"]\n')
    monkeypatch.chdir(shop.parent)
    with pytest.raises(InputError, match="nobody has said that it is trusted"):
        settle(configuration_of(["quotes/noctua"]), board="quotes/noctua")


@given(
    st.lists(st.sampled_from(["shop", "customer", "board"]), unique=True),
    st.dictionaries(st.sampled_from(["fiducial-count.least", "body-gap.least"]), st.integers(1, 9), max_size=2),
)
def test_the_innermost_layer_that_names_a_limit_decides_it(tmp_path_factory, naming, other) -> None:
    folder = tmp_path_factory.getbasetemp() / "layered"
    folder.mkdir(exist_ok=True)
    tables = {"shop": "limits", "customer": "customers.Umbra.limits", "board": 'boards."pump".limits'}
    text = ""
    for number, (layer, table) in enumerate(tables.items(), 1):
        limits = dict(other) if layer == "shop" else {}
        if layer in naming:
            limits["line-length.most"] = number
        text += f"[{table}]\n" + "".join(f'"{name}" = {value}\n' for name, value in limits.items())
    (folder / "capcheck.toml").write_text(text)
    limits = settle(read_configuration(folder / "capcheck.toml"), board=folder / "pump", customer="Umbra").choice.limits
    wanted = max((list(tables).index(name) + 1 for name in naming), default=None)
    assert limits.get("line-length", {}).get("most") == wanted
    flat = {f"{rule}.{name}": value for rule, table in limits.items() for name, value in table.items()}
    assert {name: value for name, value in flat.items() if name != "line-length.most"} == other


def test_a_layer_s_folder_is_found_through_links_and_relative_paths(shop: Path, monkeypatch) -> None:
    if not hasattr(os, "symlink"):
        pytest.skip("no links here")
    (shop.parent / "link").symlink_to(shop.parent / "quotes/umbra/pump")
    assert settled(shop, "link").choice.limits["fiducial-count"]["least"] == 4
    monkeypatch.chdir(shop.parent / "quotes")
    assert settle(read_configuration(shop), board="umbra/pump").choice.limits["fiducial-count"]["least"] == 4

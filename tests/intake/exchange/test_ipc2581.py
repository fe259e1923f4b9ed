"""What an IPC-2581 file states of packages and components stands beside the other sources.

Figures: boards, places and heights are invented; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.checking.read import read_board
from capcheck.intake.exchange.ipc2581 import Reading2581, read_here
from capcheck.model import Basis, Mounting, Topic
from capcheck.values import InputError, Interval

SPOTS = {f"R{i}": (9 * i, 5 * i) for i in range(1, 7)}
PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n"
RESISTORS = PLACED + "".join(f"{ref},10k,0603,{x},{y},0,top\n" for ref, (x, y) in SPOTS.items())


def component(ref, package, x, y, *, layer="TOP", mount="SMT", height=""):
    high = f' height="{height}"' if height else ""
    return (
        f'<Component refDes="{ref}" packageRef="{package}" layerRef="{layer}" part="PN" mountType="{mount}"{high}>'
        f'<Xform rotation="90"/><Location x="{x}" y="{y}"/></Component>\n'
    )


def package(name, pins, pitch, *, height="0.5", kind="SURFACE"):
    each = "".join(
        f'<Pin number="{i + 1}" type="{kind}" electricalType="ELECTRICAL"><Location x="{i * pitch}" y="0"/></Pin>\n'
        for i in range(pins)
    )
    return f'<Package name="{name}" type="OTHER" height="{height}"><PickupPoint x="0" y="0"/>{each}</Package>\n'


def file(*steps, unit="MILLIMETER", revision="C", head=""):
    pairs = "".join(component(ref, "R0603", x, y) for ref, (x, y) in SPOTS.items())
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{head}<IPC-2581 revision="{revision}" xmlns="http://webstds.ipc.org/2581">\n'
        f'<Ecad name="a"><CadHeader units="{unit}"/><CadData><Layer name="TOP" side="TOP"/>'
        f'<Layer name="BOTTOM" side="BOTTOM"/><Step name="b">\n{package("R0603", 2, 1.6)}{"".join(steps)}{pairs}'
        "</Step></CadData></Ecad></IPC-2581>\n"
    )


@pytest.fixture
def parts(tmp_path):
    def read(text):
        (tmp_path / "board.xml").write_text(text)
        return read_here(str(tmp_path / "board.xml"), b"").parts

    return read


@pytest.fixture
def board(tmp_path):
    def read(text, further=""):
        (tmp_path / "placements.csv").write_text(RESISTORS + further)
        (tmp_path / "board.cvg").write_text(text)
        return read_board(tmp_path)

    return read


def notes(board):
    return [n.said.key for n in board.notes if not isinstance(n.said, str) and n.said.key.startswith("fabrication")]


def test_what_it_states_is_a_source_with_its_line(board):
    text = file(package("PLUG", 6, 2.0, height="7.25", kind="THRU"), component("J1", "PLUG", 60, 10, mount="THMT"))
    read = board(text, "J1,,,60,10,0,top\n")
    found = read.bodies[read.placements.part_type[read.placements.ref.index("J1")]]
    where = f"board.cvg:{text[: text.index('J1')].count(chr(10)) + 1} J1"
    assert (found.pins, found.mounting, found.pitch.value) == (6, Mounting.THROUGH_HOLE, Interval.exactly(2.0))
    assert (found.height.value, found.height.basis, found.height.source) == (
        Interval.exactly(7.25),
        Basis.STATED,
        where,
    )
    assert notes(read) == ["fabrication.packages used"]


@pytest.mark.parametrize(("unit", "pitch"), [("MILLIMETER", 2.0), ("INCH", 50.8), ("MICRON", 0.002)])
def test_the_unit_counts(parts, unit, pitch):
    found = parts(file(package("PLUG", 6, 2.0), component("J1", "PLUG", 1, 1), unit=unit))["J1"]
    assert found.pitch is None if unit == "MICRON" else found.pitch == (pitch, pitch)


def test_another_unit_than_it_states_is_another_board(board):
    assert notes(board(file(unit="INCH"))) == ["fabrication.another board"]


def test_a_component_and_its_pins_that_differ_leave_the_mounting_open(parts):
    found = parts(file(package("PLUG", 6, 2.0, kind="THRU"), component("J1", "PLUG", 1, 1, mount="SMT")))["J1"]
    assert found.mounting is None


def test_a_reference_of_two_steps_states_nothing(parts):
    assert "J1" not in parts(file(component("J1", "R0603", 1, 1), component("J1", "R0603", 9, 9)))


def test_a_height_that_an_export_fills_in_is_none(parts):
    steps = [package(f"P{i}", 2, 1, height="3.81") + component(f"U{i}", f"P{i}", 70 + i, 9) for i in range(4)]
    assert parts(file(*steps))["U1"].height_mm is None


def test_a_part_on_the_other_side_is_asked(board):
    read = board(file(component("C1", "R0603", 60, 10, layer="BOTTOM")), "C1,1u,0603,60,10,0,top\n")
    assert [d.refs for d in read.discrepancies if d.topic is Topic.AGAINST_LANDS] == [("C1",)]


BOMB = '<!DOCTYPE a [<!ENTITY b "b"><!ENTITY c "' + "&b;" * 100 + '"><!ENTITY d "' + "&c;" * 100 + '">]>\n'
OUTSIDE = '<!DOCTYPE a SYSTEM "http://127.0.0.1:9/a.dtd" [<!ENTITY b SYSTEM "file:///etc/hostname">]>\n'


@pytest.mark.parametrize(
    "text",
    [
        file(head=BOMB),
        file(head=OUTSIDE),
        file()[:-200],
        file(revision="D"),
        file(unit="FURLONG"),
        file().replace("</Step>", "</Stop>"),
        file().replace("refDes", "\0"),
    ],
)
def test_a_file_that_is_damaged_or_of_ill_will_is_noted_and_the_rest_goes_on(board, text, in_time):
    with in_time(2):
        read = board(text)
        assert notes(read) == ["fabrication.not read"]
        assert len(read.placements) == len(SPOTS)


def test_a_file_of_endless_pins_or_components_is_refused_before_it_is_read(tmp_path, monkeypatch):
    """Telling of each of 200,000 elements took 2 s; they are counted first."""
    monkeypatch.setattr(Reading2581, "begin", lambda *_: pytest.fail("an element was read"))
    for text in (package("P", 210_000, 1), "<Component/>" * 100_001, "<a:Component />" * 100_001):
        (tmp_path / "board.xml").write_text(file(text))
        with pytest.raises(InputError, match=r"more than [12]00,000 elements"):
            read_here(str(tmp_path / "board.xml"), b"")

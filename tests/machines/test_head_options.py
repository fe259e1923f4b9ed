"""Head and camera options: what a line has of them counts, and what contradicts itself is refused with what to do.

Figures: invented in round numbers.
"""

import html

import pytest
from hypothesis import given, strategies as st

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.machines import MachineProfile, read_line, read_machine
from capcheck.planning import compose, plan
from capcheck.report.page import html_report
from capcheck.report.plan import search_lines
from capcheck.report.report_as_text import styled_report
from capcheck.shop import Settings
from capcheck.values.errors import InputError

MACHINE = """\
name = "Placer"
[feeders]
slots = 20
slots_used = { "8 mm" = 1, "24 mm" = 1 }
[[head]]
name = "left"
max_body_length = "12 mm"
max_body_width = "12 mm"
max_part_height = "6 mm"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""
WIDE = '[[option]]\nname = "wide camera"\nmax_body_length = "40 mm"\nmax_body_width = "40 mm"\n'


def line(tmp_path, machine, options=""):
    (tmp_path / "m.machine.toml").write_text(machine)
    file = tmp_path / "l.line.toml"
    file.write_text(f'name = "L"\nmachines = ["m.machine.toml"]\n{options}\n')
    return file


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ('options = { "Placer" = ["wide camra"] }', 'did you mean "wide camera"?'),
        ('options = { "Plaser" = ["wide camera"] }', 'did you mean "Placer"?'),
        ('options = { "Placer" = ["wide camera", "other"] }', '"wide camera" and "other" both state max_body_length'),
        ("uptime = 0", "uptime"),
        ("uptime = 1.1", "uptime"),
    ],
)
def test_a_line_is_told_which_options_there_are(tmp_path, options, said):
    machine = f'{MACHINE}{WIDE}[[option]]\nname = "other"\nmax_body_length = "50 mm"\n'
    with pytest.raises(InputError) as caught:
        read_line(line(tmp_path, machine, options))
    assert said in str(caught.value)
    assert "l.line.toml:3" in str(caught.value)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ('[[option]]\nname = "a"\n', 'option "a" states nothing'),
        (WIDE + WIDE, 'two options are named "wide camera"'),
        ('[[option]]\nname = "a"\nheads = ["right"]\nmax_pins = 9\n', 'names a head "right"'),
        (
            '[[option]]\nname = "a"\nrange = [{ up_to = "10 mm" }]\n',
            'head "left" with "a": the ranges end at 10 mm, but max_body_length is 12 mm',
        ),
        ('[[option]]\nname = "a"\nmin_force = "3 N"\nmax_force = "2 N"\n', "the least force (3 N) is more than"),
        ('[[option]]\nname = "a"\nmax_force = "3 g"\n', "a force is expected"),
        ('[[option]]\nname = "a"\nmax_pin = 3\n', 'did you mean "max_pins"?'),
    ],
)
def test_options_that_contradict_themselves_are_refused(tmp_path, options, said):
    file = tmp_path / "m.machine.toml"
    file.write_text(MACHINE + options)
    with pytest.raises(InputError) as caught:
        read_machine(file)
    assert said in str(caught.value)


def test_an_option_changes_the_heads_that_it_names():
    heads = [{"name": name, "max_pins": 100} for name in ("left", "right")]
    options = [{"name": "memory", "heads": ["right"], "max_pins": 900}]
    machine = MachineProfile.model_validate({"name": "M", "head": heads, "option": options})
    assert [head.max_pins for head in machine.head] == [100, 100]
    assert [head.max_pins for head in machine.with_options(["memory"]).head] == [100, 900]


LIMITS = ("max_body_length", "max_part_height", "min_lead_pitch", "max_part_mass")
sizes = st.integers(1, 50)


@given(st.dictionaries(st.sampled_from(LIMITS), sizes), st.dictionaries(st.sampled_from(LIMITS), sizes, min_size=1))
def test_what_an_option_does_not_state_stays_as_it_is(own, other):
    def stated(limits):
        return {name: f"{value} {'g' if name.endswith('mass') else 'mm'}" for name, value in limits.items()}

    options = [{"name": "o", **stated(other)}]
    machine = MachineProfile.model_validate({"name": "M", "head": [{"name": "h", **stated(own)}], "option": options})
    (head,) = machine.with_options(["o"]).head
    assert {name: getattr(head, name) for name in LIMITS} == {name: {**own, **other}.get(name) for name in LIMITS}
    assert machine.with_options([]) == machine


@pytest.mark.parametrize(("chosen", "verdict"), [(False, "fail"), (True, "pass")])
def test_check_and_plan_count_with_the_options_that_the_line_has(make_board, tmp_path, chosen, verdict):
    listed = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width", "U1,1,PN-9,30,9,2,24"]
    folder = make_board(["U1,25,20,0,top,1,OWN LAND"], bom=listed, toml='[mounting]\n"U*" = "surface"\n')
    file = line(tmp_path, MACHINE + WIDE, 'options = { "Placer" = ["wide camera"] }' if chosen else "")
    choice = Choice(select=["largest-body", "part-height"])
    report = check(folder, line=read_line(file), choice=choice)
    planned = plan([folder], read_line(file), shop=prepare(Settings(choice=choice), None)).plan
    assert [report.verdict, planned.verdict] == [verdict] * 2
    told = report.session.get("head.max_body_length").source(0)
    assert told == "profile of Placer, head left" + (", with wide camera" if chosen else "")


def test_a_line_composed_around_one_has_none_of_its_options_and_says_so(make_board, tmp_path):
    listed = ["Ref,Qty,Part number,Length [mm],Width [mm],Height [mm],Tape width", "U1,1,PN-9,10,9,2,24"]
    folder = make_board(["U1,25,20,0,top,1,OWN LAND"], bom=listed, toml='[mounting]\n"U*" = "surface"\n')
    file = line(tmp_path, MACHINE + WIDE, 'options = { "Placer" = ["wide camera"] }')
    found = compose([folder], sorted(tmp_path.glob("*.machine.toml")), around=file, max_machines=1)
    assert found.row.plan.devices.options_of("Placer") == ()
    assert any("without" in one and "Placer" in one for one in search_lines(found, "cycle"))


SHEET = """\
[sheet]
"air supply" = "0.5 MPa"
power = 3
options = ["tray tower", 2]
"meets the hall's voltage" = true
"""


def test_sheet_note_and_options_are_shown_in_text_and_page(make_board, tmp_path):
    folder = make_board(["U1,25,20,0,top,1,OWN LAND"])
    note = MACHINE.replace("\n", '\nnote = "planned <figures>"\n', 1)
    file = line(tmp_path, note + WIDE + SHEET, 'options = { "Placer" = ["wide camera"] }')
    report = check(folder, line=read_line(file), choice=Choice(select=["largest-body"]))
    text = "\n".join(one.text for one in styled_report(report, width=100, full=True))
    rows = ["air supply: 0.5 MPa", "power: 3", "options: tray tower, 2", "meets the hall's voltage: yes"]
    for said in ["Placer, with wide camera: planned <figures>", *rows]:
        assert said in text
    page = html_report(report)
    assert "planned &lt;figures&gt;" in page
    assert all(html.escape(row, quote=True).replace("&#x27;", "&#39;") in page for row in rows)

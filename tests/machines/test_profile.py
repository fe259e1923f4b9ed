"""Machine profiles: read whole, and refused with the line at fault.

Figures: profiles are invented.
"""

import json
import textwrap

import pytest
from jsonschema import Draft202012Validator

from capcheck.cli import main
from capcheck.machines.line import LineFile, read_line, read_machine
from capcheck.machines.profile import MachineProfile
from capcheck.values.errors import InputError

MINIMAL = '[[head]]\nname = "one"\n'


def machine(tmp_path, text, name="m.machine.toml"):
    file = tmp_path / name
    file.write_text(textwrap.dedent(text))
    return file


def test_everything_but_names_may_be_left_out(tmp_path):
    profile = read_machine(machine(tmp_path, f'name = "M"\n{MINIMAL}'))
    assert profile.board.max_length is None
    assert profile.head[0].max_part_height is None
    assert profile.rated_per_hour is None


@pytest.mark.parametrize(
    ("text", "key", "line", "said"),
    [
        ('name = "M"\n[board]\nmax_lenght = "3 mm"\n' + MINIMAL, "board.max_lenght", 3, 'did you mean "max_length"?'),
        ('name = "M"\n[board]\nmax_length = "3 g"\n' + MINIMAL, "board.max_length", 3, "a length is expected"),
        ('name = "M"\n[board]\nmax_length = 300\n' + MINIMAL, "board.max_length", 3, "has no unit"),
        # reference/size_codes.csv: a code of two systems.
        (f'name = "M"\n{MINIMAL}smallest_chip = "0402"\n', "head[1].smallest_chip", 4, "metric size code"),
        (
            f'name = "M"\n{MINIMAL}smallest_chip = "9999M"\n',
            "head[1].smallest_chip",
            4,
            "not the metric code of a chip",
        ),
        ('name = "M"\n', "head", None, "missing"),
        (f'name = "M"\n{MINIMAL}{MINIMAL}', "", None, 'two heads are named "one"'),
        (
            'name = "M"\n[board]\nmin_length = "9 mm"\nmax_length = "3 mm"\n' + MINIMAL,
            "board",
            2,
            "more than the greatest",
        ),
        ('name = "M"\n[feeders]\nslots_used = { "8mm" = 1 }\n' + MINIMAL, "feeders.slots_used", 3, "is not written so"),
        ('name = "M"\n[timing]\nderate = [0.8, 0.6]\n' + MINIMAL, "timing", 2, "derate"),
    ],
)
def test_a_wrong_profile_names_key_line_and_fix(tmp_path, text, key, line, said):
    with pytest.raises(InputError) as caught:
        read_machine(machine(tmp_path, text))
    (problem,) = caught.value.problems
    assert (problem.where.column or "").startswith(key)
    assert problem.where.row == line
    assert said in str(problem)


def test_all_faults_of_a_line_and_its_machines_are_reported_together(tmp_path):
    machine(tmp_path, 'name = "A"\nwidth = 3\n' + MINIMAL, "a.machine.toml")
    machine(tmp_path, 'name = "B"\ndepth = 3\n' + MINIMAL, "b.machine.toml")
    line = tmp_path / "l.line.toml"
    line.write_text('name = "L"\nmachines = ["a.machine.toml", "b.machine.toml", "c.machine.toml"]\n')
    with pytest.raises(InputError) as caught:
        read_line(line)
    text = str(caught.value)
    assert "width" in text
    assert "depth" in text
    assert "c.machine.toml" in text


def test_two_machines_of_one_name_are_refused(tmp_path):
    machine(tmp_path, f'name = "A"\n{MINIMAL}', "a.machine.toml")
    line = tmp_path / "l.line.toml"
    line.write_text('name = "L"\nmachines = ["a.machine.toml", "a.machine.toml"]\n')
    with pytest.raises(InputError, match='two machines are named "A"'):
        read_line(line)


def test_output_per_floor_area_of_a_fast_mounter(tmp_path):
    """54,000 placements per hour on 1,254 × 1,687 mm are 25,500 per hour and m²: common practice, no source."""
    profile = read_machine(
        machine(
            tmp_path,
            f'name = "M"\nrated = "54000 1/hour"\nfloor_width = "1254 mm"\nfloor_depth = "1687 mm"\n{MINIMAL}',
        )
    )
    assert float(f"{profile.rated_per_hour_and_m2:.3g}") == 25_500


def test_the_rate_of_a_machine_is_the_sum_of_its_heads_only_if_all_are_known(tmp_path):
    heads = '[[head]]\nname = "a"\nrated = "20000 1/hour"\n[[head]]\nname = "b"\n'
    assert read_machine(machine(tmp_path, f'name = "M"\n{heads}')).rated_per_hour is None
    both = read_machine(machine(tmp_path, f'name = "M"\n{heads}rated = "15000 1/hour"\n'))
    assert both.rated_per_hour == 35_000


@pytest.mark.parametrize("what", ["machine", "line", "board", "rules"])
def test_the_schema_command_prints_a_valid_schema_in_which_every_key_is_described(what, capsys):
    assert main(["schema", what]) == 0
    schema = json.loads(capsys.readouterr().out)
    Draft202012Validator.check_schema(schema)
    for model in schema.get("$defs", {}).values():
        for key, entry in model.get("properties", {}).items():
            assert "description" in entry or "$ref" in entry, key


@pytest.mark.parametrize("field", ["buffered_length", "one_stop_length"])
def test_no_board_is_longer_than_the_longest_one(tmp_path, field):
    with pytest.raises(InputError, match="is more than the greatest"):
        read_machine(machine(tmp_path, f'name = "M"\n[board]\nmax_length = "300 mm"\n{field} = "301 mm"\n{MINIMAL}'))


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ({"timing": {"pick": "0 s"}}, "pick"),
        ({"timing": {"place": "0 s"}}, "place"),
        ({"timing": {"speed": "0 mm/s"}}, "speed"),
        ({"timing": {"board_transfer": "-1 s"}}, "board_transfer"),
    ],
)
def test_a_time_that_no_machine_has_is_told_by_its_key(table, key):
    with pytest.raises(ValueError, match=rf"timing\.{key}(?s:.*)out of range"):
        MachineProfile.model_validate({"name": "M", "head": [{"name": "h"}]} | table)


@pytest.mark.parametrize(
    "table", [{"station": [{"name": "oven", "cycle": "0 s"}]}, {"bench": [{"name": "hands", "seconds": "0 s"}]}]
)
def test_a_station_or_bench_takes_time(table):
    with pytest.raises(ValueError, match="more than 0"):
        LineFile.model_validate({"name": "L", "machines": ["m"]} | table)

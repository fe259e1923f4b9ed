"""The configuration of a shop, read strictly.

Figures: invented limits.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from capcheck.shop import configuration_of, read_configuration
from capcheck.values.errors import InputError


def faults(path: Path, text: str) -> str:
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_configuration(path)
    return str(caught.value)


def test_the_nearest_file_upwards_from_the_working_directory_wins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    near = tmp_path / "shop" / "capcheck.toml"
    near.parent.mkdir()
    (tmp_path / "capcheck.toml").write_text("strict = true\n")
    monkeypatch.chdir(near.parent)
    assert configuration_of().path == tmp_path / "capcheck.toml"
    near.write_text("")
    assert configuration_of().path == Path("capcheck.toml")
    assert not configuration_of().values.strict  # files are not mixed


def test_pyproject_counts_only_with_its_table_and_after_the_own_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shared = tmp_path / "pyproject.toml"
    shared.write_text("[project]\nname = 'capcheck-user'\n")
    assert configuration_of().path is None
    shared.write_text("[tool.capcheck]\nstrict = true\n")
    assert configuration_of().path == Path("pyproject.toml")
    assert read_configuration(shared).values.strict
    (tmp_path / "capcheck.toml").write_text("")
    assert configuration_of().path == Path("capcheck.toml")


def test_without_a_configuration_everything_is_at_its_default(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    found = configuration_of()
    assert found.path is None
    assert found.stated == frozenset()


def test_an_unknown_key_is_told_with_its_line_and_the_nearest_known_one(tmp_path: Path) -> None:
    text = faults(tmp_path / "capcheck.toml", 'select = ["size"]\nignored = ["x"]\n')
    assert "capcheck.toml:2" in text
    assert 'did you mean "ignore"?' in text


def test_a_table_for_a_text_names_the_key_that_is_one(tmp_path: Path) -> None:
    told = faults(tmp_path / "capcheck.toml", '[customer.Umbra]\nboards = ["quotes"]\n')
    assert "customer: is a table, where a text is expected; did you mean [customers]?" in told
    assert "{" not in told


def test_an_unknown_key_of_a_waiver_in_pyproject_is_told_with_its_line(tmp_path: Path) -> None:
    text = faults(
        tmp_path / "pyproject.toml",
        '[tool.capcheck]\n[[tool.capcheck.waiver]]\nrule = "a"\nreason = "b"\nwho = "c"\nuntil = 2030-01-01\n'
        '[[tool.capcheck.waiver]]\nrule = "a"\nreasn = "b"\nwho = "c"\nuntil = 2030-01-01\n',
    )
    assert "pyproject.toml:9" in text
    assert 'did you mean "reason"?' in text


def test_a_waiver_needs_reason_name_and_end(tmp_path: Path) -> None:
    text = faults(tmp_path / "capcheck.toml", '[[waiver]]\nrule = "part-height"\n')
    for key in ("reason", "who", "until"):
        assert f'the key "{key}" is missing' in text


def test_limits_read_alike_with_and_without_quotes(tmp_path: Path) -> None:
    path = tmp_path / "capcheck.toml"
    path.write_text('[limits]\n"a.most" = "1 mm"\nb.most = "2 mm"\n[limits.c]\nmost = 3\n')
    found = read_configuration(path)
    assert found.values.limits == {"a": {"most": "1 mm"}, "b": {"most": "2 mm"}, "c": {"most": 3}}
    assert [str(found.where("limits", rule, "most")).split()[0] for rule in "abc"] == [
        f"{path}:2",
        f"{path}:3",
        f"{path}:5",
    ]


def test_a_limit_without_a_name_and_a_wrong_outcome_are_told_together(tmp_path: Path) -> None:
    text = faults(tmp_path / "capcheck.toml", 'product_class = 4\nunits = "cm"\n[outcomes]\na = "ignore"\n')
    assert "product_class" in text
    assert "units" in text
    assert "outcomes.a" in text
    assert "names no limit" in faults(tmp_path / "capcheck.toml", '[limits]\npart-height = "1 mm"\n')


def test_a_line_name_that_is_misspelt_suggests_the_nearest(tmp_path: Path) -> None:
    text = faults(
        tmp_path / "capcheck.toml", 'line = "mixd"\nlines = { mixed = "a.line.toml", full = "b.line.toml" }\n'
    )
    assert 'did you mean "mixed"?' in text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[outcomes]\npart-height = "ignore"\n', '"ignore" is none of: fail, warn'),
        ('[[waiver]]\nrule = "a"\nreason = "b"\nwho = "c"\nuntil = "soon"\n', '"soon" is no date'),
        ('strict = "perhaps"\n', '"perhaps"'),
        ("rules = 3\n", "3 is not a list"),
        ("line = 3\n", "3 is not a text"),
        ("limits = 3\n", "3 is no table"),
    ],
)
def test_a_value_of_the_wrong_kind_is_told_in_plain_words(tmp_path: Path, text: str, said: str) -> None:
    message = faults(tmp_path / "capcheck.toml", text)
    assert said in message
    assert "Input should" not in message

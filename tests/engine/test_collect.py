"""Errors of rule files name file, line and key, and come all together.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

import textwrap

import pytest

from capcheck.engine.collect import choose, load_rules, rule_files
from capcheck.engine.guidelines import shipped_rules
from capcheck.facts import FACTS
from capcheck.values.errors import InputError

GOOD = """\
[[rule]]
id = "one"
title = "t"
subject = "part"
require = "part.height <= limits.most"
message = "{part.ref}"
why = "w"
remedy = "r"
basis = "b"
limits = { most = "3 mm" }
"""


def written(tmp_path, *texts):
    files = []
    for number, text in enumerate(texts):
        file = tmp_path / f"{number}.toml"
        file.write_text(textwrap.dedent(text))
        files.append(file)
    return files


@pytest.mark.parametrize(
    ("changed", "to", "row", "column", "said"),
    [
        ("part.height", "part.hight", 5, "one.require", 'did you mean "part.height"?'),
        ('"3 mm"', '"3 g"', 5, "one.require", "compares a length (part.height) with a mass (limits.most)"),
        ('"3 mm"', '"3 furlong"', 10, "one.limits", "not a unit"),
        ('subject = "part"', 'subject = "prat"', 4, "one.subject", 'did you mean "part"?'),
        ('subject = "part"', 'subject = "board"', 5, "one.require", "does not see part.height"),
        ("{part.ref}", "{part.reff}", 6, "one.message", 'did you mean "part.ref"?'),
        ("{part.ref}", "{part.ref", 6, "one.message", "write facts in braces"),
        ("{part.ref}", "{limits.least}", 6, "one.message", 'no limit "least"'),
        ('title = "t"', 'titel = "t"', 3, "rule[1].titel", 'did you mean "title"?'),
        ('title = "t"', "", 1, "rule[1].title", "missing"),
        ('id = "one"', 'id = "One Two"', 2, "rule[1].id", "is not written so"),
        ("[[rule]]", "[[rules]]", 1, "rules", "rules start with [[rule]]"),
        ('"3 mm"', "3 mm", 10, None, "TOML"),
        ('basis = "b"', 'basis = "b [1], c [987]"', 9, "one.basis", "no guideline [987]"),
        ('basis = "b"', 'basis = "b [0]"', 9, "one.basis", "no guideline [0]"),
    ],
)
def test_a_fault_names_its_place(tmp_path, changed, to, row, column, said):
    (file,) = written(tmp_path, GOOD.replace(changed, to))
    with pytest.raises(InputError) as caught:
        load_rules([file], FACTS)
    (problem,) = [p for p in caught.value.problems if said in str(p)]
    assert (problem.where.file, problem.where.row, problem.where.column) == (str(file), row, column)


def test_the_faults_of_all_files_come_together(tmp_path):
    files = written(tmp_path, GOOD.replace("part.height", "part.hight"), GOOD.replace('"3 mm"', '"3 g"'))
    with pytest.raises(InputError) as caught:
        load_rules(files, FACTS)
    assert {p.where.file for p in caught.value.problems} == {str(f) for f in files}


def test_an_id_is_used_once(tmp_path):
    with pytest.raises(InputError, match='the id "one" is taken by'):
        load_rules(written(tmp_path, GOOD, GOOD), FACTS)


def test_a_limit_can_be_changed_within_its_dimension(tmp_path):
    files = written(tmp_path, GOOD)
    (rule,) = load_rules(files, FACTS, {"one": {"most": "5 mm"}})
    assert rule.limits["most"].value == 5.0
    with pytest.raises(InputError, match="the limit is a length"):
        load_rules(files, FACTS, {"one": {"most": "5 g"}})
    with pytest.raises(InputError, match='has no limit "mots"; did you mean "most"'):
        load_rules(files, FACTS, {"one": {"mots": "5 mm"}})


def test_rules_that_ship_are_read_once_and_a_changed_limit_changes_nobody_else_s(monkeypatch):
    files = rule_files([shipped_rules()])
    first = {rule.id: rule for rule in load_rules(files, FACTS)}
    monkeypatch.setattr("capcheck.engine.collect._toml_file", None)  # nothing is read again
    changed = {rule.id: rule for rule in load_rules(files, FACTS, {"fiducial-count": {"least": 3}})}
    again = {rule.id: rule for rule in load_rules(files, FACTS)}
    assert changed["fiducial-count"].limits["least"].value == 3
    assert all(again[name] is rule for name, rule in first.items())
    assert [name for name in first if changed[name] is not first[name]] == ["fiducial-count"]


def test_a_shop_s_file_is_read_anew_each_time(tmp_path):
    (file,) = written(tmp_path, GOOD)
    assert load_rules([file], FACTS)[0].title == "t"
    file.write_text(file.read_text().replace('title = "t"', 'title = "Another"'))
    assert load_rules([file], FACTS)[0].title == "Another"


def test_rules_are_chosen_by_id_and_tag():
    rules = load_rules(rule_files([shipped_rules()]), FACTS)
    assert [rule.id for rule in choose(rules, ["part-height"])] == ["part-height"]
    assert {rule.id for rule in choose(rules, ["fiducials"])} == {r.id for r in rules if "fiducials" in r.tags}
    assert "part-height" not in {rule.id for rule in choose(rules, (), ["size"])}
    with pytest.raises(InputError, match='did you mean "part-height"'):
        choose(rules, ["part-hight"])
    with pytest.raises(InputError, match="no rule is left"):
        choose(rules, ["part-height"], ["part-height"])


def test_a_folder_without_rules_and_a_missing_file_are_errors(tmp_path):
    with pytest.raises(InputError, match="holds no rule file"):
        rule_files([tmp_path])
    with pytest.raises(InputError, match="no such rule file"):
        load_rules(rule_files([tmp_path / "none.toml"]), FACTS)

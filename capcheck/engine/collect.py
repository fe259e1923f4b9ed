"""Rule files to rules: the folder that ships, and a shop's own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from capcheck.border import line_of, load_toml, problems_of
from capcheck.engine.rule import Rule, RuleEntry, RuleError, build_rule
from capcheck.errors import InputError, Problem, Where, nearest
from capcheck.facts.catalogue import Catalogue


def shipped_rules() -> Path:
    """Return the folder of the rules that ship, in a checkout or an installed wheel."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_rules"
    return installed if installed.is_dir() else package.parent / "rules"


def rule_files(folders: Iterable[Path]) -> list[Path]:
    """Return the rule files of folders (``*.toml``, in order of name) and files as given.

    Raises :class:`InputError` for a path that does not exist and for a folder without rule files.
    """
    files: list[Path] = []
    for path in folders:
        found = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if path.is_dir() and not found:
            raise InputError(Problem(Where(str(path)), "holds no rule file", remedy="rule files end in .toml"))
        files += found
    return files


def _header_rows(text: str) -> list[int]:
    return [
        n for n, line in enumerate(text.splitlines(), 1) if line.split("#")[0].replace(" ", "").strip() == "[[rule]]"
    ]


def _entries(path: Path) -> tuple[list[tuple[RuleEntry, int, int]], str, list[Problem]]:
    from pydantic import ValidationError

    data, text = load_toml(path, "rule file")
    file = str(path)
    problems = [
        Problem(
            Where(file, line_of(text, (key,)), key), f'the key "{key}" is not known', remedy="rules start with [[rule]]"
        )
        for key in data
        if key != "rule"
    ]
    items: Any = data.get("rule", [])
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        problems.append(Problem(Where(file, column="rule"), "rules are tables", remedy="start each with [[rule]]"))
        items = []
    elif not items and not problems:
        problems.append(Problem(Where(file), "holds no rule", remedy="rules start with [[rule]]"))
    rows = _header_rows(text)
    entries = []
    for index, item in enumerate(items):
        try:
            entry = RuleEntry.model_validate(item)
        except ValidationError as error:
            problems += problems_of(error, RuleEntry, file, text, ("rule", index))
        else:
            entries.append((entry, index, rows[index] if index < len(rows) else 1))
    return entries, text, problems


def load_rules(
    files: Sequence[Path],
    catalogue: Catalogue,
    limits: Mapping[str, Mapping[str, str | float]] | None = None,
) -> list[Rule]:
    """Return the rules of *files*, in order. *limits* changes limits by rule id and limit name.

    Raises :class:`InputError` with the faults of all the files: TOML, unknown keys, unknown facts, dimensions that
    do not fit, an id that is used twice.
    """
    rules: dict[str, Rule] = {}
    problems: list[Problem] = []
    for path in files:
        try:
            entries, text, found = _entries(path)
        except InputError as error:
            problems += error.problems
            continue
        problems += found
        for entry, index, row in entries:
            if entry.id in rules:
                other = rules[entry.id]
                problems.append(
                    Problem(Where(str(path), row, "id"), f'the id "{entry.id}" is taken by {other.file}:{other.row}',
                            "waivers and configurations name rules by id", "choose another id"),
                )  # fmt: skip
                continue
            try:
                rules[entry.id] = build_rule(
                    entry, catalogue, file=str(path), row=row, overrides=(limits or {}).get(entry.id)
                )
            except RuleError as error:
                line = line_of(text, ("rule", index, error.key))
                problems.append(Problem(Where(str(path), line, f"{entry.id}.{error.key}"), str(error)))
    if problems:
        raise InputError(problems)
    return list(rules.values())


def choose(rules: Sequence[Rule], select: Iterable[str] = (), ignore: Iterable[str] = ()) -> list[Rule]:
    """Return the rules whose id or tag is in *select* (all if it is empty) and not in *ignore*.

    Raises :class:`InputError` for a name that is neither an id nor a tag, with the nearest.
    """
    select, ignore = list(select), list(ignore)
    known = {rule.id for rule in rules} | {tag for rule in rules for tag in rule.tags}
    unknown = [name for name in (*select, *ignore) if name not in known]
    if unknown:
        raise InputError(
            Problem(
                Where("rules"),
                f'there is no rule or tag "{name}"',
                remedy=nearest(name, known) or "see: capcheck rules",
            )
            for name in unknown
        )
    chosen = [
        rule
        for rule in rules
        if (not select or {rule.id, *rule.tags} & set(select)) and not {rule.id, *rule.tags} & set(ignore)
    ]
    if not chosen:
        raise InputError(Problem(Where("rules"), "no rule is left to answer", remedy="choose at least one"))
    return chosen

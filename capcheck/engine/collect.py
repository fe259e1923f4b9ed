"""Rule files to rules: the folder that ships, and a shop's own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Any

from msgspec import Struct

from capcheck.engine.definitions import KEYS, NOTHING_SHARED, Definitions, read_definitions
from capcheck.engine.guidelines import shipped_rules
from capcheck.engine.limits import ExpressionError
from capcheck.engine.python_rules import ENDING, PythonRule, rules_of_file
from capcheck.engine.rule_entries import RuleEntry
from capcheck.engine.rules import ChangedLimitError, Rule, RuleError, build_rule
from capcheck.facts import Catalogue
from capcheck.values import (
    InputError,
    Place,
    Problem,
    line_of,
    load_toml,
    nearest,
    own_table,
    problems_in_code,
    problems_of,
    read_text,
    reading,
)


def rule_files(folders: Iterable[Path]) -> list[Path]:
    """Return the rule files of folders, and files as given. Raises :class:`InputError` for a folder that holds none."""
    files: list[Path] = []
    for path in folders:
        if not (found := rule_files_there([path])) and path.is_dir():
            raise InputError.at(str(path), "holds no rule file", remedy=f"rule files end in .toml or {ENDING}")
        files += found or [path]
    return files


def rule_files_there(folders: Iterable[Path]) -> list[Path]:
    """Return the rule files that folders hold, in order of name, and the files that are there: maybe none."""
    own = ("*.toml", f"*{ENDING}")
    of_each = (sorted(f for o in own for f in p.glob(o)) if p.is_dir() else [p] for p in folders if p.exists())
    return [file for files in of_each for file in files]


def table_files(files: Iterable[Path]) -> list[Path]:
    """Return the CSV files that rule files name as tables of limits, as far as they are there."""
    found = []
    for path in files:
        if is_python(path):
            continue
        with suppress(InputError):  # a file that cannot be read is told where its rules are loaded
            tables = _content(path)[0].get("tables", {})
            listed = tables.values() if isinstance(tables, dict) else ()
            named = [t["file"] for t in listed if isinstance(t, dict) and isinstance(t.get("file"), str)]
            found += [beside for name in named if (beside := path.parent / name).is_file()]
    return found


def is_python(path: Path) -> bool:
    """Whether a rule file is Python, which runs when it is read."""
    return path.suffix == ".py"


def _header_rows(text: str) -> list[int]:
    tables = ((n, line) for n, line in enumerate(text.splitlines(), 1) if line.startswith(("[", " ", "\t")))
    return [n for n, line in tables if line.split("#")[0].replace(" ", "").strip() == "[[rule]]"]


class _Entry(Struct, frozen=True, eq=False):
    """A rule as its file says it; *line* finds the line of one of its keys."""

    entry: RuleEntry
    row: int
    line: Callable[[str], int | None] | None
    made: PythonRule | None = None

    def place(self, key: str) -> int | None:
        """Return the line of a key; a rule in Python has only the line of its function."""
        return self.row if self.line is None else self.line(key)


class _File(Struct, frozen=True, eq=False):
    """A rule file as it is written: its rules, what is wrong with them, and all that it says."""

    entries: Sequence[_Entry]
    problems: Sequence[Problem]
    data: Mapping[str, Any] = {}
    text: str = ""


def _line_of_key(text: str, index: int, key: str) -> int | None:
    return line_of(text, ("rule", index, key))


def _read(path: Path) -> _File:
    if is_python(path):
        return _python_file(path)
    return _file_that_ships(path) if _ships(path) else _toml_file(path)


def _ships(path: Path) -> bool:
    return path.parent == shipped_rules()


@cache
def _file_that_ships(path: Path) -> _File:
    """Return a file that ships, read once: whoever checks many boards needs the same ones each time."""
    return _toml_file(path)


def _content(path: Path) -> tuple[dict[str, Any], str]:
    """Return what a rule file says, with its text. Raises :class:`InputError` with the line of a fault."""
    if _ships(path):
        with suppress(OSError, ValueError):  # told below, with the line of the fault
            return own_table(path), read_text(path, "rule file")
    return load_toml(path, "rule file")


def _toml_file(path: Path) -> _File:
    from pydantic import ValidationError

    data, text = _content(path)
    file = str(path)
    problems = [
        Problem(
            Place(file, line_of(text, (key,)), key),
            f'the key "{key}" is not known',
            remedy="; ".join(
                filter(
                    None, (nearest(key, KEYS), f"rules start with [[rule]], beside them may stand {', '.join(KEYS)}")
                )
            ),
        )
        for key in data
        if key not in {"rule", *KEYS}
    ]
    items = data.get("rule", [])
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        place = Place(file, line_of(text, ("rule",)), "rule")
        problems.append(Problem(place, "rules are tables", remedy="start each with [[rule]]"))
        items = []
    elif not items and not problems and not data.keys() & set(KEYS):
        problems.append(Problem(Place(file), "holds no rule", remedy="rules start with [[rule]]"))
    rows = _header_rows(text)
    entries = []
    for index, item in enumerate(items):
        try:
            entry = RuleEntry.model_validate(item)
        except ValidationError as error:
            problems += problems_of(error, RuleEntry, file, text, ("rule", index))
        else:
            row = rows[index] if index < len(rows) else 1
            entries.append(_Entry(entry, row, partial(_line_of_key, text, index)))
    return _File(entries, problems, data, text)


def _python_file(path: Path) -> _File:
    from pydantic import ValidationError

    from capcheck.facts import row_of

    found, problems = rules_of_file(path)
    entries = []
    for made in found:
        row = row_of(made.function)
        try:
            entry = RuleEntry.model_validate(made.keys)
        except ValidationError as error:
            problems += problems_in_code(error, RuleEntry, Place(str(path), row))
        else:
            entries.append(_Entry(entry, row, None, made))
    return _File(entries, problems)


def _definitions(file: _File, path: Path, catalogue: Catalogue) -> tuple[Definitions, Catalogue, list[Problem]]:
    """Return what a file defines, and *catalogue* with the facts that it makes of others."""
    if not file.data.keys() & set(KEYS):
        return NOTHING_SHARED, catalogue, []
    if _ships(path):
        return _definitions_that_ship(path, catalogue)
    return _defined(file, path, catalogue)


@lru_cache(maxsize=64)
def _definitions_that_ship(path: Path, catalogue: Catalogue) -> tuple[Definitions, Catalogue, list[Problem]]:
    return _defined(_file_that_ships(path), path, catalogue)


def _defined(file: _File, path: Path, catalogue: Catalogue) -> tuple[Definitions, Catalogue, list[Problem]]:
    shared, problems = read_definitions(file.data, path, file.text, catalogue)
    items = file.data.get("fact", [])
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        where = Place(str(path), line_of(file.text, ("fact",)), "fact")
        return shared, catalogue, [*problems, Problem(where, "facts are tables", remedy="start each with [[fact]]")]
    if not items:
        return shared, catalogue, problems
    from pydantic import ValidationError

    from capcheck.engine.derived_facts import derived_fact, not_yet_made
    from capcheck.engine.fact_entry import FactEntry

    whole = catalogue.copy()
    for index, item in enumerate(items):
        try:
            entry = FactEntry.model_validate(item)
        except ValidationError as error:
            problems += problems_of(error, FactEntry, str(path), file.text, ("fact", index))
            continue
        place = Place(str(path), line_of(file.text, ("fact", index, "expression")), f"{entry.name}.expression")
        try:
            whole.add(derived_fact(entry, whole, shared, f"{path}:{place.row}"))
        except ExpressionError as error:
            problems.append(Problem(place, not_yet_made(items, index) or str(error)))
    return shared, whole, problems


LimitPlace = Callable[[str, str], Place]
"""Where a configuration changes a limit, by rule and limit."""


def load_rules(
    files: Sequence[Path],
    catalogue: Catalogue,
    limits: Mapping[str, Mapping[str, str | float]] | None = None,
    place: LimitPlace | None = None,
) -> list[Rule]:
    """Return the rules of *files*, in order. *limits* changes limits by rule id and limit name.

    *place* says where a limit is changed, for messages. Raises :class:`InputError` with the faults of all the files:
    TOML, unknown keys, unknown facts, dimensions that do not fit, an id that is used twice.
    """
    rules: dict[str, Rule] = {}
    seen: set[str] = set()
    problems: list[Problem] = []
    for path in files:
        try:
            with reading(path):
                file = _read(path)
                shared, catalogue, found = _definitions(file, path, catalogue)
        except InputError as error:
            problems += error.problems
            continue
        problems += [*file.problems, *found]
        # What names something that could not be read would only be told as a second fault.
        for item in file.entries:
            seen.add(item.entry.id)
            if found:
                continue
            overrides = (limits or {}).get(item.entry.id)
            built = _built(item, path, rules, catalogue=catalogue, overrides=overrides, place=place, shared=shared)
            if isinstance(built, Problem):
                problems.append(built)
            else:
                rules[built.id] = built
    for name, changed in (limits or {}).items():
        if name not in seen:
            where = place(name, next(iter(changed), "")) if place else Place("limits", column=name)
            remedy = nearest(name, seen) or "see: capcheck rules"
            problems.append(Problem(where, f'there is no rule "{name}"', "its limits are changed", remedy))
    if problems:
        raise InputError(problems)
    return list(rules.values())


def rules_made(
    made: Sequence[object],
    catalogue: Catalogue,
    limits: Mapping[str, Mapping[str, str | float]] | None = None,
) -> list[Rule]:
    """Return rules that were made in code: functions under ``rule(…)``, or the keys of a ``[[rule]]``.

    Raises :class:`InputError` with the place of the function, or the rule's number in the list.
    """
    from pydantic import ValidationError

    rules: dict[str, Rule] = {}
    problems: list[Problem] = []
    for number, one in enumerate(made, 1):
        if not isinstance(one, PythonRule | Mapping):
            where = Place(f"rules[{number}]")
            remedy = "give a file, a function under rule(…), or the keys of a rule"
            problems.append(Problem(where, f"{one!r:.80} is no rule", remedy=remedy))
            continue
        function = one.function if isinstance(one, PythonRule) else None
        code = getattr(function, "__code__", None)
        file, row = (f"rules[{number}]", 1) if code is None else (str(code.co_filename), int(code.co_firstlineno))
        try:
            entry = RuleEntry.model_validate(one.keys if isinstance(one, PythonRule) else dict(one))
        except ValidationError as error:
            problems += problems_in_code(error, RuleEntry, Place(file, row))
            continue
        item = _Entry(entry, row, None, one if isinstance(one, PythonRule) else None)
        overrides = (limits or {}).get(entry.id)
        built = _built(
            item, Path(file), rules, catalogue=catalogue, overrides=overrides, place=None, shared=NOTHING_SHARED
        )
        if isinstance(built, Problem):
            problems.append(built)
        else:
            rules[built.id] = built
    if problems:
        raise InputError(problems)
    return list(rules.values())


def catalogue_of(files: Sequence[Path], catalogue: Catalogue) -> Catalogue:
    """Return *catalogue* with the facts that rule files make of others. Raises :class:`InputError`."""
    problems: list[Problem] = []
    for path in files:
        if not is_python(path):
            with reading(path):
                _, catalogue, found = _definitions(_read(path), path, catalogue)
            problems += found
    if problems:
        raise InputError(problems)
    return catalogue


def _built(
    item: _Entry,
    path: Path,
    rules: Mapping[str, Rule],
    *,
    catalogue: Catalogue,
    overrides: Mapping[str, str | float] | None,
    place: LimitPlace | None,
    shared: Definitions,
) -> Rule | Problem:
    entry, file = item.entry, str(path)
    if entry.id in rules:
        other = rules[entry.id]
        return Problem(
            Place(file, item.row, "id"),
            f'the id "{entry.id}" is taken by {other.file}:{other.row}',
            "waivers and configurations name rules by id",
            "choose another id",
        )
    try:
        if overrides is None and _ships(path):
            return _rule_that_ships(item, catalogue, file, shared)
        made = item.made
        return build_rule(
            entry,
            catalogue,
            file=file,
            row=item.row,
            overrides=overrides,
            function=made.function if made else None,
            takes=made.takes if made else None,
            shared=shared,
        )
    except ChangedLimitError as error:
        where = place(entry.id, error.limit) if place else Place("limits", column=f"{entry.id}.{error.limit}")
        return Problem(where, str(error))
    except RuleError as error:
        return Problem(Place(file, item.place(error.key), f"{entry.id}.{error.key}"), str(error))


@lru_cache(maxsize=1024)  # several times the rules that ship: a shop's own facts are another catalogue
def _rule_that_ships(item: _Entry, catalogue: Catalogue, file: str, shared: Definitions) -> Rule:
    """Return the rule of an entry that ships and of which nobody changes a limit."""
    return build_rule(item.entry, catalogue, file=file, row=item.row, shared=shared)


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
                Place("rules"),
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
        raise InputError.at("rules", "no rule is left to answer", remedy="choose at least one")
    return chosen

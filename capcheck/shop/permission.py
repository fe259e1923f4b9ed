"""Which code may run: what a named configuration names, and what the user trusts by its content."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from capcheck.engine import is_python, rule_files_there, table_files
from capcheck.facts import approve
from capcheck.shop.configuration import Configuration
from capcheck.shop.in_force import lies_in
from capcheck.shop.trust import hash_of, not_trusted
from capcheck.values import InputError, Place, Problem


def python_of(configuration: Configuration) -> list[Path]:
    """Return the Python files that a configuration names: facts, and rules. Raises :class:`InputError`."""
    facts = [configuration.beside(name) for name in configuration.values.facts]
    rules = dict.fromkeys(configuration.beside(name) for _, name in configuration.rule_paths())
    return [*facts, *_python_rules(rules)]


def _python_rules(folders: Iterable[Path]) -> list[Path]:
    return [path for path in rule_files_there(folders) if is_python(path)]


def refuse_code(configuration: Configuration, rules: Sequence[Path]) -> None:
    """Raise :class:`InputError` for what must not be obeyed of a configuration that was found, and of *rules* given.

    *rules* are files and folders of the command line, instead of the configuration's. A shop's rule is not left out
    where its Python may not run: what it would have found would be missing without a word.
    """
    given = _python_rules(rules)
    approved: dict[Path, str] = {}
    if not configuration.is_named:
        _refuse_in_board_folder(configuration)
        own = [configuration.beside(name) for name in configuration.values.facts] if rules else python_of(configuration)
        if own and configuration.path is not None:
            where = configuration.where("facts" if configuration.values.facts else "rules")
            approved = {path: hash_of(path) for path in (configuration.path, *own)}
            _refuse(not_trusted(approved), where, configuration.path)
    elif given:
        named = {path.resolve() for path in python_of(configuration)}
        given = [path for path in given if path.resolve() not in named]
    approved_rules = {path: hash_of(path) for path in given}
    _refuse(not_trusted(approved_rules), Place("--rules"))
    # What runs later must be the bytes that were looked at.
    approve(approved | approved_rules)


def _refuse_in_board_folder(configuration: Configuration) -> None:
    values = configuration.values
    named: list[tuple[tuple[str, ...], str]] = [(("facts",), name) for name in values.facts]
    named += [((*layer, "rules"), name) for layer, name in configuration.rule_paths()]
    problems = [
        Problem(
            configuration.where(*key),
            f'"{name}" lies in the board\'s own folder',
            "a customer's folder is data, and no rule in it is obeyed",
            f"move it elsewhere, or name the configuration: --config {configuration.path}",
        )
        for key, name in named
        if any(lies_in(path, configuration.board_folders) for path in _files_of(configuration.beside(name)))
    ]
    if problems:
        raise InputError(problems)


def _files_of(path: Path) -> list[Path]:
    """Return a path, the rule files of a folder, and the tables that they read: each may lie or lead elsewhere."""
    rules = rule_files_there([path])
    return [path, *rules, *table_files(rules)]


def _refuse(files: Sequence[Path], where: Place, configuration: Path | None = None) -> None:
    if files:
        names = _as_arguments(files)
        trusted = names if configuration is None else _as_arguments([configuration])
        raise InputError.at(
            where,
            f"names code that is not run, for nobody has said that it is trusted: {names}",
            "Python may do anything, and a customer's files could bring it",
            f"look at it, and if it is your own: capcheck trust {trusted}",
        )


def _as_arguments(files: Sequence[Path]) -> str:
    return " ".join(f'"{path}"' if " " in str(path) else str(path) for path in files)

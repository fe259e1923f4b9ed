"""A shop's Python files: facts and rules that no expression can say. Each file is run once, as its own module."""

from __future__ import annotations

import hashlib
import importlib.util
import inspect
import sys
from collections.abc import Iterable, Mapping
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import ModuleType
from typing import Final

from msgspec.structs import replace

from capcheck.facts.catalogue import INPUTS, Catalogue, Fact, fact_of_parameter
from capcheck.facts.standard import FACTS
from capcheck.values import InputError, Place, Problem, nearest, reading

_APPROVED: Final[dict[Path, str]] = {}
"""The SHA-256 of files that may run because of what stood in them when that was looked at."""


def approve(digests: Mapping[Path, str]) -> None:
    """Have each of these files run only while its bytes have this SHA-256; what was approved before counts no more."""
    _APPROVED.clear()
    _APPROVED.update({path.resolve(): digest for path, digest in digests.items()})


class _Fresh(SourceFileLoader):
    """Runs the bytes that it is given: a cache goes by time and size, and leaves folders in a shop's repository."""

    def __init__(self, name: str, path: str, source: bytes) -> None:
        super().__init__(name, path)
        self._source = source

    def get_data(self, path: str) -> bytes:  # noqa: ARG002 - the loader's own call
        """Return the source."""
        return self._source

    def path_stats(self, path: object) -> Mapping[str, float]:
        """Say that nothing is known of the source's age, so that no cache is read or written."""
        raise OSError(path)


def _source_of(path: Path, what: str) -> bytes:
    if not path.is_file():
        raise InputError.at(str(path), f"there is no such {what}", remedy="check the path")
    with reading(path):
        source = path.read_bytes()
    approved = _APPROVED.get(path.resolve())
    if approved is not None and hashlib.sha256(source).hexdigest() != approved:
        raise InputError.at(
            str(path), "was changed after it was found to be trusted", remedy=f"look at it: capcheck trust {path}"
        )
    return source


def run_file(path: Path, what: str) -> ModuleType:
    """Return the module that *path* makes. Raises :class:`InputError` with the line on which it failed."""
    source = _source_of(path, what)
    name = f"_capcheck_shop_{path.name.replace('.', '_')}_{abs(hash(path.resolve()))}"
    loader = _Fresh(name, str(path), source)
    spec = ModuleSpec(name, loader, origin=str(path))
    spec.has_location = True
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # dataclasses and pickling look modules up by name
    try:
        loader.exec_module(module)
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001  a shop's file may raise anything; it is told where
        del sys.modules[name]
        raise InputError(_problem(path, error)) from None
    return module


def _problem(path: Path, error: BaseException) -> Problem:
    import traceback

    rows = [frame.lineno for frame in traceback.extract_tb(error.__traceback__) if frame.filename == str(path)]
    row = error.lineno if isinstance(error, SyntaxError) else rows[-1] if rows else None
    return Problem(Place(str(path), row), f"raised {type(error).__name__}: {error}", remedy="mend the file")


def row_of(function: object) -> int:
    """Return the line on which a function of a shop's file begins."""
    code = getattr(function, "__code__", None)
    return int(code.co_firstlineno) if code is not None else 1


def shop_catalogue(paths: Iterable[Path], base: Catalogue = FACTS) -> Catalogue:
    """Return *base* with the facts of a shop's Python files; *base* itself is not changed.

    A file declares its facts in a :class:`~capcheck.facts.catalogue.Catalogue` named ``facts``. Raises
    :class:`InputError` for a file that fails, a name that is taken, and a provider that asks for what does not exist.
    """
    catalogue = base.copy()
    added: list[tuple[Path, Fact]] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            module = run_file(path, "file of facts")
        except InputError as error:
            problems += error.problems
            continue
        declared = getattr(module, "facts", None)
        if not isinstance(declared, Catalogue):
            problems.append(
                Problem(Place(str(path)), "declares no facts", remedy="write: facts = capcheck.Catalogue()")
            )
            continue
        for fact in declared:
            try:
                catalogue.add(replace(fact, where=f"{path}:{row_of(fact.provider)}"))
            except ValueError as error:
                problems.append(Problem(Place(str(path), row_of(fact.provider), fact.name), str(error)))
            else:
                added.append((path, fact))
    problems += [p for path, fact in added for p in _unknown_parameters(path, fact, catalogue)]
    if problems:
        raise InputError(problems)
    return catalogue


def _unknown_parameters(path: Path, fact: Fact, catalogue: Catalogue) -> list[Problem]:
    names = [p for p in inspect.signature(fact.provider).parameters if p not in INPUTS]
    return [
        Problem(
            Place(str(path), row_of(fact.provider), fact.name),
            f'its provider asks for "{name}", which is neither a fact nor one of {", ".join(INPUTS)}',
            remedy=nearest(fact_of_parameter(name), (f.name for f in catalogue)) or "see: capcheck facts",
        )
        for name in names
        if fact_of_parameter(name) not in catalogue
    ]

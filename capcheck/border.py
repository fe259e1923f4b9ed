"""TOML files at the border: read, validate with a pydantic model, and say what is wrong by file, line and key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from capcheck.errors import InputError, Problem, Where, nearest

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

    Model = TypeVar("Model", bound=BaseModel)

Path_ = tuple[str | int, ...]
_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*([A-Za-z0-9_.\-\"' ]+?)\s*=")


def read_text(path: Path, what: str) -> str:
    """Return the text of a UTF-8 file; *what* names its role in the error.

    Raises :class:`InputError` if it is missing or not UTF-8.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        problem = Problem(Where(str(path)), f"there is no such {what}", remedy="check the path")
    except IsADirectoryError:
        problem = Problem(Where(str(path)), f"is a folder, not a {what}", remedy="name the file in it")
    except OSError as error:
        problem = Problem(Where(str(path)), f"cannot be read: {error.strerror}")
    except UnicodeDecodeError as error:
        problem = Problem(Where(str(path)), f"is not UTF-8 text (byte {error.start})", remedy="save it as UTF-8")
    raise InputError(problem)


def load_toml(path: Path, what: str) -> tuple[dict[str, Any], str]:
    """Return a TOML file as a dictionary, with its text. Raises :class:`InputError` with the line of the fault."""
    text = read_text(path, what)
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as error:
        match = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        row = int(match[1]) if match else text.count("\n") + 1
        message = re.sub(r"\s*\(at .*\)$", "", str(error))
        raise InputError(
            Problem(
                Where(str(path), row),
                f"is not valid TOML: {message}",
                remedy="mend this line; texts need quotes",
            ),
        ) from None


def line_of(text: str, path: Path_) -> int | None:
    """Return the line of *text* (TOML) on which the key *path* stands, or its nearest table; None if not found."""
    names = [p for p in path if isinstance(p, str)]
    numbers = [p for p in path if isinstance(p, int)]
    found: int | None = None
    depth = 0
    table: list[str] = []
    seen: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            table = [part.strip(" \"'") for part in header[2].split(".")]
            index = seen[header[2]] = seen.get(header[2], -1) + 1
            wanted = not numbers or header[1] == "[" or index == numbers[0]
            if wanted and table == names[: len(table)] and len(table) > depth:
                found, depth = number, len(table)
            elif not wanted:
                table = ["\0"]
        elif key := _KEY.match(line):
            full = [*table, *(part.strip(" \"'") for part in key[1].split("."))]
            if full == names[: len(full)] and len(full) > depth:
                found, depth = number, len(full)
    return found


def _key_text(path: Path_) -> str:
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def _known_keys(model: type[BaseModel], path: Path_) -> Iterable[str]:
    """Return the keys that the model knows at the parent of *path*."""
    from pydantic import BaseModel

    current: type[BaseModel] = model
    for part in path[:-1]:
        if isinstance(part, int) or part not in current.model_fields:
            continue
        candidates = [current.model_fields[part].annotation]
        while candidates:
            candidate = candidates.pop()
            if isinstance(candidate, type) and issubclass(candidate, BaseModel):
                current = candidate
                break
            candidates.extend(getattr(candidate, "__args__", ()))
    return [field.alias or name for name, field in current.model_fields.items()]


def problems_of(
    error: ValidationError, model: type[BaseModel], file: str, text: str, prefix: Path_ = ()
) -> list[Problem]:
    """Return pydantic's errors as problems with the line and key of *file*."""
    problems = []
    details = error.errors(include_url=False)
    paths = {tuple(d["loc"]) for d in details}
    for detail in details:
        path = tuple(detail["loc"])
        if detail["type"] == "too_short" and any(p[: len(path)] == path and p != path for p in paths):
            continue  # pydantic counts only the items that are right
        where = Where(file, line_of(text, prefix + path), _key_text(prefix + path))
        if detail["type"] == "extra_forbidden":
            name = str(path[-1])
            known = sorted(_known_keys(model, path))
            remedy = nearest(name, known) or f"known keys: {', '.join(known)}"
            problems.append(Problem(where, f'the key "{name}" is not known', remedy=remedy))
        elif detail["type"] == "missing":
            problems.append(Problem(where, f'the key "{path[-1]}" is missing', remedy="add it"))
        else:
            message = detail["msg"].removeprefix("Value error, ")
            problems.append(Problem(where, message))
    return problems


def validate(model: type[Model], data: Mapping[str, Any], file: str, text: str, prefix: Path_ = ()) -> Model:
    """Return *data* as *model*. Raises :class:`InputError` with every fault, each by line and key."""
    from pydantic import ValidationError

    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(problems_of(error, model, file, text, prefix)) from None

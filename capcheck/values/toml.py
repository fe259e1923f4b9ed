"""TOML files at the border: read, validate with a pydantic model, and say what is wrong by file, line and key."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import tomli

from capcheck.values.errors import InputError, Place, Problem, nearest, reading
from capcheck.values.patterns import pattern
from capcheck.values.plain_files import refuse_special

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError
    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

    Model = TypeVar("Model", bound=BaseModel)

_UNION: Final = frozenset({"str", "int", "float", "bool"})
"""What pydantic names the types of a value by that may be a text or a number."""
_TABLE_OR_LIST: Final = pattern(r"(?:list|dict)\[.*\]")
"""What it names a table or a list by that may be true or false too."""
_NUMBER_OR_ENDS: Final = pattern(r"constrained-float|tuple\[.*\]")
"""What it names a number and its two ends by, where either may stand."""
_MOST_PROBLEMS = 20
"""Faults of a file that are told each; who has more has sent another kind of file."""
KeyPath = tuple[str | int, ...]
_HEADER = pattern(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_NAME = pattern(r""""([^"]*)"|'([^']*)'|([A-Za-z0-9_\-]+)""")
_KEY = pattern(r"""((?:[A-Za-z0-9_.\-\s]++|"[^"]*+"|'[^']*+')++)=""")
_TEXT_OR_REMARK = pattern(r""""(?:\\.|[^"\\])*"|'[^']*'|#.*""")


def read_text(path: Path, what: str) -> str:
    """Return the text of a UTF-8 file; *what* names its role in the error.

    Raises :class:`InputError` if it is missing or not UTF-8.
    """
    try:
        refuse_special(path)
        _refuse_large(path, what)
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        problem = Problem(Place(str(path)), f"there is no such {what}", remedy="check the path")
    except IsADirectoryError:
        problem = Problem(Place(str(path)), f"is a folder, not a {what}", remedy="name the file in it")
    except OSError as error:
        problem = Problem(Place(str(path)), f"cannot be read: {error.strerror}")
    except UnicodeDecodeError as error:
        problem = Problem(Place(str(path)), f"is not UTF-8 text (byte {error.start})", remedy="save it as UTF-8")
    raise InputError(problem)


_LARGEST: Final = 8_000_000
"""Bytes of a file of our own forms: a profile has 5,000, the board.toml of a large board 100,000."""


def _refuse_large(path: Path, what: str) -> None:
    size = path.stat().st_size
    if size > _LARGEST:
        raise InputError.at(
            str(path),
            f"is no {what}: it has {size / 1e6:,.0f} MB",
            f"a {what} has less than {_LARGEST / 1e6:.0f} MB",
            "name the right file",
        )


def load_toml(path: Path, what: str) -> tuple[dict[str, Any], str]:
    """Return a TOML file as a dictionary, with its text. Raises :class:`InputError` with the line of the fault."""
    text = read_text(path, what)
    try:
        return tomli.loads(text), text
    except RecursionError:
        raise InputError.at(str(path), "is nested too deeply", remedy="write it flat: no file here needs it") from None
    except ValueError as error:  # of tomli, or of a whole number with thousands of digits
        match = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        row = int(match[1]) if match else text.count("\n") + 1
        message = re.sub(r"\s*\(at .*\)$", "", str(error))
        raise InputError.at(
            Place(str(path), row),
            f"is not valid TOML: {message}",
            remedy='mend this line; texts and quantities stand in quotes, such as length = "3 mm"',
        ) from None


def line_of(text: str, path: KeyPath) -> int | None:
    """Return the line of *text* (TOML) on which the key *path* stands, or its nearest table; None if not found."""
    names = [p for p in path if isinstance(p, str)]
    numbers = [p for p in path if isinstance(p, int)]
    wanted = _numbers_by_table(path)
    found: int | None = None
    depth = 0
    table: list[str] = []
    seen: dict[tuple[str, ...], int] = {}
    for number, mark, written in _written(text):
        if mark and list(written) != names[: len(written)]:
            table = ["\0"]
        elif mark:
            if mark == "[[":
                # The tables below another one of an array are counted anew.
                seen = {outer: at for outer, at in seen.items() if len(outer) <= len(written)}
                seen[written] = seen.get(written, -1) + 1
            if all(at == wanted.get(outer, at) for outer, at in seen.items() if len(outer) <= len(written)):
                table = list(written)
                if len(table) > depth:
                    found, depth = number, len(table)
            else:
                table = ["\0"]
        else:
            full = [*table, *written]
            if full == names[: len(full)] and len(full) > depth:
                found, depth = number, len(full)
    if found is None or depth == len(names) or not numbers:
        return found
    return _line_of_item(text.splitlines(), found, numbers[-1])


def _numbers_by_table(path: KeyPath) -> dict[tuple[str, ...], int]:
    """Return which table of an array is meant, counted from 0, by the names down to it."""
    names: tuple[str, ...] = ()
    found: dict[tuple[str, ...], int] = {}
    for part in path:
        if isinstance(part, str):
            names = (*names, part)
        else:
            found[names] = part
    return found


@lru_cache(maxsize=4)
def _written(text: str) -> list[tuple[int, str, tuple[str, ...]]]:
    """Return the tables and keys of *text* as line, opening brackets (none before a key) and names, read once."""
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            found.append((number, header[1], tuple(_names(header[2]))))
        elif key := _KEY.match(line):
            found.append((number, "", tuple(_names(key[1]))))
    return found


def _names(dotted: str) -> list[str]:
    """Return the parts of a dotted key; a quoted one may hold anything."""
    return ["".join(match.groups(default="")) for match in _NAME.finditer(dotted)]


def lines_of_items(text: str, path: Sequence[str]) -> list[int]:
    """Return the line of each table of the array at *path*, all of them at once; of those that are not found none."""
    if headers := [number for number, mark, written in _written(text) if mark == "[[" and written == tuple(path)]:
        return headers
    start = line_of(text, tuple(path))
    return [] if start is None else list(_lines_of_inline(text.splitlines(), start))


def _line_of_item(lines: list[str], start: int, item: int) -> int:
    """Return the line of an inline table, counted from 0, in the array that begins on line *start*, if it is one."""
    return next(islice(_lines_of_inline(lines, start), item, None), start)


def _lines_of_inline(lines: list[str], start: int) -> Iterator[int]:
    """Yield the line of each inline table of the array that begins on line *start*, if it is one."""
    if "=" not in lines[start - 1] or "[" not in lines[start - 1].split("=", 1)[1]:
        return
    depth = 0
    for number, line in enumerate(lines[start - 1 :], start):
        if number > start and (_HEADER.match(line) or _KEY.match(line)):
            break
        for mark in re.findall(r"[{}]", _TEXT_OR_REMARK.sub("", line)):
            if mark == "{" and depth == 0:
                yield number
            depth += 1 if mark == "{" else -1


def _key_text(path: KeyPath) -> str:
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def _nested(annotation: object) -> type[BaseModel] | None:
    """Return the model in a type such as ``list[Model] | None``."""
    from pydantic import BaseModel

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in getattr(annotation, "__args__", ()) if (found := _nested(inner))), None)


def _fields(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Return the fields of a model by the names that its files use."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _fields_at(model: type[BaseModel], path: KeyPath) -> dict[str, FieldInfo]:
    """Return the fields that the model knows at *path*; none where the path leaves the models, as in a free table."""
    current: type[BaseModel] | None = model
    for part in path:
        if isinstance(part, str) and current is not None:
            field = _fields(current).get(part)
            current = None if field is None else _nested(field.annotation)
    return {} if current is None else _fields(current)


def _described(model: type[BaseModel], path: KeyPath) -> str:
    """Return what the field at the end of *path* is, or the nearest above it that is described."""
    for end in range(len(path), 0, -1):
        name = path[end - 1]
        field = _fields_at(model, path[: end - 1]).get(name) if isinstance(name, str) else None
        if field is not None and field.description:
            return f"{name} is: {field.description}"
    return ""


def problems_of(
    error: ValidationError, model: type[BaseModel], file: str, text: str, prefix: KeyPath = ()
) -> list[Problem]:
    """Return pydantic's errors as problems with the line and key of *file*."""
    return _problems(error, model, Place(file), lambda path: line_of(text, prefix + path), prefix)


def problems_in_code(error: ValidationError, model: type[BaseModel], place: Place) -> list[Problem]:
    """Return pydantic's errors of what was made in code as problems, each at *place* with its key."""
    return _problems(error, model, place, lambda _path: place.row)


def _problems(
    error: ValidationError,
    model: type[BaseModel],
    place: Place,
    line: Callable[[KeyPath], int | None],
    prefix: KeyPath = (),
) -> list[Problem]:
    problems = []
    details = _number_or_ends(_one_of_each_union(_of_what_was_meant(error.errors(include_url=False))))
    further = len(details) - _MOST_PROBLEMS
    paths = {tuple(d["loc"]) for d in details}
    for detail in details[:_MOST_PROBLEMS]:
        # "[key]" stands for the key itself in pydantic's path to it.
        path = tuple(p for p in detail["loc"] if p != "[key]")
        if detail["type"] == "too_short" and any(p[: len(path)] == path and p != path for p in paths):
            continue  # pydantic counts only the items that are right
        where = Place(place.file, line(path), _key_text(prefix + path) or None)
        if detail["type"] == "extra_forbidden":
            name = str(path[-1])
            known = sorted(_fields_at(model, path[:-1]))
            remedy = nearest(name, known) or f"known keys: {', '.join(known)}"
            problems.append(Problem(where, f'the key "{name}" is not known', remedy=remedy))
        elif detail["type"] == "missing":
            described = _described(model, path)
            remedy = f"add it; {described}" if described else "add it"
            problems.append(Problem(where, f'the key "{path[-1]}" is missing', remedy=remedy))
        elif detail["type"] == "string_type" and isinstance(detail["input"], dict):
            plural = f"{path[-1]}s"
            meant = f"did you mean [{plural}]?" if plural in _fields_at(model, path[:-1]) else _described(model, path)
            problems.append(Problem(where, "is a table, where a text is expected", remedy=meant))
        else:
            message = _in_plain_words(detail)
            problems.append(Problem(where, message, remedy=_described(model, path)))
    if further > 0:
        problems.append(Problem(Place(place.file), f"and {further:,} more faults", remedy="mend those above first"))
    return problems


def _of_what_was_meant(details: Sequence[ErrorDetails]) -> list[ErrorDetails]:
    """Return the details of tables and lists that may be true or false too as of what stands there, one of each."""
    found: list[ErrorDetails] = []
    either: set[KeyPath] = set()
    for detail in details:
        loc = detail["loc"]
        tag = next((k for k, part in enumerate(loc) if k and _TABLE_OR_LIST.fullmatch(str(part))), len(loc))
        if tag < len(loc):
            either.add(loc[:tag])
            kind = detail["type"] if len(loc) > tag + 1 else f"true_or_{detail['type']}"
            found.append({**detail, "loc": loc[:tag] + loc[tag + 1 :], "type": kind})
        else:
            found.append(detail)
    return [one for one in found if not (one["loc"][-1:] == ("bool",) and one["loc"][:-1] in either)]


def _number_or_ends(details: Sequence[ErrorDetails]) -> list[ErrorDetails]:
    """Return the details of values that are a number or a list of its two ends as of the one that stands there."""
    found: list[ErrorDetails] = []
    for detail in details:
        loc = detail["loc"]
        tag = next((k for k, part in enumerate(loc) if k and _NUMBER_OR_ENDS.fullmatch(str(part))), None)
        if tag is None:
            found.append(detail)
            continue
        is_list = isinstance(detail["input"], list) or len(loc) > tag + 1
        if is_list != str(loc[tag]).startswith("constrained"):
            found.append({**detail, "loc": loc[:tag] + loc[tag + 1 :]})
    return found


def _one_of_each_union(details: Sequence[ErrorDetails]) -> list[ErrorDetails]:
    """Return the details with one for a value that may be of several types, and is of none: pydantic tells each."""
    found: dict[object, ErrorDetails] = {}
    for number, detail in enumerate(details):
        path = detail["loc"][:-1]
        if not path or detail["loc"][-1] not in _UNION:
            found[number] = detail
        elif (first := found.get(path)) is None:
            found[path] = {**detail, "loc": path}
        else:
            found[path] = {**first, "type": "one_of_several"}
    return list(found.values())


def _in_plain_words(detail: ErrorDetails) -> str:
    """Return what is wrong with a value: as the field says it, else the value that stands there and what may."""
    told = {
        "literal_error": "is none of: {expected}",
        "enum": "is none of: {expected}",
        "bool_type": "is neither true nor false",
        "bool_parsing": "is neither true nor false",
        "int_type": "is no whole number",
        "int_parsing": "is no whole number",
        "float_type": "is no number",
        "one_of_several": "is neither a text nor a number",
        "string_pattern_mismatch": "is not written so",
        "string_too_short": "says too little",
        "tuple_type": 'is not a list, such as ["a", "b"]',
        "string_type": "is not a text; texts stand in quotes",
        "list_type": 'is not a list, such as ["a", "b"]',
        "dict_type": "is no table of keys",
        "true_or_dict_type": "is neither true nor false, nor a table of keys",
        "true_or_list_type": 'is neither true nor false, nor a list, such as ["a", "b"]',
        "greater_than_equal": "is less than {ge:g}",
        "greater_than": "is not more than {gt:g}",
        "less_than_equal": "is more than {le:g}",
        "finite_number": "is no finite number",
    }
    value, kind = detail["input"], detail["type"]
    shown = f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)
    if kind in told:
        context = detail.get("ctx", {})
        expected = str(context.get("expected", "")).replace("'", "").replace(" or ", ", ")
        return f"{shown} {told[kind].format(**{**context, 'expected': expected})}"
    if kind == "too_short":
        return f"has too few entries; at least {detail['ctx']['min_length']} must stand here"
    if kind == "too_long":  # the value itself may be endless
        return f"has too many entries; at most {detail['ctx']['max_length']} may stand here"
    if kind.startswith("date"):
        return f"{shown} is no date; dates are written like 2027-03-31"
    return detail["msg"].removeprefix("Value error, ")


def validate(model: type[Model], data: Mapping[str, Any], file: str, text: str, prefix: KeyPath = ()) -> Model:
    """Return *data* as *model*. Raises :class:`InputError` with every fault, each by line and key."""
    from pydantic import ValidationError

    with reading(file):
        try:
            return model.model_validate(data)
        except ValidationError as error:
            raise InputError(problems_of(error, model, file, text, prefix)) from None

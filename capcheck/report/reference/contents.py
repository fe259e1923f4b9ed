"""What stands on each page of the reference, as data: HTML and Markdown are made of the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, TypeAlias

from msgspec import Struct

from capcheck.engine import SUBJECTS, Guideline, Rule, all_guidelines, as_written, run_examples
from capcheck.facts import SCOPES, Catalogue, Fact
from capcheck.report.explain import USUAL_NAMES, rule_json
from capcheck.report.formats import ENDINGS, format_names, load_format
from capcheck.shop import schema_of_file
from capcheck.values import show


class Code(Struct, frozen=True):
    """A text of a rule or a file, word for word."""

    text: str


class Link(Struct, frozen=True):
    """A text that leads to a page by its name, or to a place on it."""

    text: str
    page: str
    place: str = ""


Span: TypeAlias = str | Code | Link
Cell: TypeAlias = Sequence[Span]


class Table(Struct, frozen=True):
    """Rows under a heading; *anchors* are the names by which rows are linked to, where there are any."""

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    anchors: Sequence[str] = ()


class Page(Struct, frozen=True):
    """A page: *name* is its path without an ending, *said* what it is in one sentence."""

    name: str
    title: str
    said: str
    tables: Sequence[Table]


Reference: TypeAlias = tuple[Page, ...]
"""The pages; the first is the list of them."""

_PLACES: Final = {
    "machine": "a machine profile, NAME.machine.toml",
    "line": "a line, NAME.line.toml",
    "board": "board.toml",
    "configuration": "capcheck.toml",
}
_CODES: Final = (
    ("0", "nothing failed"),
    ("1", "something failed; with --strict, also if something warned or is undecided"),
    ("2", "unanswered, the input or the usage is wrong, or the report did not arrive; the message says where and why"),
    ("130", "interrupted by Ctrl-C"),
)
_OUTCOMES: Final = (
    ("pass", "proved by the data"),
    ("fail, or warn where the rule says so", "violation proved by the data"),
    ("warn, marked undecided", "the data decide neither; the report names what is missing"),
)


def reference_pages(rules: Sequence[Rule], catalogue: Catalogue) -> Reference:
    """Return every page on these rules, and on the facts that rules may ask for."""
    cited = {g.number: g for rule in rules for g in rule.guidelines}
    pages = [
        *(_rule_page(rule, catalogue) for rule in rules),
        *(_fact_page(fact, rules) for fact in catalogue),
        _guidelines_page({**all_guidelines(), **cited}, rules),
        *map(_fields_page, _PLACES),
        _outcomes_page(),
        _formats_page(),
    ]
    return (_index(pages, rules, catalogue), *pages)


def rule_link(rule: Rule) -> Link:
    """Return the way to a rule's page."""
    return Link(rule.id, f"rules/{rule.id}")


def _fact_link(name: str, catalogue: Catalogue) -> Span:
    return Link(name, f"facts/{name}") if name in {fact.name for fact in catalogue} else Code(name)


def _guideline_links(rule: Rule) -> Iterator[Cell]:
    yield (rule.basis,)
    for guideline in rule.guidelines:
        yield (Link(f"[{guideline.number}]", "guidelines", f"g{guideline.number}"), f" {_source(guideline)}")


def _source(guideline: Guideline) -> str:
    """Return a guideline in full, without its number."""
    return str(guideline).removeprefix(f"[{guideline.number}] ")


def _rule_page(rule: Rule, catalogue: Catalogue) -> Page:
    entry = rule.entry
    asked: list[tuple[str, Cell]] = [("of each", (rule.subject.name,))]
    asked += [("where", (Code(" ".join(entry.when.split())),))] if entry.when else []
    asked += [("requires", (Code(" ".join(entry.require.split())),))]
    asked += [("with", (f"{name} = ", Code(" ".join(text.split())))) for name, text in entry.values.items()]
    asked += [("otherwise", (f"{rule.outcome}: {rule.headline}",)), ("message", (Code(rule.message),))]
    limits = [
        (
            (Code(name),),
            (show(v.value, v.value, v.dimension),),
            ("changed" if name in rule.changed_limits else "as shipped",),
        )
        for name, v in rule.limits.items()
    ]
    known = {fact.name for fact in catalogue}
    facts = [((_fact_link(name, catalogue),), (catalogue[name].help,)) for name in rule.facts if name in known]
    outcomes = run_examples([as_written(rule, catalogue)], catalogue)
    examples = [((result.expected,), (Code(str(result.facts)),)) for result in outcomes]
    tables = [
        Table("What it asks", ("", ""), [((key,), cell) for key, cell in asked]),
        *([Table("Limits", ("limit", "value", "source"), limits)] if limits else []),
        *_shared(rule),
        Table("Why", ("",), [((rule.why,),)]),
        Table("What to do", ("",), [((rule.remedy,),)]),
        Table("Basis", ("",), [(cell,) for cell in _guideline_links(rule)]),
        *([Table("Facts", ("fact", "what it is"), facts)] if facts else []),
        *([Table("Examples", ("outcome", "facts"), examples)] if examples else []),
    ]
    return Page(f"rules/{rule.id}", rule.id, rule.title, tables)


def _shared(rule: Rule) -> Iterator[Table]:
    """Yield what a rule takes of its file: constants, sets, tables of limits."""
    shared: Any = rule_json(rule)["shared"]
    named = [((Code(f"constants.{name}"),), (value,)) for name, value in shared["constants"].items()]
    named += [((Code(f"sets.{name}"),), (", ".join(map(str, texts)),)) for name, texts in shared["sets"].items()]
    if named:
        yield Table("Named in its file", ("name", "value"), named)
    for name, rows in shared["tables"].items():
        columns = list(dict.fromkeys(key for row in rows for key in row))
        cells = [[(str(row.get(column, "")),) for column in columns] for row in rows]
        yield Table(f"Table {name}: the first row that fits counts", columns, cells)


def _fact_page(fact: Fact, rules: Sequence[Rule]) -> Page:
    told: list[tuple[str, Cell]] = [("is", (fact.kind_text,)), ("of", (SCOPES[fact.scope],))]
    told += [("made of", (Code(fact.text_of),))] if fact.text_of else []
    told += [("values", (", ".join(fact.choices),))] if fact.choices else []
    told += [("names", (f"{', '.join(fact.names.every())}; {USUAL_NAMES}",))] if fact.names is not None else []
    told += [("needs", (f"the input: {fact.needs}",))] if fact.needs else []
    subjects = [subject.name for subject in SUBJECTS.values() if fact.scope in subject.scopes]
    told += [("in rules on", (", ".join(subjects),))]
    asking = [rule for rule in rules if fact.name in rule.facts or fact.name in rule.message_facts]
    asked = [((rule_link(rule),), (rule.title,)) for rule in asking]
    tables = [Table("What it is", ("", ""), [((key,), cell) for key, cell in told])]
    tables += [Table("Asked by", ("rule", "what it asks"), asked)] if asked else []
    return Page(f"facts/{fact.name}", fact.name, fact.help, tables)


def _guidelines_page(cited: Mapping[int, Guideline], rules: Sequence[Rule]) -> Page:
    rows = []
    for number, guideline in sorted(cited.items()):
        citing = [rule for rule in rules if number in {g.number for g in rule.guidelines}]
        links: list[Span] = []
        for rule in citing:
            links += [", ", rule_link(rule)] if links else [rule_link(rule)]
        rows.append(((f"[{number}]",), (_source(guideline),), tuple(links)))
    anchors = [f"g{number}" for number in sorted(cited)]
    return Page(
        "guidelines",
        "Guidelines",
        "The guidelines and standards that rules cite by number",
        [Table("", ("number", "source", "cited by"), rows, anchors)],
    )


def _fields_page(name: str) -> Page:
    schema: Any = schema_of_file(name)
    tables = [Table("Fields", ("field", "what it is", "value"), list(_fields(schema)))]
    for part, inner in sorted(schema.get("$defs", {}).items()):
        if "properties" in inner:
            tables.append(Table(part, ("field", "what it is", "value"), list(_fields(inner))))
    return Page(f"files/{name}", f"Fields of {_PLACES[name]}", str(schema.get("description", "")), tables)


def _fields(schema: Mapping[str, Any]) -> Iterator[Sequence[Cell]]:
    needed = schema.get("required", ())
    for name, field in schema.get("properties", {}).items():
        must = " (must be given)" if name in needed else ""
        yield (Code(name),), (f"{field.get('description', '')}{must}",), (_value(field),)


def _value(field: Mapping[str, Any]) -> str:
    """Return what may stand in a field, for a reader."""
    if "$ref" in field:
        return f"table: {field['$ref'].rpartition('/')[2]}"
    if "enum" in field:
        return ", ".join(map(str, field["enum"][:12])) + (", …" if len(field["enum"]) > 12 else "")
    if "const" in field:
        return str(field["const"])
    if "anyOf" in field:
        return " or ".join(dict.fromkeys(_value(option) for option in field["anyOf"]))
    if field.get("type") == "array":
        return f"list: {_value(field['items'])}" if isinstance(field.get("items"), dict) else "list"
    if field.get("examples"):
        return f'like "{field["examples"][0]}"'
    return {"string": "text", "boolean": "true or false", "object": "table"}.get(
        str(field.get("type", "")), str(field.get("type", ""))
    )


def _outcomes_page() -> Page:
    rows = [[((text,), (told,)) for text, told in pairs] for pairs in (_OUTCOMES, _CODES)]
    return Page(
        "outcomes",
        "Outcomes and exit codes",
        "What an answer means, and what a command returns",
        [Table("Outcomes", ("outcome", "means"), rows[0]), Table("Exit codes", ("code", "means"), rows[1])],
    )


def _formats_page() -> Page:
    rows = [((Code(name),), (load_format(name).HELP,), (" ".join(ENDINGS[name]),)) for name in format_names()]
    table = Table("Of a check", ("format", "for", "ending"), rows)
    return Page("formats", "Formats", "The formats of a report; the ending of --output names one", [table])


def _index(pages: Sequence[Page], rules: Sequence[Rule], catalogue: Catalogue) -> Page:
    others = [
        ((Link(page.title, page.name),), (page.said,))
        for page in pages
        if not page.name.startswith(("rules/", "facts/"))
    ]
    listed = [((rule_link(rule),), (rule.outcome,), (rule.subject.name,), (rule.title,)) for rule in rules]
    facts = [((Link(fact.name, f"facts/{fact.name}"),), (fact.kind_text,), (fact.help,)) for fact in catalogue]
    return Page(
        "index",
        "Reference",
        f"{len(rules)} rules as they are in force, {len(facts)} facts, the fields of files",
        [
            Table("In general", ("page", "what it holds"), others),
            Table("Rules", ("rule", "otherwise", "of each", "what it asks"), listed),
            Table("Facts", ("fact", "is", "what it is"), facts),
        ],
    )

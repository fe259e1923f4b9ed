"""Which column says what: titles by a small grammar, content where titles are missing or doubtful."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain
from types import MappingProxyType
from typing import Final, Literal

from msgspec import Struct, field

from capcheck.intake.tables.content import Content, look_at
from capcheck.intake.tables.header_words import Role, Title, read_title, with_letters_read
from capcheck.intake.tables.headerless import by_content
from capcheck.intake.tables.reference_columns import reference_columns
from capcheck.intake.tables.size_columns import bare_figures, size_or_not, untitled_lengths
from capcheck.intake.tables.table import Table
from capcheck.values import InputError, Place, Problem, Problems, in_toml, nearest

Purpose = Literal["placements", "bom"]
_NEEDED: Final[Mapping[str, tuple[Role, ...]]] = {
    "placements": (Role.REF, Role.X, Role.Y),
    "bom": (Role.REF,),
}
_SETTLED_BY_USER: Final[Mapping[str, tuple[Role, ...]]] = {
    "placements": (Role.REF, Role.ROTATION, Role.SIDE),
    "bom": (Role.REF,),
}
"""Roles where two equal candidates must be settled by the user; for others the first one is taken and all are kept."""
_SAME_WEIGHT: Final = 0.05


class Columns(Struct, frozen=True):
    """The column of each role, from 0, with what its title and content say."""

    index: Mapping[Role, int]
    units: Mapping[Role, str]
    """The unit that a role's title names, in the spelling of capcheck's units."""
    variants: Mapping[Role, tuple[int, ...]]
    """Further columns of the same role, best first: the other coordinate pairs, alternates, variants."""
    unclear: tuple[int, ...] = ()
    """Columns of lengths of which no title says what they measure."""
    figures: tuple[int, ...] = ()
    """Further columns of bare numbers, which may be sizes."""
    named: frozenset[Role] = frozenset()
    """The roles whose columns board.toml names."""

    def references(self, table: Table) -> Sequence[str]:
        """Return what each row of *table* lists in its columns of references."""
        first, others = self.index[Role.REF], self.variants.get(Role.REF, ())
        if not others:
            return table.columns[first]
        cells = zip(*(table.columns[i] for i in (first, *others)), strict=True)
        return [", ".join(dict.fromkeys(filter(None, row))) for row in cells]


class ColumnsError(InputError):
    """The columns of a table are not told; *ambiguous* are those of its problems where several claim one role."""

    def __init__(self, problems: list[Problem], ambiguous: list[Problem]) -> None:
        super().__init__(problems)
        self.ambiguous = ambiguous


class _Choice(Struct):
    """The columns while they are being settled."""

    table: Table
    purpose: Purpose
    titles: list[Title]
    contents: Sequence[Content]
    index: dict[Role, int] = field(default_factory=dict)
    variants: dict[Role, tuple[int, ...]] = field(default_factory=dict)
    problems: Problems = field(default_factory=Problems)
    ambiguous: list[Problem] = field(default_factory=list)

    def rivals(self, what: str, why: str, remedy: str) -> None:
        """Note that several columns claim one role."""
        self.problems.add(self.where(), what, why, remedy)
        self.ambiguous.append(self.problems.found[-1])

    def label(self, column: int) -> str:
        """Return a column as a report names it."""
        header = self.table.header
        name = header[column] if column < len(header) else ""
        return f"{in_toml(name)}" if name else f"column {column + 1}"

    def where(self) -> Place:
        """Return the place of the header, or of the table."""
        return Place(self.table.file, self.table.header_row, sheet=self.table.sheet)

    def line(self, role: Role, column: int | None = None) -> str:
        """Return the line for board.toml that names a role's column."""
        name = "…"
        if column is not None:
            label = self.label(column)
            repeated = self.table.header.count(label.strip('"')) != 1
            name = str(column + 1) if repeated or label.startswith("column ") else label.strip('"')
        return f"[columns.{self.purpose}] {_key(role)} = {in_toml(name)}"

    def used(self) -> set[int]:
        """Return the columns that have a role, all of the references among them."""
        return {*self.index.values(), *self.variants.get(Role.REF, ())}

    def take(self, role: Role, column: int, others: tuple[int, ...] = ()) -> None:
        """Settle a role."""
        self.index[role] = column
        if others:
            self.variants[role] = others


def _key(role: Role) -> str:
    return role.value.replace(" ", "_")


def recognise(
    table: Table,
    purpose: Purpose,
    named: Mapping[str, str] = MappingProxyType({}),
    contents: Sequence[Content] | None = None,
) -> Columns:
    """Return which column of *table* has which role.

    *named* is what board.toml states: a role's word to a column's title, or to its number from 1. *contents* are what
    its columns hold, where that was looked at before. Raises
    :class:`ColumnsError` if a needed role has no column, if two columns claim it alike, or if *named* fits nothing.
    """
    choice = _look(table, purpose, contents_of(table) if contents is None else contents)
    _take_named(choice, named)
    by_user = frozenset(choice.index)
    if table.header:
        _take_references(choice)
        _take_pairs(choice)
        _take_titled(choice)
    _take_by_content(choice)
    _demand(choice)
    if choice.problems.found:
        raise ColumnsError(choice.problems.found, choice.ambiguous)
    unclear, figures = _take_lengths(choice)
    units = {role: choice.titles[i].unit for role, i in choice.index.items() if i < len(choice.titles)}
    return Columns(
        index=choice.index,
        units={role: unit for role, unit in units.items() if unit and _fits(role, unit)},
        variants=choice.variants,
        unclear=unclear,
        figures=tuple(i for i in figures if i not in unclear),
        named=by_user,
    )


def _fits(role: Role, unit: str) -> bool:
    if role is Role.ROTATION:
        return unit in {"deg", "rad"}
    if role is Role.MASS:
        return unit in {"g", "mg", "kg"}
    return unit in {"mm", "cm", "um", "m", "mil", "in"}


def contents_of(table: Table) -> list[Content]:
    """Return what each column of *table* holds, whatever the table is for."""
    return [look_at(column) for column in table.columns]


def _look(table: Table, purpose: Purpose, contents: Sequence[Content]) -> _Choice:
    titles = [read_title(name) for name in with_letters_read(table.header)]
    titles += [read_title("")] * (len(contents) - len(titles))
    return _Choice(table, purpose, titles, contents)


def _take_named(choice: _Choice, named: Mapping[str, str]) -> None:
    words = {_key(role): role for role in Role} | {role.name.lower(): role for role in Role}
    header = [name.strip() for name in choice.table.header]
    for word, text in named.items():
        role = words.get(word.strip().lower().replace(" ", "_"))
        where = Place("board.toml", column=f"[columns.{choice.purpose}] {word}")
        if role is None:
            hint = nearest(word, words) or f"one of {', '.join(_key(r) for r in Role)}"
            choice.problems.add(where, f'"{word}" is no role of a column', "nothing would be read by it", hint)
            continue
        wanted = text.strip()
        matches = [i for i, name in enumerate(header) if name == wanted] or [
            i for i, name in enumerate(header) if wanted.casefold() in {name.casefold(), _bare(name).casefold()}
        ]
        if not matches and wanted.isdigit() and 1 <= int(wanted) <= len(choice.contents):
            matches = [int(wanted) - 1]
        if len(matches) == 1:
            choice.take(role, matches[0])
        elif matches:
            numbers = " or ".join(f'"{i + 1}"' for i in matches)
            choice.problems.add(
                where,
                f'{len(matches)} columns have the title "{text}"',
                "they hold different data",
                f"give the column's number: {numbers}",
            )
        else:
            hint = nearest(wanted, header) or f"the titles are: {_listed(header)}"
            choice.problems.add(where, f'no column has the title "{text}"', "the role has no data", hint)


def _bare(title: str) -> str:
    """Return a title without the unit that stands behind it, or in the row below it."""
    return title.rpartition(" [")[0] or title


def _listed(names: list[str]) -> str:
    return ", ".join(f"{in_toml(name)}" for name in names if name)[:400] or "(none)"


def _take_references(choice: _Choice) -> None:
    """Take all columns that list references, be it those of a side each."""
    if choice.purpose == "bom" and Role.REF not in choice.index:
        found = reference_columns(choice.titles, choice.contents)
        if found:
            choice.take(Role.REF, found[0], tuple(found[1:]))


def _take_pairs(choice: _Choice) -> None:
    """Choose among the pairs of coordinates: the body's centre before a plain pair, that before an origin or a pad."""
    used = set(choice.index.values())
    by_axis: dict[Role, list[tuple[float, int]]] = {Role.X: [], Role.Y: []}
    for i, (title, content) in enumerate(zip(choice.titles, choice.contents, strict=True)):
        for axis in (Role.X, Role.Y):
            if axis in title.claims and i not in used and (content.number >= 0.5 or not content.texts):
                by_axis[axis].append((title.claims[axis], i))
    if Role.X in choice.index or Role.Y in choice.index:
        return
    pairs: list[tuple[float, int, int]] = []
    ys = list(by_axis[Role.Y])
    for weight, x in by_axis[Role.X]:
        partners = [(abs(x - y), y) for _, y in ys if choice.titles[y].pair == choice.titles[x].pair]
        partners = [(far, y) for far, y in partners if choice.titles[y].unit == choice.titles[x].unit] or partners
        if partners:
            _, y = min(partners)
            ys = [entry for entry in ys if entry[1] != y]
            pairs.append((weight, x, y))
    if not pairs and len(by_axis[Role.X]) == len(by_axis[Role.Y]) == 1:
        pairs = [(by_axis[Role.X][0][0], by_axis[Role.X][0][1], by_axis[Role.Y][0][1])]
    if not pairs:
        return
    pairs.sort(key=lambda p: (-p[0], _unit_order(choice.titles[p[1]].unit), p[1]))
    first = pairs[0]
    rivals = [p for p in pairs[1:] if abs(p[0] - first[0]) < _SAME_WEIGHT and not _same_place(choice, first, p)]
    if rivals:
        names = "; ".join(f"{choice.label(x)} with {choice.label(y)}" for _, x, y in [first, *rivals])
        if choice.purpose == "placements":
            choice.rivals(
                f"{len(rivals) + 1} pairs of columns may be the coordinates: {names}",
                "they hold different numbers, and the wrong one shifts every part",
                f"name the body's centre: {choice.line(Role.X, first[1])} and "
                f"{_key(Role.Y)} = {choice.line(Role.Y, first[2]).split(' = ', 1)[1]}",
            )
    choice.take(Role.X, first[1], tuple(x for _, x, _ in pairs[1:]))
    choice.take(Role.Y, first[2], tuple(y for _, _, y in pairs[1:]))


def _unit_order(unit: str) -> int:
    order = ("mm", "", "um", "cm", "mil", "in")
    return order.index(unit) if unit in order else len(order)


def _same_place(choice: _Choice, one: tuple[float, int, int], other: tuple[float, int, int]) -> bool:
    """Whether two pairs state the same, be it in another unit."""
    columns = choice.table.columns
    units = {choice.titles[one[1]].unit, choice.titles[other[1]].unit}
    if len(units) == 2 and "" not in units:
        return True
    return columns[one[1]] == columns[other[1]] and columns[one[2]] == columns[other[2]]


def _weights(choice: _Choice) -> list[tuple[float, int, Role]]:
    """Return every claim of a title, weighed by what the column holds."""
    found: list[tuple[float, int, Role]] = []
    used = choice.used()
    for i, (title, content) in enumerate(zip(choice.titles, choice.contents, strict=True)):
        if i in used:
            continue
        for role, weight in title.claims.items():
            if role not in {Role.X, Role.Y}:
                found.append((weight + _support(role, weight, content) + size_or_not(role, title, content), i, role))
        if choice.purpose == "placements" and content.side >= _WHOLLY and not title.claims:
            found.append((_BY_CONTENT, i, Role.SIDE))
        if content.mounting >= _MOSTLY and Role.MOUNTING not in title.claims:
            found.append((_BY_CONTENT, i, Role.MOUNTING))
    return sorted(((w, i, r) for w, i, r in found if w > 0), key=lambda e: (-e[0], e[1]))


_SURE: Final = 2.6
_MOSTLY: Final = 0.8
_WHOLLY: Final = 0.99
_BY_CONTENT: Final = 0.5
_NAMES: Final = frozenset({Role.PART_NUMBER, Role.VALUE, Role.FOOTPRINT, Role.DESCRIPTION, Role.COMMENT})
"""What a part is called; how it is mounted is no name."""


def _support(role: Role, weight: float, content: Content) -> float:
    """Return what a column's content adds to a title's claim; −9 rules it out."""
    if not content.texts:
        return -0.4
    if role is Role.REF:
        if weight >= _SURE:
            return 0.2 * content.reference_list - 0.2
        return content.reference_list + 0.5 * content.prefix - 1.0 if content.number < 0.5 else -9.0
    if role is Role.ROTATION:
        return 0.0 if max(content.number, content.turned) >= 0.5 else -9.0
    if role is Role.QUANTITY:
        return 0.0 if content.number >= 0.3 else -1.5
    if role is Role.SIDE:
        return 0.3 * content.side
    if _names_no_part(role, weight, content):
        return -9.0
    if role in {Role.PART_NUMBER, Role.VALUE} and weight < 2:
        return -1.5 * (content.reference > 0.8)
    return 0.0


def _names_no_part(role: Role, weight: float, content: Content) -> bool:
    """Whether a column counts items (1, 2, 3 …) or says how parts are mounted, where its title claims their name."""
    if content.counting and (role is Role.PART_NUMBER or (role is Role.VALUE and weight < _SURE)):
        return True
    return content.mounting >= _MOSTLY and weight < _SURE and role in _NAMES


def _take_titled(choice: _Choice) -> None:
    claims = _weights(choice)
    used, references = choice.used(), choice.variants.get(Role.REF, ())
    for weight, i, role in claims:
        if i in used or role in choice.index:
            continue
        rivals = [
            j
            for w, j, r in claims
            if r is role
            and j not in {*used, i}
            and abs(w - weight) < _SAME_WEIGHT
            and choice.table.columns[j] != choice.table.columns[i]
            and choice.contents[j].texts
        ]
        if rivals and role in _SETTLED_BY_USER[choice.purpose]:
            names = ", ".join(choice.label(j) for j in [i, *rivals])
            choice.rivals(
                f"{len(rivals) + 1} columns may be the {role}: {names}",
                "they hold different data",
                f"name the right one: {choice.line(role, i)}",
            )
        # How parts are mounted is told by what a column holds, whatever its title says.
        least = 0.0 if role is Role.MOUNTING else 1.0
        others = tuple(
            j for w, j, r in claims if r is role and j != i and w > least and _first_claim(claims, j) is role
        )
        choice.take(role, i, others)
        used.add(i)
    # A second column that looks like references is another thing: a supplier's code such as C1234.
    kept = {role: tuple(j for j in others if j not in used) for role, others in choice.variants.items()}
    choice.variants = {role: others for role, others in kept.items() if others and role is not Role.REF}
    if references:
        choice.variants[Role.REF] = references


def _first_claim(claims: list[tuple[float, int, Role]], column: int) -> Role | None:
    return next((role for _, i, role in claims if i == column), None)


def _take_by_content(choice: _Choice) -> None:
    """Fill what the titles leave open: all roles of a table without a header, needed ones of a table with one."""
    header = choice.table.header
    if header and all(role in choice.index for role in _NEEDED[choice.purpose]):
        return
    taken = set(choice.index.values())
    claimed = {i for i, title in enumerate(choice.titles) if title.claims} if header else set()
    free = {i: c for i, c in enumerate(choice.contents) if i not in taken and i not in claimed}
    for role, column in by_content(free, placements=choice.purpose == "placements").items():
        if role not in choice.index and (not header or role in _NEEDED[choice.purpose]):
            choice.take(role, column)


def _take_lengths(choice: _Choice) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Take the columns that hold sizes under titles that say nothing; those of single lengths, those of numbers."""
    used = {*choice.index.values(), *chain.from_iterable(choice.variants.values())}
    sizes, unclear = untitled_lengths(choice.titles, choice.contents, used)
    for column in sizes:
        if Role.SIZE in choice.index:
            choice.variants[Role.SIZE] = (*choice.variants.get(Role.SIZE, ()), column)
        else:
            choice.take(Role.SIZE, column)
    return unclear, bare_figures(choice.titles, choice.contents, {*used, *sizes})


def _demand(choice: _Choice) -> None:
    for role in _NEEDED[choice.purpose]:
        if role in choice.index:
            continue
        titles = _listed(list(choice.table.header)) if choice.table.header else "the table has no header"
        choice.problems.add(
            choice.where(),
            f"no column is recognised as the {role} ({titles})",
            "without it no part can be placed" if choice.purpose == "placements" else "no line can be matched",
            f"name it: {choice.line(role)}",
        )

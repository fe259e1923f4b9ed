"""Files of fabrication that are read together: the layers of both sides, a board and its library of packages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.exchange.components import joined_parts, read_components
from capcheck.intake.exchange.form import Form
from capcheck.intake.exchange.idf import heights_of_parts, read_idf
from capcheck.intake.exchange.ipc2581 import read_ipc2581
from capcheck.intake.exchange.lands import Netlist, PartLands, joined, lands_of_parts
from capcheck.intake.exchange.netlist import read_netlist
from capcheck.intake.exchange.pads import read_pads
from capcheck.model import Note, say
from capcheck.values import InputError, Place


class Together(Struct, frozen=True):
    """What files of one form state of each reference."""

    form: Form
    files: Sequence[Path]
    parts: Mapping[str, PartLands]
    cut_at: int = 0
    """So many characters of a reference are kept at most; 0 where all are."""
    unread: int = 0
    notes: Sequence[Note] = ()
    """Files of which nothing could be read."""


def sets_of(files: Sequence[tuple[Path, Form]]) -> Iterator[tuple[Form, list[Path]]]:
    """Yield the files that are read together; layers last, which say again what the netlist made of them does."""
    yield from ((form, [file]) for file, form in files if form in {Form.NETLIST, Form.IPC2581})
    for form in (Form.IDF, Form.COMPONENTS, Form.PADS):
        if alike := [file for file, one in files if one is form]:
            yield form, alike


def read_set(form: Form, files: Sequence[Path], named: frozenset[Path]) -> Together:
    """Return what *files* state. Raises :class:`InputError` where one of those *named* by the user cannot be read."""
    notes: list[Note] = []
    lists: list[Netlist] = []
    placed, heights, unread = [], [], 0
    components: list[dict[str, PartLands]] = []
    for number, file in enumerate(files):
        try:
            if form is Form.IDF:
                idf = read_idf(file)
                placed += idf.placed
                heights += [replace(height, file=number) for height in idf.heights]
                unread += idf.unread
            elif form is Form.COMPONENTS:
                own = read_components(file)
                components.append({ref: replace(part, file=number) for ref, part in own.items()})
            elif form is Form.IPC2581:
                return Together(form, files, read_ipc2581(file).parts)
            else:
                read = read_netlist(file) if form is Form.NETLIST else read_pads(file)
                lists.append(replace(read, lands=[replace(land, file=number) for land in read.lands]))
                unread += read.unread
        except InputError as error:
            if file in named:
                raise
            notes.append(
                Note(say("fabrication.not read", form=str(form), what=error.problems[0].what), Place(str(file)))
            )
    if form is Form.IDF:
        return Together(form, files, heights_of_parts(placed, heights), unread=unread, notes=notes)
    if form is Form.COMPONENTS:
        return Together(form, files, joined_parts(components), notes=notes)
    if not lists:
        return Together(form, files, {}, notes=notes)
    whole = lists[0]
    if len(lists) > 1:
        whole = replace(whole, lands=joined(land for one in lists for land in one.lands))
    return Together(form, files, lands_of_parts(whole), whole.cut_at, unread, notes)

"""A DXF file is opened, its blocks expanded, and every entity that can draw a contour becomes part of the drawing.

ezdxf reads R12 to R2018, text and binary. What blocks would expand to is counted over their definitions first: a
file of a few kilobytes can stand for 10⁸ entities, and a block that contains itself for endlessly many.
"""

from __future__ import annotations

import contextlib
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.intake.outline.drawing import Drawing
from capcheck.intake.outline.form import Likeness, OutlineForm
from capcheck.intake.outline.forms.dxf.entities import Entity, EntityReader
from capcheck.model import say
from capcheck.values import InputError, pattern

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ezdxf.document import Drawing as Document
    from ezdxf.math import Matrix44

MAX_ENTITIES: Final = 60_000
"""More than this after expanding blocks is refused. An outline with its drawing frame has tens to thousands."""
_DEEPEST: Final = 60
_HEADER_UNITS: Final = {1: "inch", 2: "ft", 4: "mm", 5: "cm", 6: "m", 8: "microinch", 9: "mil", 13: "µm"}
"""Values of the header variable INSUNITS that can be a board's unit (DXF reference, header section)."""
_EXTERNAL: Final = 4 | 8
"""Flags of a block that stands for another drawing (DXF reference, BLOCK, group code 70)."""
_INVISIBLE: Final = "{} (invisible)"
"""The layer that stands for what is drawn on a layer and switched off by itself."""
_ON_A_SHEET: Final = '{} (on the sheet "{}")'
"""The layer that stands for what is drawn on one of the sheets of paper on which the drawing is laid out."""
_WHOLE_SHEET: Final = 1
"""The identity of the window that stands for the sheet itself (DXF reference, VIEWPORT, group code 69)."""
_UNMOVABLE: Final = (NotImplementedError, ArithmeticError, AttributeError, KeyError, TypeError, ValueError)
_BINARY: Final = pattern(rb"[A-Za-z ]{1,30}Binary DXF\r\n\x1a\x00")
_TEXT: Final = pattern(rb"\s*(?:999\s*\r?\n[^\n]*\n\s*)*0\s*\r?\n\s*SECTION\b", re.IGNORECASE)


def _likeness(head: bytes) -> Likeness:
    return Likeness.OUTLINE if _BINARY.match(head) or _TEXT.match(head) else Likeness.DAMAGED


def _read(path: Path, known_unit: str | None) -> Drawing:
    """Read all contour-like entities of the DXF file at *path*.

    *known_unit* is the unit where the user states it. Raises :class:`InputError` with the layer and entity: not a
    DXF, blocks within themselves, too many entities, coordinates that are not finite.
    """
    drawing = Drawing(str(path))
    document = _open(path, drawing)
    _check_blocks(document, str(path))
    header, written = document.header, path.read_bytes()
    # Of a file without a header the library makes one of its own, in metres: what is not named there is not stated.
    if b"$INSUNITS" in written:
        drawing.unit = _HEADER_UNITS.get(int(header.get("$INSUNITS", 0) or 0))
    if b"$MEASUREMENT" in written and "$MEASUREMENT" in header:
        drawing.metric_hint = bool(header["$MEASUREMENT"])
    drawing.hidden_layers = frozenset(
        layer.dxf.name for layer in document.layers if layer.is_off() or layer.is_frozen()
    )
    reader = EntityReader(drawing, known_unit or drawing.unit)
    for entity, layer in _expanded(document.modelspace(), None):
        reader.add(entity, layer)
    on_sheets = set()
    for name, entities in _on_sheets(document):
        for entity, layer in _expanded(entities, None):
            if reader.draws(entity):
                on_sheets.add(shown := _ON_A_SHEET.format(layer, name))
                reader.add(entity, shown)
    reader.problems.raise_if_any()
    reader.flatten_curves()
    unseen = {_INVISIBLE.format(layer) for layer in drawing.layers()}
    drawing.hidden_layers |= (unseen | on_sheets).intersection(drawing.layers())
    return drawing


def _on_sheets(document: Document) -> Iterator[tuple[str, Iterable[Entity]]]:
    """Yield the name of each sheet of paper, and what is drawn on it, where it lies on the board.

    A sheet shows the board through windows: what is drawn over one lies on what it shows. Without a window the sheet
    is taken for the drawing itself.
    """
    for name in document.layout_names_in_taborder():
        drawn = [entity for entity in document.layout(name) if entity.dxftype() != "VIEWPORT"]
        if name == "Model" or not drawn:
            continue
        windows = [w for w in document.layout(name).query("VIEWPORT") if w.dxf.get("id", 0) != _WHOLE_SHEET]
        views = [view for window in windows if (view := _view(window)) is not None]
        for view in views:
            yield name, _moved(drawn, view)
        if not views:
            yield name, drawn


def _called(layout: str) -> str:
    return "the drawing itself" if layout == "Model" else f'the sheet "{layout}"'


def _view(window: Entity) -> Matrix44 | None:
    """Return what takes a place on the sheet to that of the board which a window shows there; None for an odd one."""
    from ezdxf.math import Matrix44

    shown, height = window.dxf.get("view_height", 0.0), window.dxf.get("height", 0.0)
    if not (shown > 0 and height > 0):
        return None
    scale, on_paper, on_board = shown / height, window.dxf.center, window.dxf.view_center_point
    return Matrix44.chain(
        Matrix44.translate(-on_paper.x, -on_paper.y, 0),
        Matrix44.scale(scale, scale, scale),
        Matrix44.translate(on_board.x, on_board.y, 0),
    )


def _moved(drawn: Iterable[Entity], view: Matrix44) -> Iterator[Entity]:
    from ezdxf.lldxf.const import DXFError

    for entity in drawn:
        try:
            yield entity.copy().transform(view)
        except (DXFError, *_UNMOVABLE):
            yield entity  # of a kind that cannot be moved: better named at a wrong place than dropped


def _open(path: Path, drawing: Drawing) -> Document:
    """Open the file; one with errors is repaired as far as possible, and then what it draws proves nothing.

    The library makes 510 of 510,9, and leaves out what it cannot read.
    """
    with _no_configuration_here():
        from ezdxf import filemanagement, recover
        from ezdxf.lldxf.const import DXFError

    unusable: tuple[type[Exception], ...] = (
        DXFError,
        OSError,
        ValueError,
        IndexError,
        KeyError,
        TypeError,
        AttributeError,
        OverflowError,
        StopIteration,
        RuntimeError,
        AssertionError,
    )
    try:
        return filemanagement.readfile(path)
    except unusable as error:
        first = error
    try:
        document, auditor = recover.readfile(path)
    except unusable as error:
        detail = " ".join(str(first).replace(str(path), path.name).split())[:160]
        raise InputError.at(
            str(path), "this is not a DXF file that can be read", detail, "export the outline as DXF again"
        ) from error
    repaired = say("outline.repaired", error=" ".join(str(first).split())[:120])
    if auditor.has_errors or auditor.has_fixes:
        left, mended = len(auditor.errors), len(auditor.fixes)
        repaired = say("outline.repaired in part", repaired=repaired, left=left, mended=mended)
    drawing.repaired = repaired
    return document


@contextlib.contextmanager
def _no_configuration_here() -> Iterator[None]:
    """Import ezdxf from elsewhere: it obeys an ezdxf.ini in the working directory, which may be a customer's folder."""
    if "ezdxf" in sys.modules:
        yield
        return
    with contextlib.chdir(Path(__file__).parent):
        yield


def _check_blocks(document: Document, file: str) -> None:
    """Refuse blocks that contain themselves and files that expand beyond :data:`MAX_ENTITIES`, before expanding."""
    counts: dict[str, int] = {}
    open_blocks: list[str] = []

    def count(name: str, entities: Iterable[Entity]) -> int:
        if name in counts:
            return counts[name]
        if name in open_blocks or len(open_blocks) > _DEEPEST:
            chain = " > ".join([*open_blocks[open_blocks.index(name) if name in open_blocks else -3 :], name])
            raise InputError.at(
                file,
                f'the block "{name}" contains itself ({chain})'
                if name in open_blocks
                else f"blocks are nested more than {_DEEPEST} deep ({chain})",
                "it stands for endlessly many entities",
                "explode or purge the block and export again",
            )
        open_blocks.append(name)
        total = 0
        for entity in entities:
            if entity.dxftype() == "INSERT":
                times = max(1, entity.dxf.get("row_count", 1)) * max(1, entity.dxf.get("column_count", 1))
                # An insert that draws nothing still costs its expansion.
                total += times * (1 + count(entity.dxf.name.lower(), document.blocks.get(entity.dxf.name) or ()))
            else:
                total += 1
        open_blocks.pop()
        counts[name] = total
        return total

    total = sum(count(_called(name), document.layout(name)) for name in document.layout_names())
    if total > MAX_ENTITIES:
        raise InputError.at(
            file,
            f"its blocks expand to {total:,} entities, at most {MAX_ENTITIES:,} are read",
            "an outline has hundreds; this is a whole drawing or a damaged file",
            "export the board's outline alone",
        )


def _expanded(entities: Iterable[Entity], outer_layer: str | None) -> Iterator[tuple[Entity, str]]:
    """Yield the entities with their layers, inserts replaced by what they insert.

    What lies on layer 0 in a block takes the layer of the insert, by the rule of the format.
    """
    for entity in entities:
        if not entity.dxf.is_supported("layer"):
            continue  # a damaged file's stray records are no graphics
        layer = entity.dxf.get("layer", "0")
        if outer_layer is not None and layer == "0":
            layer = outer_layer
        if entity.dxf.is_supported("invisible") and entity.dxf.get("invisible", 0):
            layer = _INVISIBLE.format(layer)
        if entity.dxftype() == "INSERT" and (block := entity.block()) is not None:
            if block.block is not None and block.block.dxf.get("flags", 0) & _EXTERNAL:
                # What it stands for lies in another file.
                yield entity, layer
                continue
            for single in entity.multi_insert() if entity.mcount > 1 else (entity,):
                yield from _expanded(single.virtual_entities(), layer)
            yield from _expanded(entity.attribs, layer)
        elif entity.dxftype() == "MLINE":
            yield from _expanded(entity.virtual_entities(), layer)
        else:
            yield entity, layer


FORM: Final = OutlineForm("DXF", _likeness, _read, ("ezdxf.filemanagement", "ezdxf.recover", "ezdxf.path"))

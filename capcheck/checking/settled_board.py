"""A board read for a check, with what the shop knows of its parts, orders by habit and assumes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from capcheck.checking.board_size import with_thickness
from capcheck.checking.prepared import Prepared
from capcheck.checking.read import read_board
from capcheck.facts import asks_for_lands, asks_for_marks
from capcheck.intake import NoPlacementsError, shown
from capcheck.model import Basis, Board, Decision, Measure, Topic, say
from capcheck.shop import COMMAND_LINE, Settings
from capcheck.values import Interval

_OWN: Final = frozenset({"board", "placements"})
"""Roles of the files that make a folder a board's own."""


def read_prepared(
    given: Prepared,
    path: str | Path | None = None,
    *,
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    outline_alone: bool = False,
) -> Board:
    """Return the board in *path*, of the settings or of the files, with what the shop knows and assumes of it.

    *given* is of this board: of several, each by :meth:`~capcheck.checking.Prepared.of_board`. *outline_alone* is as
    for :func:`read_board`. Raises :class:`~capcheck.values.InputError`.
    """
    settings = given.settings
    # The board that a configuration names is for runs that name none: files named beside it would be mixed with it.
    if path is None and (not placements or settings.origins.get("board") == COMMAND_LINE):
        path = settings.board
    board = read_board(
        path,
        placements=placements,
        bom=bom,
        outline=outline,
        libraries=given.libraries,
        outline_alone=outline_alone,
        layers=asks_for_lands(name for rule in given.rules for name in rule.facts),
        marks=asks_for_marks(name for rule in given.rules for name in rule.facts),
        stated=settings.board_file,
    )
    if path is not None:
        _refuse_what_is_settled_below(Path(path), board, settings)
    return _as_assumed(_with_habit(board, settings), settings)


def _refuse_what_is_settled_below(path: Path, board: Board, settings: Settings) -> None:
    """Raise :class:`NoPlacementsError` where a folder has no placements itself and a configuration names one below.

    Read from above, what lies there would be judged by other settings than its own, or be a copy that nobody judges.
    """
    if not path.is_dir() or not (named := settings.configuration.named_below(path)):
        return
    if any(f.role == "board" or Path(f.path).parent == Path(shown(path)) for f in board.inputs if f.role in _OWN):
        return
    raise NoPlacementsError.at(
        shown(path),
        f"it has no placements of its own, and the configuration settles what lies below: {shown(named[0])}",
        "each is judged by its own settings",
        "name the one that is meant; capcheck check takes all of them",
    )


def _with_habit(board: Board, settings: Settings) -> Board:
    """Return the board with the shop's habit for panels, as far as its own board.toml states no other."""
    own = board.manifest.panel_proposal
    stated = {key: getattr(own, key) for key in own.model_fields_set}
    manifest = board.manifest.model_copy(update={"panel_proposal": settings.panel.model_copy(update=stated)})
    return replace(board, manifest=manifest)


def _as_assumed(board: Board, settings: Settings) -> Board:
    """Return the board with the thickness that the shop assumes, where its files state none."""
    thickness = settings.assumed.thickness
    if thickness is None or board.size.thickness.value.is_known:
        return board
    where = settings.configuration.where("assumed", "thickness")
    place = replace(where, column=None)
    assumed = say("checking.thickness assumed", thickness=thickness)
    decision = Decision(
        Topic.THICKNESS,
        assumed,
        say("checking.assumed by the shop", layer=settings.configuration.layer_of("assumed", "thickness")),
        settle=f'thickness = "{thickness:g} mm"',
        place=place,
    )
    measure = Measure(Interval.exactly(thickness), Basis.ASSUMED, f"assumed by the shop, {place}")
    return replace(with_thickness(board, measure), decisions=[*board.decisions, decision])

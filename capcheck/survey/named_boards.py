"""The boards of a run under names of their own, with what is made of them a year."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Generic, Protocol, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Prepared
from capcheck.intake import shown
from capcheck.model import InputFile, Note, say
from capcheck.survey.each_board import NotChecked, Watch, checked_boards
from capcheck.survey.quantities import Quantities
from capcheck.survey.results import Unread


class OfNamedBoard(Protocol):
    """What comes out for one board, with its own name and the quantity that its board.toml states."""

    @property
    def name(self) -> str:
        """The name that its files give it."""

    @property
    def per_year(self) -> float | None:
        """How many are made a year by its board.toml."""

    @property
    def inputs(self) -> Sequence[InputFile]:
        """The files that it was made of."""


Result_co = TypeVar("Result_co", bound=OfNamedBoard, covariant=True)


class NamedBoard(Struct, Generic[Result_co], frozen=True):
    """A board's result under a name that no other board of the run has."""

    name: str
    per_year: float | None
    result: Result_co


class NamedBoards(Struct, Generic[Result_co], frozen=True):
    """All boards of a run; *unused* are the names of the list of quantities that found no board."""

    boards: tuple[NamedBoard[Result_co], ...]
    unread: tuple[Unread, ...]
    unused: tuple[str, ...]


def named_boards(
    paths: Sequence[str | Path],
    work: Callable[[Path], Result_co],
    *,
    given: Prepared,
    quantities: Mapping[str, float] | None = None,
    tell: Callable[[Note], None] = lambda _: None,
    watch: Watch = lambda *_: None,
    jobs: int = 1,
    executor: Executor | None = None,
) -> NamedBoards[Result_co]:
    """Return what *work* makes of the boards that *paths* name or hold; a broken one stops no other.

    *quantities* are boards a year by the name of the board, its folder or archive; a board's own ``per_year`` counts
    where they have none. *given* is what the work goes by. *tell* hears what was passed over, *watch* how far it is.
    *jobs* processes work at once, or what *executor* offers.
    """
    of_boards = Quantities(quantities or {})
    places: list[str] = []

    def told_of(path: Path) -> Hashable:
        return given.told_of(path), of_boards.listed_as(shown(path))

    boards: list[NamedBoard[Result_co]] = []
    taken: set[str] = set()
    unread: list[Unread] = []
    for outcome in checked_boards(paths, work, jobs=jobs, executor=executor, watch=watch, told_of=told_of):
        if isinstance(outcome, Note):
            tell(outcome)
        elif isinstance(outcome, NotChecked):
            unread.append(Unread(outcome.name, outcome.error))
        else:
            found = outcome.report
            name = outcome.name if found.name in taken else found.name
            taken.add(name)
            per_year = of_boards.of(found.name, outcome.name, found.per_year)
            boards.append(NamedBoard(name, per_year, found))
            places.append(outcome.name)
    for name, several in of_boards.of_several.items():
        tell(Note(say("boards.quantity of several", name=name, places=several)))
        # A quantity that is counted twice would be a wrong one; one that nobody knows is open.
        boards = [
            replace(board, per_year=None) if place in several else board
            for board, place in zip(boards, places, strict=True)
        ]
    return NamedBoards(tuple(boards), tuple(unread), of_boards.unused)

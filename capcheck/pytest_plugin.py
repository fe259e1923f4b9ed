"""Boards as test items: a folder with a ``board.toml`` gives one item for each rule and machine.

Collected only where asked for: ``pytest --capcheck``, or ``capcheck_boards = true`` in pytest's own configuration. This
module is imported by every pytest run of its environment, so it imports nothing but pytest; everything else is
imported once there is a board to check.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from _pytest._code.code import TerminalRepr, TracebackStyle
    from xdist.workermanage import WorkerController

    from capcheck.checking import Report
    from capcheck.engine import Finding, Rule
    from capcheck.machines import Line
    from capcheck.shop import Choice, Settings

BOARD_FILE = "board.toml"
_TOGETHER = "capcheck_together"
"""By this name a worker and the process that hands out its work agree that a board is told of by one message."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the options by which boards are asked for."""
    group = parser.getgroup("capcheck", "boards against a line of placement machines")
    group.addoption("--capcheck", action="store_true", help="check the board of every folder that holds a board.toml")
    group.addoption("--capcheck-line", metavar="FILE", help="line to check against; default: the configuration's")
    group.addoption(
        "--capcheck-config",
        metavar="FILE",
        help="configuration; default: the nearest upwards from here, outside the board's folder",
    )
    group.addoption("--capcheck-strict", action="store_true", help="warnings and undecided rules fail too")
    parser.addini("capcheck_boards", "check the board of every folder that holds a board.toml", "bool", default=False)


def pytest_configure(config: pytest.Config) -> None:
    """Have the modules of this program loaded as they are.

    pytest marks whatever comes with a plugin, which is all of the program, to have its assertions rewritten. It has
    none to show, and where no bytecode may be written each run would compile every module anew: twice the time.
    """
    marked = getattr(config.pluginmanager.rewrite_hook, "_must_rewrite", None)  # no public name takes a mark back
    if isinstance(marked, set):
        marked.discard(__name__.partition(".")[0])


def pytest_sessionstart(session: pytest.Session) -> None:
    """Have a worker tell of a board by one message, where that is agreed."""
    if _TOGETHER in getattr(session.config, "workerinput", ()):
        from capcheck.pytest_processes import tell_together

        tell_together(session.config, BoardFile)


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Take every board.toml for a board, if boards are asked for."""
    if file_path.name != BOARD_FILE:
        return None
    if not _asked_for(parent.config):
        return None
    collector: pytest.Collector = BoardFile.from_parent(parent, path=file_path)
    return collector


def _asked_for(config: pytest.Config) -> bool:
    return bool(config.getoption("--capcheck") or config.getini("capcheck_boards"))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Callable[..., object]) -> object:
    """Give each board to one process, where tests are shared out: its check is made once. Other tests go as before.

    A way of sharing that was chosen (``--dist loadfile`` and the like) holds.
    """
    if config.getoption("dist") != "load" or not _asked_for(config):
        return None
    from capcheck.pytest_processes import OneBoardOneProcess

    return OneBoardOneProcess(config, log, BOARD_FILE)


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: WorkerController) -> None:
    """Agree with a worker that it tells of a board by one message, where it gets all items of a file."""
    if node.config.getoption("dist") not in ("load", "loadfile") or not _asked_for(node.config):
        return
    from capcheck.pytest_processes import hear_together

    node.workerinput[_TOGETHER] = True
    hear_together(node)


def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """Run an item that only looks up an answer; any other is left to pytest.

    So is the last of a board, with which what the board lies in ends, and one with a mark.
    """
    if not isinstance(item, AboutBoard) or not item.board.only_looked_up:
        return None
    if nextitem is None or nextitem.parent is not item.parent or next(item.iter_markers(), None) is not None:
        return None
    from capcheck.pytest_run import run_phases_alone

    run_phases_alone(item)
    return True


class BoardError(Exception):
    """A rule has findings on the board, or the board cannot be read: the text of it."""


class BoardWarning(pytest.PytestWarning):
    """A rule of level warn has findings on the board: the text of them."""


class _Rules:
    """The rules read so far in this process, by what chooses them: boards of one configuration share theirs."""

    def __init__(self) -> None:
        self._read: list[tuple[Choice, list[Rule]]] = []

    def every(self, choice: Choice) -> list[Rule]:
        """Return the rules that ship and those of the choice."""
        from msgspec.structs import replace

        from capcheck.shop import all_rules

        # Where a configuration was found differs from board to board; what it says counts.
        key = replace(choice, origin=type(choice.origin)(choice.origin.path, choice.origin.values))
        for known, rules in self._read:
            if known == key:
                return rules
        self._read.append((key, all_rules(choice)))
        return self._read[-1][1]


_RULES = pytest.StashKey[_Rules]()


class BoardFile(pytest.File):
    """A board: its line and rules are read when it is collected, it is checked when its first item runs."""

    _report: Report | None = None
    _error: str | None = None
    """Why the board cannot be read: the first item that meets it tells, the others are skipped."""

    def collect(self) -> Iterator[pytest.Item]:
        """Yield an item for each rule, and for each machine where the rule is about machines."""
        from capcheck.lexicon import sentence
        from capcheck.values import InputError, reading

        try:
            with reading(self.path):
                settings, line, rules = self._chosen()
        except InputError as error:
            raise self.CollectError(str(error)) from None
        for other in settings.configuration.not_obeyed:
            self.warn(BoardWarning(sentence(other.said)))
        machines = [] if line is None else [machine.name for machine in line.machines]
        for rule in rules:
            for machine in machines if rule.subject.each else [None]:
                name = rule.id if machine is None else f"{rule.id}[{machine}]"
                yield self._item(name, rule.id, machine)
        answered: AnsweredItem = AnsweredItem.from_parent(self, name="answered")
        answered.board = self
        yield answered
        if settings.waivers:
            from capcheck.shop import EXPIRED, UNUSED

            for name in (EXPIRED, UNUSED):
                yield self._item(name, name, None)

    def _item(self, name: str, rule: str, machine: str | None) -> BoardItem:
        item: BoardItem = BoardItem.from_parent(self, name=name)
        item.board, item.rule, item.machine = self, rule, machine
        return item

    def _chosen(self) -> tuple[Settings, Line | None, list[Rule]]:
        from capcheck.checking import devices_of
        from capcheck.engine import choose
        from capcheck.shop import configuration_of, settle

        options = self.config.option
        settings = settle(
            configuration_of([self.path], options.capcheck_config),
            board=self.path,
            line=options.capcheck_line,
            strict=options.capcheck_strict,
        )
        line = devices_of(settings)
        rules = choose(self._rules(settings), settings.choice.select, settings.choice.ignore)
        # Without a line there is nothing that a rule on machines could be answered for.
        return settings, line, [rule for rule in rules if line is not None or rule.subject.each is None]

    def _rules(self, settings: Settings) -> list[Rule]:
        return self.config.stash.setdefault(_RULES, _Rules()).every(settings.choice)

    @property
    def only_looked_up(self) -> bool:
        """Whether the check was made, an item only looks up its answer, and nothing waits for the item's phases."""
        return self._report is not None and self._nothing_waits_for_phases

    @cached_property
    def _nothing_waits_for_phases(self) -> bool:
        from capcheck.pytest_run import nothing_waits_for_phases

        return nothing_waits_for_phases(self)

    @cached_property
    def findings(self) -> dict[tuple[str, str | None], list[Finding]]:
        """The findings of the report by rule and machine."""
        found: dict[tuple[str, str | None], list[Finding]] = {}
        for finding in self.report().findings:
            found.setdefault((finding.rule, finding.subject.machine), []).append(finding)
        return found

    def report(self) -> Report:
        """Return the report on the board, made once.

        Raises :class:`BoardError` once if the board cannot be read; whoever asks again is skipped.
        """
        from capcheck.checking import check_as_settled
        from capcheck.values import InputError, reading

        if self._error is not None:
            pytest.skip(f"the board could not be read: {self._error.splitlines()[0]}")
        if self._report is None:
            try:
                with reading(self.path):
                    settings, line, _ = self._chosen()
                    self._report = check_as_settled(settings, line, every=self._rules(settings))
            except InputError as error:
                self._error = str(error)
                raise BoardError(self._error) from None
        return self._report


class AboutBoard(pytest.Item):
    """An item about a board: it is an error where the board cannot be read, and shows texts, no internals."""

    board: BoardFile

    def setup(self) -> None:
        """Check the board, if no item before did."""
        try:
            self.board.report()
        except BoardError as error:
            pytest.fail(str(error), pytrace=False)  # before the call, pytest asks no item for its text

    def repr_failure(
        self, excinfo: pytest.ExceptionInfo[BaseException], style: TracebackStyle | None = None
    ) -> str | TerminalRepr:
        """Return the text of the findings; anything else is an error of the program and shown as one."""
        if isinstance(excinfo.value, BoardError | BoardWarning):
            return str(excinfo.value)
        return super().repr_failure(excinfo, style)

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Return the folder's name and the rule, as pytest's headings print them."""
        return self.path, None, f"{self.path.parent.name}: {self.name}"


class BoardItem(AboutBoard):
    """One rule on one board, for one machine where the rule is about machines."""

    rule: str
    machine: str | None

    def runtest(self) -> None:
        """Fail if the rule has a finding of level fail (or any, if strict) that is not waived.

        A finding of level warn is a warning of pytest; a rule that is not decided is skipped, as nothing is proved.
        """
        report = self.board.report()
        for broken, error in report.answers.broken_rules:
            if broken == self.rule:
                raise BoardError(f"the rule could not be answered: {error}")
        for lacking, rules in report.answers.skipped.items():
            if self.rule in rules:
                pytest.skip(f"no {lacking} was given")
        findings = self.board.findings.get((self.rule, self.machine), [])
        self._note(findings)
        failing = [f for f in findings if not f.waived and (f.outcome == "fail" or report.strict)]
        if failing:
            raise BoardError(_text(failing))
        live = [f for f in findings if not f.waived]
        if warned := [f for f in live if not f.undecided]:
            self._warn(warned)
        if undecided := [f for f in live if f.undecided]:
            pytest.skip(f"undecided: {'; '.join(dict.fromkeys(f.message for f in undecided))}")

    def _warn(self, findings: list[Finding]) -> None:
        place = next((f.place for f in findings if f.place is not None), None)
        warnings.warn_explicit(
            BoardWarning(_text(findings)),
            category=None,
            filename=str(self.path) if place is None else place.file,
            lineno=(place and place.row) or 1,
        )

    def _note(self, findings: list[Finding]) -> None:
        """Put counts where JUnit XML shows them, and what does not fail into the item's own output."""
        counts = {
            "warn": sum(f.outcome == "warn" and not f.waived and f.waits_for is None for f in findings),
            "undecided": sum(f.undecided and not f.waived and f.waits_for is None for f in findings),
            "waiting": sum(f.waits_for is not None for f in findings),
            "waived": sum(f.waived for f in findings),
        }
        self.user_properties += [(f"capcheck {name}", count) for name, count in counts.items() if count]
        quiet = [f for f in findings if f.waived or f.outcome == "warn"]
        if quiet:
            self.add_report_section("call", "capcheck", _text(quiet))


class AnsweredItem(AboutBoard):
    """Whether the check of one board is an answer at all: rules that pass on nothing prove nothing."""

    def runtest(self) -> None:
        """Fail if nothing is to be placed or was answered, a rule raised, or one that was named lacks its input."""
        from capcheck.report import unanswered

        report = self.board.report()
        if report.unanswered:
            raise BoardError(f"unanswered: {unanswered(report)}")


def _text(findings: list[Finding]) -> str:
    from capcheck.report import line_of_finding

    remedies = dict.fromkeys(finding.remedy for finding in findings)
    return "\n".join([*(line_of_finding(finding) for finding in findings), *(f"→ {text}" for text in remedies)])

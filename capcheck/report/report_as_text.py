"""The report as text for the desk: the verdict, what stops it, what is close, what is unknown, what was assumed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec import Struct

from capcheck.checking import Report
from capcheck.lexicon import cautions, sentence
from capcheck.report.first_screen import FIRST_QUESTIONS, FirstScreen, first_screen
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.sentences import (
    VERDICT_WORDS,
    accepted,
    closest,
    count_line,
    in_short,
    lacking,
    not_placed,
    noted,
    size_of,
)
from capcheck.report.styled_lines import ALL, Line, wrapped
from capcheck.values import counted, shortened, visible


class _Page(Struct, frozen=True):
    """How wide lines are."""

    width: int

    def wrapped(self, text: str, first: str = "  ", rest: str = "    ", style: str = "") -> Iterator[Line]:
        return (Line(t, style) for t in wrapped(text, self.width, first, rest))


def styled_report(report: Report, *, width: int, full: bool, quiet: bool = False, name: str = "") -> list[Line]:
    """Return the lines of the report, wrapped at *width*: the first screen, or with *full* everything.

    If *quiet* it is the verdict and what fails alone, and the cautions, which several boards have once at their
    end. A report among several begins with the *name* of its board.
    """
    if quiet:
        page = _Page(width)
        lines = _verdict_and_failures(report, page, name)
        lines += () if name else page.wrapped(cautions(), "", "", "dim")
    else:
        lines = [Line(name, "head")] if name else []
        lines += _everything(report, width) if full else _first_screen(report, width)
    return [*map(_seen, lines)]


def styled_heads(reports: Sequence[Report], *, width: int, quiet: bool = False) -> list[Line]:
    """Return the heads of one board's reports on several lines: verdict, numbers and what stops it, line by line.

    What is asked before anything starts follows once, and the cautions. If *quiet* it is the verdicts and what fails
    alone, and the cautions.
    """
    page = _Page(width)
    if quiet:
        told = [line for report in reports for line in _verdict_and_failures(report, page)]
        return [*map(_seen, told), *page.wrapped(cautions(), "", "", "dim")]
    lines: list[Line] = []
    asked: dict[str, None] = {}
    for report in reports:
        screen = first_screen(report)
        lines += [*_verdict_line(report, screen, page), *page.wrapped(screen.numbers, "      ", "      ")]
        stops = (row for section in screen.sections if section.style == "fail" for row in section.rows)
        lines += [line for row in stops for line in page.wrapped(f"stops it: {row}", "      ", "        ")]
        asked |= dict.fromkeys(row for s in screen.sections if s.title == FIRST_QUESTIONS for row in s.rows)
    if asked:
        lines += [Line(""), Line(FIRST_QUESTIONS, "head"), *(line for row in asked for line in page.wrapped(row))]
    further = "the whole answer of a line: name it alone; lines side by side, with cycle and slots: capcheck compare"
    lines += [Line(""), *page.wrapped(further, "", "  ", "dim"), *page.wrapped(cautions(), "", "", "dim")]
    return [*map(_seen, lines)]


def _seen(line: Line) -> Line:
    return Line(visible(line.text), line.style)


def lines_of_boards(verdicts: Sequence[str | None], *, width: int, alone: bool, quiet: bool = False) -> list[Line]:
    """Return what ends several boards: the counts of their verdicts, None for one that could not be checked.

    What stands *alone*, the reports being in files, carries the cautions itself; so do verdicts alone, with *quiet*.
    """
    count = _line_of_boards(verdicts)
    verdicts_alone = quiet and any(verdicts)
    told = cautions() if verdicts_alone or (alone and not quiet) else ""
    return [*(_Page(width).wrapped(told, "", "", "dim") if told else ()), count]


def _line_of_boards(verdicts: Sequence[str | None]) -> Line:
    of = Counter(verdicts)
    pieces = [f"{of['fail']} fail", f"{of['warn']} warn", f"{of['pass']} pass"]
    pieces += [f"{of['unanswered']} unanswered"] if of["unanswered"] else []
    pieces += [f"{of[None]} not checked"] if of[None] else []
    worst = next((word for word in ("fail", None, "unanswered", "warn") if of[word]), "pass")
    return Line(f"{counted(len(verdicts), 'board')}: {', '.join(pieces)}", worst or "fail")


def _verdict_line(report: Report, screen: FirstScreen, page: _Page, name: str = "") -> Iterator[Line]:
    title = f"{name}: {screen.title}" if name else screen.title
    text = f"{VERDICT_WORDS[report.verdict]}  {title}: {screen.verdict}"
    return page.wrapped(text, "", "      ", report.verdict)


def _verdict_and_failures(report: Report, page: _Page, name: str = "") -> list[Line]:
    screen = first_screen(report)
    failing = [row for section in screen.sections if section.style == "fail" for row in section.rows]
    return [*_verdict_line(report, screen, page, name), *(line for row in failing for line in page.wrapped(row))]


def _first_screen(report: Report, width: int) -> list[Line]:
    screen = first_screen(report)
    page = _Page(width)
    lines = [
        *_verdict_line(report, screen, page),
        *page.wrapped(screen.numbers, "      ", "      "),
    ]
    for section in screen.sections:
        lines += [Line(""), Line(section.title, section.style)]
        lines += [line for row in section.rows for line in page.wrapped(row)]
    lines.append(Line(""))
    lines += [line for row in screen.further for line in page.wrapped(row, "", "  ", "dim")]
    return [*lines, *page.wrapped(cautions(), "", "", "dim"), Line(count_line(report), report.verdict)]


def _everything(report: Report, width: int) -> list[Line]:
    page = _Page(width)
    groups = decided_groups([f for f in report.findings if not f.waived], report.line)
    return [
        *_head(report, page),
        *_groups("What fails", [g for g in groups if g.outcome == "fail"], page),
        *_groups("What to look at", [g for g in groups if g.outcome == "warn"], page),
        *_closest(report, page),
        *_gaps(report, page),
        *_accepted(report, page),
        *_left_over(report, page),
        *_notes(report, page),
        *_machines(report, page),
        *_asked(report, page),
        Line(""),
        *page.wrapped(cautions(), "", "", "dim"),
        Line(count_line(report), report.verdict),
    ]


def _head(report: Report, page: _Page) -> Iterator[Line]:
    board, line = report.board, report.line
    on = f" on {line.name}" if line else ", no line given"
    yield from page.wrapped(f"{VERDICT_WORDS[report.verdict]}  {board.name}{on}", "", "      ", report.verdict)
    placements = board.placements
    counts = f"{int(placements.is_part.sum())} parts to place"
    bottom = int((placements.is_part & (placements.side == 1)).sum())
    if bottom:
        counts += f" ({bottom} on the bottom)"
    panel = f", judged {sentence(report.in_panel.said)}" if report.in_panel else ""
    yield from page.wrapped(f"{counts}, board {size_of(board)}{panel}", "      ", "      ")
    if line:
        yield from page.wrapped(f"machines: {', '.join(m.name for m in line.machines)}", "      ", "        ")
    yield from page.wrapped(" ".join(in_short(report)), "      ", "      ")


def _groups(title: str, groups: list[Group], page: _Page) -> Iterator[Line]:
    if not groups:
        return
    yield Line("")
    yield Line(title, "head")
    rules: dict[str, list[Group]] = {}
    for group in groups:
        rules.setdefault(group.rule, []).append(group)
    for rule, same in rules.items():
        yield from page.wrapped(f"{rule}: {same[0].title}", style=same[0].outcome)
        for group in same:
            yield from page.wrapped(_group_text(group), "    ", "      ")
        yield from page.wrapped(f"→ {same[0].remedy}", "    ", "      ", "dim")


def _group_text(group: Group) -> str:
    label = f" ({group.label})" if group.label and group.label not in group.text else ""
    margin = f" [margin {group.margin}]" if group.margin and group.outcome == "fail" else ""
    lead = "" if group.names_itself else f"{group.refs(ALL)}{label}: "
    since = f" [{group.since}]" if group.since else ""
    return f"{lead}{group.text}{margin}{since}"


def _closest(report: Report, page: _Page) -> Iterator[Line]:
    found = closest(report)
    if not found:
        return
    yield Line("")
    yield Line("Tightest margins (passing)", "head")
    for item in found:
        yield from page.wrapped(f"{item.tightest.rule}: {item.text}")


def _gaps(report: Report, page: _Page) -> Iterator[Line]:
    found = gaps([f for f in report.findings if not f.waived])
    if not found:
        return
    yield Line("")
    yield Line("Undecided: data missing", "head")
    for gap in found:
        yield from _gap(gap, page)


def _gap(gap: Gap, page: _Page) -> Iterator[Line]:
    label = f" ({gap.label})" if gap.label else ""
    yield from page.wrapped(f"{gap.refs(ALL)}{label}: {lacking(gap)}")
    yield from page.wrapped(f"→ undecided: {', '.join(gap.rules)}", "    ", "      ", "dim")


def _accepted(report: Report, page: _Page) -> Iterator[Line]:
    found = accepted(report)
    if found:
        yield Line("")
        yield Line("Accepted by a waiver", "head")
    for rule, subjects, why in found:
        yield from page.wrapped(f"{rule}: {subjects}: {why}")


def _left_over(report: Report, page: _Page) -> Iterator[Line]:
    left = not_placed(report)
    if not left:
        return
    yield Line("")
    yield Line("Not machine-placed", "head")
    for words, refs in left:
        yield from page.wrapped(f"{words}: {shortened(refs, ALL)} ({len(refs)})")


def _notes(report: Report, page: _Page) -> Iterator[Line]:
    if not report.notes:
        return
    yield Line("")
    yield Line("Inferred and noted", "head")
    for note in report.notes:
        yield from page.wrapped(noted(note))


def _machines(report: Report, page: _Page) -> Iterator[Line]:
    from capcheck.report.machines_told import machines_told

    found = list(machines_told(report.line))
    if found:
        yield Line("")
        yield Line("Machines, as their profiles say", "head")
    for machine in found:
        yield from page.wrapped(f"{machine.called}{': ' if machine.note else ''}{machine.note}")
        for name, value in machine.sheet:
            yield from page.wrapped(f"{name}: {value}", "    ", "      ")


def _asked(report: Report, page: _Page) -> Iterator[Line]:
    from capcheck.report.rules_asked import asked_in_short, never_applied, rules_asked

    asked = rules_asked(report)
    yield Line("")
    yield Line(asked_in_short(asked), "head")
    for reason, rules in never_applied(asked):
        yield from page.wrapped(f"never applied, {reason}: {', '.join(rules)}")
    for item in asked:
        if not item.never:
            yield from page.wrapped(f"{item.rule.id}: {item.told}")

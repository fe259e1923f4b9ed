"""A list of questions that comes back as text, Markdown or a mail: what was ticked and written between its lines.

Nothing is taken by its place alone: the text is held against the list as it is now, word by word, so that lines may be
broken anew, quoted or left out. What stands there beside it is the answer: behind or below a part that of the part,
else that of the question. Each code carries the key and the version of what was asked. Of a list that went out before
other answers were taken, numbers and headings differ, and parts that nobody asks about any more: none is an answer.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from itertools import accumulate
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.answers.alignment import differences
from capcheck.answers.effects import effects
from capcheck.answers.filled_list import FilledList, FilledRow, figure_named
from capcheck.answers.settling import asked_now
from capcheck.intake import text_of_file
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.report import customers_languages, load_format
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.answers.settling import Asked
    from capcheck.checking import Report

_FORMS: Final = ("questions", "mail")
_CODE: Final = pattern(
    r"(?P<key>(?<![a-z0-9])[a-z][a-z0-9]{0,29}(?:-[a-z0-9]{1,30}){0,9}(?::[0-9a-f]{5})?)/(?P<asked>[0-9a-f]{10})"
)
_TOKEN: Final = pattern(
    rf"{_CODE.pattern.replace('?P<key>', '?:').replace('?P<asked>', '?:')}|_+|[\u3040-\u30ff\u3400-\u9fff]"
    r"|[^\W_\u3040-\u30ff\u3400-\u9fff]+|[^\w\s]"
)
_BOX: Final = "☐"
_TICKED: Final = "☒"
_TICKS: Final = pattern(r"[☑☒✓✔]|\[[xX]\]|\b[xX]\s*☐|☐\s*[xX](?=\s)")
_QUOTED: Final = pattern(r"^[>|\s]+")
_MARKUP: Final = pattern(r"[\\*`]|\[(?=[^\]\s]{0,60}/)|(?<=[0-9a-f]{10})\]")
_NUMBERED: Final = pattern(r"\s*(\d+)\. ")
_PART: Final = pattern(r"(?m)^[ \t]*- ")
_ANY_BOX: Final = pattern(r"[☐☒]")
_OF_A_FIGURE: Final = pattern(r"[;\n]|,(?=\s*[^\W\d])")
_NAME_AND_VALUE: Final = pattern(r"(?P<name>[^\d:=<>≤±]++)(?:[:=]\s*+)?(?P<value>[\d<>≤±].*)")
_WORD: Final = pattern(r"\w")
_LONGEST: Final = 2_000


class _Block(Struct):
    """A question of the text: the line of the file where it begins, and its lines."""

    at: int
    lines: list[str]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    @property
    def codes(self) -> list[re.Match[str]]:
        return _codes(self.text)

    @property
    def key(self) -> str:
        """The key of the question; a part of it has the question's before a colon."""
        keys = [code["key"] for code in self.codes]
        return next((key for key in keys if ":" not in key), keys[0].partition(":")[0] if keys else "")

    @property
    def version(self) -> str:
        """The hash of what its question asks; empty where that code is gone."""
        return next((code["asked"] for code in self.codes if ":" not in code["key"]), "")

    def is_marked(self, *, with_parts: bool) -> bool:
        """Whether something is ticked or written behind a code: there alone an answer is none of the list's own words.

        In a mail the code is the last of a question, and what stands below it is an answer too.
        """
        codes = self.codes
        counted = [code for code in codes if with_parts or ":" not in code["key"]]
        behind = [self.text[code.end() :].partition("\n")[0] for code in counted]
        if codes[-1] in counted and _BOX not in (below := self.text[codes[-1].end() :]):
            behind.append(below)
        return _TICKED in self.text or any(map(_WORD.search, behind))


def _codes(text: str) -> list[re.Match[str]]:
    """Return the codes of questions; the end of an address of the web may look like one of them."""
    return [code for code in _CODE.finditer(text) if _is_of_a_type(code["key"])]


def _is_of_a_type(key: str) -> bool:
    pieces = key.partition(":")[0].split("-")
    return any("-".join(pieces[:count]) in effects() for count in range(1, len(pieces) + 1))


def read_filled_text(path: Path, report: Report) -> FilledList | None:
    """Return what stands in a list that came back as text, beside what the list itself says; None where it is none."""
    text = text_of_file(path)
    if not _codes(text):
        return None
    back = _blocks(text)
    sent, asked = _as_sent(report, back), asked_now(report)
    # What was answered since is held against the list as it was before.
    earlier = _as_sent(replace(report, answered=frozenset()), back) if report.answered else {}
    rows: list[FilledRow] = []
    lost: list[Place] = []
    for block in back:
        if block.codes:
            rows += _rows(block, _sent_as(block, sent, earlier), asked, str(path))
        elif block.text.strip() and _is_written_in(block, sent.get("", block)):
            lost.append(Place(str(path), block.at))
    return FilledList(tuple(rows), tuple(lost))


def _blocks(text: str) -> list[_Block]:
    """Return the text parted where the next question's number begins a line."""
    found, expected = [_Block(1, [])], 1
    for at, line in enumerate(_TICKS.sub(_TICKED, text).splitlines(), 1):
        plain = _MARKUP.sub("", _QUOTED.sub("", line))
        number = _NUMBERED.match(plain)
        if number is not None and int(number[1]) >= expected:
            expected = int(number[1]) + 1
            found.append(_Block(at, []))
            plain = plain[number.end() :]
        found[-1].lines.append(plain)
    for block in found:
        block.lines = _frame().sub(_empty_lines, block.text).split("\n")
    return found


@cache
def _frame() -> re.Pattern[str]:
    """Return the pattern of what stands between and below the questions: headings and closing words, on their own."""
    texts: set[str] = {"-- "}
    for language in customers_languages():
        with customers_language(language):
            paper = customers_catalogue().paper
        headings = [text for name, text in paper.items() if name.startswith("group ")]
        texts |= {*headings, *map(str.upper, headings), paper["closing"], paper["cautions"]}
    words = [[re.escape(token[0]) for token in _TOKEN.finditer(_MARKUP.sub("", text))] for text in texts]
    return re.compile(r"(?m)^[# \t]*(?:" + "|".join(map(r"\s*".join, sorted(words, reverse=True))) + r")[^\S\n]*$")


def _empty_lines(found: re.Match[str]) -> str:
    return "\n" * found[0].count("\n")


def _as_sent(report: Report, back: Sequence[_Block]) -> dict[str, _Block]:
    """Return the questions as they are asked now, in the language and form that most lines of the text are in."""
    lines = {line.strip() for block in back for line in block.lines}
    best, most = dict[str, _Block](), -1
    for language in customers_languages():
        with customers_language(language):
            for form in _FORMS:
                blocks = _blocks(str(load_format(form).render(report)))
                if (same := sum(line.strip() in lines for block in blocks for line in block.lines)) > most:
                    best, most = {block.key: block for block in blocks}, same
    return best


def _sent_as(block: _Block, sent: Mapping[str, _Block], earlier: Mapping[str, _Block]) -> _Block | None:
    """Return what a block was when it was sent: as it is asked now, else as it was before others were answered."""
    now, before = sent.get(block.key), earlier.get(block.key)
    if before is None or (now is not None and now.version == block.version) or before.version != block.version:
        return now
    return before


def _without_parts(block: _Block, known: Collection[str]) -> tuple[_Block, dict[str, str]]:
    """Return a block without the parts whose keys are not *known*, and by their keys what stands behind each."""
    codes = [code for code in block.codes if ":" in code["key"]]
    if all(code["key"] in known for code in codes):
        return block, {}
    text, begins, end = block.text, list[int](), 0
    for code in codes:
        marks = [mark.start() for mark in _PART.finditer(text, end, code.start())]
        begins.append(marks[-1] if marks else max(text.rfind("\n", 0, code.start()) + 1, end))
        end = code.end()
    box = _ANY_BOX.search(text, end)
    ends = [*begins[1:], box.start() if box is not None else len(text)]
    left, behind, at = "", dict[str, str](), 0
    for code, begin, end in zip(codes, begins, ends, strict=True):
        if code["key"] not in known:
            behind[code["key"]] = text[code.end() : end]
            left += text[at:begin] + "\n" * text.count("\n", begin, end)
            at = end
    return _Block(block.at, (left + text[at:]).split("\n")), behind


def _rows(block: _Block, sent: _Block | None, asked: dict[str, Asked], file: str) -> Iterator[FilledRow]:
    """Yield a row for the question and each of its parts that was answered; whole where nobody asks it any more."""
    versions = {code["key"]: code["asked"] for code in block.codes}
    ends = [*accumulate((len(line) for line in block.lines), lambda end, length: end + 1 + length)]
    places = {code["key"]: Place(file, block.at + bisect_left(ends, code.start())) for code in block.codes}
    question = block.key
    block, behind = _without_parts(block, {code["key"] for code in sent.codes} if sent is not None else ())
    for key, text in behind.items():
        answer = " ".join(text.split())[:_LONGEST]
        yield FilledRow(key, versions[key], places[key], {"answer": answer} if answer else {}, {})
    if sent is None:
        cells = {"answer": " ".join(block.text.split())[:_LONGEST]}
        place = Place(file, block.at)
        yield FilledRow(
            question, versions.get(question, ""), place, cells, {}, is_marked=block.is_marked(with_parts=True)
        )
        return
    answers, choices = _beside(block, sent)
    for key in dict.fromkeys((question, *(key for key in versions if key not in behind))):
        cells = _cells(answers.get(key, ""), asked.get(key))
        if key == question and choices:
            cells["choice"] = "\n".join(choices)
        # Of another version the words of the list itself are other ones.
        certain = key != question or block.version == sent.version or block.is_marked(with_parts=False)
        place = places.get(key, Place(file, block.at))
        yield FilledRow(key, versions.get(key, ""), place, cells, {}, is_marked=certain)


def _beside(block: _Block, sent: _Block) -> tuple[dict[str, str], list[str]]:
    """Return by its key what stands in a block beside what was sent, and what is ticked with its blanks filled in."""
    was, now = list(_TOKEN.finditer(sent.text)), list(_TOKEN.finditer(block.text))
    ends = list(accumulate((len(line) for line in sent.lines), lambda end, length: end + 1 + length))
    question = sent.key
    owners = [_owner(line, question) for line in sent.lines]
    boxes = [n for n, token in enumerate(was) if token[0] == _BOX]
    fills: dict[int, str] = {}
    answers: dict[str, list[str]] = {}
    chosen: dict[int, str] = {}
    for same, (a, b, c, d) in differences(_plain(was), _plain(now)):
        if same:
            ticked = [a + n for n in range(d - c) if now[c + n][0] == _TICKED]
            chosen |= {at: _text_of_box(was, at, sent.text) for at in ticked}
        elif d > c and (new := " ".join(block.text[now[c].start() : now[d - 1].end()].split())):
            if _CODE.fullmatch(new):
                continue  # Another version of what is asked.
            if any(set(token[0]) == {"_"} for token in was[a:b]):
                fills[next(n for n in range(a, b) if set(was[n][0]) == {"_"})] = new
            else:
                line = bisect_right(ends, was[a - 1].start()) if a else 0
                answers.setdefault(owners[line], []).append(new)
    for at, text in fills.items():
        if before := bisect_left(boxes, at):
            box = boxes[before - 1]
            whole = chosen.get(box) or _text_of_box(was, box, sent.text)
            chosen[box] = whole.replace("___", text, 1)
    return {key: "\n".join(some)[:_LONGEST] for key, some in answers.items()}, [chosen[at] for at in sorted(chosen)]


def _is_written_in(block: _Block, sent: _Block) -> bool:
    """Return whether something stands in a block beside what was sent, other than how many questions there were."""
    answers, choices = _beside(block, sent)
    return bool(choices) or any(not piece.isdecimal() for text in answers.values() for piece in text.split())


def _plain(tokens: Sequence[re.Match[str]]) -> list[str]:
    """Return the words as they are compared: a ticked box is the box, and an underline is as long as any."""
    plain = [_BOX if token[0] == _TICKED else token[0] for token in tokens]
    return ["_" if set(word) == {"_"} else _CODE.sub(r"\g<key>", word) for word in plain]


def _owner(line: str, question: str) -> str:
    """Return whose line one is: that of the part whose code it bears, else the question's."""
    return next((code["key"] for code in _codes(line) if ":" in code["key"]), question)


def _text_of_box(was: Sequence[re.Match[str]], at: int, text: str) -> str:
    """Return what a box says, up to the next one or the end of its line."""
    begin = was[at].end()
    end = text.find("\n", begin)
    return text[begin : end if end >= 0 else len(text)].split(_BOX, 1)[0].strip()


def _cells(answer: str, asked: Asked | None) -> dict[str, str]:
    """Return an answer by column: figures by their names, one that nothing names where one figure alone is asked."""
    cells: dict[str, str] = {}
    rest = []
    figures = asked.part.figures if asked is not None and asked.part is not None else ()
    for piece in filter(None, map(str.strip, _OF_A_FIGURE.split(answer))):
        named = _NAME_AND_VALUE.fullmatch(piece)
        name = figure_named(named["name"].strip()) if named is not None else None
        if named is not None and name in figures:
            cells[str(name)] = named["value"]
        elif len(figures) == 1 and piece[:1].isdecimal():
            cells[figures[0]] = piece
        else:
            rest.append(piece)
    return cells | ({"answer": "; ".join(rest)} if rest else {})

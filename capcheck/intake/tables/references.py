"""Reference designators: lists and ranges of them, as a bill of materials writes them."""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterable, Iterator
from functools import lru_cache
from typing import Final

from capcheck.lexicon import Lists, Words, fold, is_ideographic, vocabulary
from capcheck.values import InputError, Place, pattern

_SHAPES: Final = (
    bytes(
        ord("a")
        if chr(b).isalpha() or b == ord("_")
        else ord("0")
        if chr(b).isdigit()
        else ord(" ")
        if chr(b) in ",; \t\n"
        else ord("!")
        for b in range(128)
    )
    + b"!" * 128
)
"""Each byte as what it is to a list: a letter, a digit, a separator or something else."""


def _letters(words: Words) -> str:
    """Return a pattern of the words that are a letter: it may be a reference too, unless another one follows."""
    return str(Words(", ".join(word for word in words.listed if len(word) == 1 and word.isalpha())))


def _longer(words: Words) -> str:
    longer = Words(", ".join(word for word in words.listed if len(word) > 1 or not word.isalpha()))
    return f"(?i:{longer})"  # lists are not folded, and many are in capitals


def _accented(words: Words) -> str:
    """Return the words with an accent as they are written: references are not folded."""
    return "|".join(re.escape(word) for word in words.listed if not word.isascii()) or "(?!)"


def _unspaced(words: Words) -> str:
    return str(Words(", ".join(filter(is_ideographic, words.listed))))


def _lists() -> Lists:
    return vocabulary().lists


_SEPARATOR: Final = pattern(
    lambda: (
        rf"[,;，、；|\s]*(?<=[\s,;])(?:{_longer(_lists().conjunction)}\s+"
        rf"|{_letters(_lists().conjunction)}\s+(?=[^\W\d]))|[,;，、；|\s]+"
        rf"|(?<=\d){_unspaced(_lists().conjunction)}(?=[A-Za-z])"
    )
)
_UP_TO: Final = pattern(
    lambda: (
        rf"(?:(?<=\d)|(?<=\d[A-Za-z])|(?<=[_.\-][^\W_])|(?<=[_.\-][^\W_][^\W_]))"
        rf"(?:\s*{_longer(_lists().up_to)}\s*(?=[A-Za-z]*\d)|\s+(?:{_letters(_lists().up_to)}|{_accented(_lists().up_to)})\s+(?=[A-Za-z]+\d))"
    )
)
_DASH: Final = r"(?:-|–|—|~|～|〜|‑|−|\.{2,3}|…)"
_SPACED_DASH: Final = pattern(
    r"(?<=[0-9A-Za-z])\s*(–|—|~|～|〜|−|\.{2,3}|…)\s*(?=[A-Za-z0-9])|(?<=\d)\s+(-)\s+(?=[A-Za-z0-9])|(?<=[0-9A-Za-z])\s+(-)\s+(?=[A-Za-z]+\d)"
)
_RANGE: Final = pattern(rf"([^\W\d]\w*?(?<!\d))(\d+)([A-Za-z]?){_DASH}([^\W\d]\w*?(?<!\d))?(\d+)([A-Za-z]?)")
_SUFFIXED: Final = pattern(
    rf"([^\W\d_]+?)(\d+)([_.\-]?[^\W\d_]\w{{0,3}}|[_.\-]\w{{1,4}}){_DASH}(?:([^\W\d_]+?))?(\d+)([_.\-]?[^\W\d_]\w{{0,3}}|[_.\-]\w{{1,4}})"
)
"""A range of references with what a circuit or a channel adds behind the number: ``R65_D..R68_D``."""
_LETTERS: Final = pattern(rf"([^\W\d]+\d+)([A-Za-z]){_DASH}(?:([^\W\d]+\d+))?([A-Za-z])")
_LETTERS_APART: Final = pattern(rf"([^\W\d_]+\d+[_.\-])([A-Za-z]){_DASH}(?:([^\W\d_]+\d+[_.\-]))?([A-Za-z])")
_COLON: Final = pattern(r"(?<![^\W_])([A-Za-z]{1,8})(\d{1,9})\s{0,3}[:：→]\s{0,3}(?=\1\d)")
"""A range written with a colon or an arrow, both ends in full: ``R1:R4``; ``J1:4`` is a pin."""
_TO: Final = r"\s{0,3}(?:\.{2,3}|…|[-–—~～〜−:,;])\s{0,3}"
_BRACKETED: Final = pattern(
    rf"(?<![^\W_])([A-Za-z]{{1,8}})[(\[{{]\s{{0,3}}(\d{{1,9}}(?:{_TO}\d{{1,9}})+)\s{{0,3}}[)\]}}]"
)
"""Letters before numbers in brackets: ``R(1-4)``, ``R[1..4]``, ``R{1,3}``."""
_FOOTNOTE: Final = pattern(
    r"(?:(?<=[0-9])|(?<=[0-9][A-Za-z]))[ ]{0,2}[*†‡§¶°⁰¹²³⁴⁵⁶⁷⁸⁹]{1,4}\)?(?=$|[\s,;./)–-])"
    r"|(?:(?<=^)|(?<=[\s,;]))[*†‡§¶]{1,4}[ ]{0,2}(?=[A-Za-z])"
)
"""The mark of a footnote behind a reference, or before it: ``J1*``, ``J1 **``, ``†J1``."""
_SPACED_NUMBER: Final = pattern(
    lambda: (
        rf"(?<![^\s,;])(?!{_longer(_lists().up_to)}\s|{_longer(_lists().conjunction)}\s)"
        r"([A-Za-z]{1,3})\s+(?=\d{1,5}(?:[\s,;]|$))"
    )
)
"""Letters and number apart, as in ``R 12``."""
_HAS_NUMBER: Final = pattern(r"([^\W\d][^\d]*?)(\d+)[^\W\d]?")
_DESIGNATOR: Final = pattern(r"[^\W\d_]{1,8}[-_.]?\d+\w{0,6}|[A-Z]{1,6}[?]?")
_COUNT: Final = pattern(lambda: rf"\(\s*\d+\s*{_lists().pieces}?\s*\)|\b\d+\s*[x×]\s+")
_SOME: Final = r"[a-z_]{1,8}[0-9][^()\[\];]*"
_EXCEPT: Final = pattern(
    lambda: (
        rf"(?<=[\s,(\[]){_lists().exception}[\s:]{{0,5}}(?P<before>{_SOME})[)\]]?"
        rf"|[(\[]\s{{0,5}}(?P<behind>{_SOME}?)\s{{0,5}}{_lists().exception}\s{{0,5}}[)\]]"
    )
)
"""What a list leaves out: ``R1-R4 (except R3)``, ``R1-R4 ohne R3``."""
_JOINED: Final = pattern(r"\s{0,9}[/+&]\s{0,9}")
_LONGEST_RANGE: Final = 10_000
_MOST_DIGITS: Final = 9
_MOST_REFERENCES: Final = 200_000
_LONGEST_LIST: Final = 20_000
"""A cell of a spreadsheet holds 32,767 characters, which is some 8,000 references; ranges stand for far more."""


def is_plain_list(text: str) -> bool:
    """Whether a cell lists references of letters and a number only, without a range or anything else to expand."""
    if not text.isascii():
        return False
    # R1 and R1A make such a list, but not 1R, R, RC, R1AB or R1A2.
    shape = f" {text} ".encode().translate(_SHAPES)
    return not (
        b"!" in shape or b" 0" in shape or b" a " in shape or b"aa " in shape or b"0aa" in shape or b"0a0" in shape
    )


def without_footnotes(text: str, known: Container[str] = ()) -> str:
    """Return a list of references without the marks of footnotes; one of *known* references stays as it is."""
    return text if (text.isascii() and text.isalnum()) or text in known else _FOOTNOTE.sub("", text)


def expand_each(
    texts: Iterable[str], known: Container[str], place_of: Callable[[int], Place]
) -> Iterator[tuple[list[str], list[str]]]:
    """Yield what :func:`expand_references` makes of each text; *place_of* gives the place of one by its number.

    Raises :class:`InputError` where all of them together list more references than any board has.
    """
    listed = 0
    for number, text in enumerate(texts):
        refs, complaints = expand_references(text, known)
        listed += len(refs)
        if listed > _MOST_REFERENCES:
            raise InputError.at(
                place_of(number),
                f"more than {_MOST_REFERENCES:,} references are listed down to here",
                "no board has as many parts: ranges stand for references that nobody placed",
                "write out the references that are meant",
            )
        yield refs, complaints


def expand_references(text: str, known: Container[str] = ()) -> tuple[list[str], list[str]]:
    """Return the references that *text* lists, in order, and a sentence for each piece that cannot be read.

    Commas, semicolons, spaces and line breaks separate; ``R1-R5``, ``R1..R5``, ``R1–R5``, ``C1-5`` are ranges;
    ``C1,2,3`` carries the letters on. A piece that is itself in *known* (the references of the placement data) is
    one reference, however it looks: ``J1-2`` may be a range or a name. Where most pieces are words, as in
    ``screws for the lid``, all of it is one name.
    """
    if is_plain_list(text):
        return text.replace(",", " ").replace(";", " ").split(), []
    if text not in known and (left := _EXCEPT.search(fold(text))):
        # A fold that changes a text's length names no place in it; references are plain letters and numbers.
        text = text if len(fold(text)) == len(text) else fold(text).upper()
        listed, doubts = expand_references(f"{text[: left.start()].rstrip('([ ')} ; {text[left.end() :]}", known)
        out, more = expand_references(text[slice(*left.span(left.lastgroup or 0))], known)
        # What stands behind "except" and is not among those before is not left out of anything.
        further = [ref for ref in out if ref not in listed]
        return [ref for ref in (*listed, *further) if ref in further or ref not in out], [*doubts, *more]
    refs: list[str] = []
    complaints: list[str] = []
    pieces = designators = 0
    prefix = ""
    text = _SPACED_NUMBER.sub(r"\1", _BRACKETED.sub(_without_inner_brackets, _COLON.sub(r"\1\2-", text)))
    joined = _SPACED_DASH.sub(lambda m: m[1] or m[2] or m[3], _UP_TO.sub("-", _COUNT.sub(" ", text)))
    for written in _SEPARATOR.split(joined):
        piece = written if written in known else _without_brackets(written)
        if not piece:
            continue
        if piece in known:
            found: list[str] = [piece]
        elif piece.isdigit() and prefix:
            found = [f"{prefix}{piece}"]
        else:
            found = _expand(piece, prefix, complaints)
        refs += found
        if len(refs) > _LONGEST_LIST:
            return [], [f"it lists more than {_LONGEST_LIST:,} references"]
        pieces += 1
        designators += len(found) > 1 or any(ref in known or _DESIGNATOR.fullmatch(ref) for ref in found)
        last = _HAS_NUMBER.fullmatch(found[-1]) if found else None
        prefix = last[1] if last else ""
    # A word in capitals may be a reference; beside a plain word, and without any number, it is a name's first word.
    numbered = any(ref in known or any(map(str.isdigit, ref)) for ref in refs)
    if pieces > 1 and (2 * designators < pieces or (designators < pieces and not numbered)):
        return [" ".join(text.split())], []  # words: what stands there is the name of one thing
    return refs, complaints


def _without_inner_brackets(bracketed: re.Match[str]) -> str:
    """Return ``R(1-4,7)`` as ``R1-4,R7``, which a list may be written like."""
    letters, numbers = bracketed.groups()
    return ",".join(letters + re.sub(rf"{_TO}", "-", part.strip()) for part in re.split("[,;]", numbers))


def _without_brackets(piece: str) -> str:
    """Return a piece of a list without brackets of the list around it, or a full stop behind it."""
    if piece[:1] in "([{" or piece.count("(") < piece.count(")"):
        piece = piece.strip("()[]{}")
    return piece.rstrip(".") if piece[-2:-1].isdigit() else piece


def _expand(piece: str, prefix: str, complaints: list[str]) -> list[str]:
    numbers = re.fullmatch(rf"(\d+){_DASH}(\d+)", piece)
    if numbers and prefix:
        piece = f"{prefix}{piece}"
    suffixed = _SUFFIXED.fullmatch(piece)
    if suffixed and suffixed[3] == suffixed[6] and suffixed[4] in {None, suffixed[1]}:
        found = _expand(f"{suffixed[1]}{suffixed[2]}-{suffixed[1]}{suffixed[5]}", prefix, complaints)
        return [f"{ref}{suffixed[3]}" for ref in found]
    match = _RANGE.fullmatch(piece)
    if match:
        head, first, _, again, last, _ = match.groups()
        if max(len(first), len(last)) > _MOST_DIGITS:
            complaints.append(f'"{piece[:40]}" would be more references than a board has')
            return []
        start, end = int(first), int(last)
        same = again is None or again == head
        if same and not match[3] and not match[6] and (end > start or again is not None):
            if end < start:
                start, end = end, start
            if end - start >= _LONGEST_RANGE:
                complaints.append(f'"{piece}" would be {end - start + 1} references')
                return []
            pad = len(first) if first.startswith("0") else 0
            return [f"{head}{number:0{pad}d}" for number in range(start, end + 1)]
        if again is not None and not same:
            complaints.append(f'"{piece}" is a range from one kind of reference to another')
            return [f"{head}{first}{match[3]}", f"{again}{last}{match[6]}"]
    letters = _LETTERS.fullmatch(piece) or _LETTERS_APART.fullmatch(piece)
    if letters and letters[3] in {None, letters[1]} and letters[2] <= letters[4]:
        return [f"{letters[1]}{chr(code)}" for code in range(ord(letters[2]), ord(letters[4]) + 1)]
    parts = _JOINED.split(piece)
    if len(parts) > 1 and all(_HAS_NUMBER.fullmatch(p) for p in parts):
        return parts
    return [piece]


@lru_cache(maxsize=8192)
def prefix_of(ref: str) -> str:
    """Return the letters a reference begins with, upper case: ``R`` of ``R12``, ``TP`` of ``TP-1``."""
    match = re.match(r"[^\W\d_]+", ref)
    return match[0].upper() if match else ""

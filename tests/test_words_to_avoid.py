"""Words that must not stand in the project's files, their names and the messages of its commits.

They are known by their hashes alone, in ``words_to_avoid.txt``, so that the list names nobody either. This prints the
lines to add for a name of one word or two:

    python tests/test_words_to_avoid.py "some name"

A word is a run of letters and digits, in lower case, without accents, without characters that nobody sees, letters of
other alphabets that look like Latin ones as those, and without the digits or the plural's ending behind it; what stands
inside a longer word is another word. The second of two words follows the first, whatever stands between them.
Every message is read, for none has a hit; a word that an old one holds cannot be added without a first commit to read.
"""

from __future__ import annotations

import hashlib
import re
import subprocess
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Final

import pytest

ROOT: Final = Path(__file__).parents[1]
LIST: Final = Path(__file__).with_name("words_to_avoid.txt")
_SELF: Final = "tests/test_words_to_avoid.py"
_SALT: Final = "a board, a line, a question: "
_WORD: Final = re.compile(r"[^\W_]+")
_LOOK_ALIKES: Final = str.maketrans(
    "АВЕЗКМНОРСТУХІЈЅаезкмнорстухіјѕԁһӏԛԝгѵΑΒΕΖΗΙΚΜΝΟΡΤΥΧαεικνορτυχγıɑɡøłđ",
    "ABE3KMHOPCTYXIJSae3kmhopctyxijsdhlqwrvABEZHIKMNOPTYXaeikvoptuxyiagold",
)
"""Letters of Cyrillic, Greek and others, and the Latin ones that they may be taken for."""
_NEW_CAPITAL: Final = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")


def hash_of(word: str) -> str:
    """Return the hash of a word, or of two with a blank between them, as the list has it."""
    return hashlib.sha256(f"{_SALT}{word}".encode()).hexdigest()[:16]


def hashes_of(name: str) -> list[str]:
    """Return what to add to the list for a name of one word or two; two also count where they are written as one."""
    words = words_of(name)
    if not 1 <= len(words) <= 2:
        sys.exit(f'"{name}" is neither one word nor two')
    return [hash_of(form) for form in dict.fromkeys((" ".join(words), "".join(words)))]


def listed() -> frozenset[str]:
    """Return the hashes of the list."""
    lines = LIST.read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in lines if line and not line.startswith("#"))


def words_of(text: str) -> list[str]:
    """Return the words of a text in order, folded."""
    return _WORD.findall(folded(text).lower())


def folded(text: str) -> str:
    """Return a text as it looks: no accents, no characters without a width, and look-alikes as Latin letters."""
    if text.isascii():
        return text
    seen = (c for c in unicodedata.normalize("NFKD", text) if unicodedata.category(c) not in {"Mn", "Me", "Cf"})
    return "".join(seen).translate(_LOOK_ALIKES)


def singulars(term: str) -> list[str]:
    """Return what a term may be the plural of; a longer word that only ends like one is looked up in vain."""
    return [term.removesuffix("s"), term.removesuffix("es"), re.sub("ies$", "y", term)]


def candidates(text: str) -> set[str]:
    """Return every word and pair of words of a text; ``someName2`` counts as ``some name`` and ``somename``."""
    found: set[str] = set()
    text = folded(text)
    for spelling in {text, _NEW_CAPITAL.sub(" ", text)}:
        words = words_of(spelling)
        pairs = {f"{first} {second}" for first, second in pairwise(words)}
        found.update(words, pairs)
        found.update(term.rstrip("0123456789") for term in {*words, *pairs} if term[-1].isdecimal())
    found.update([singular for term in found if term.endswith("s") for singular in singulars(term)])
    return found


class Finder:
    """Finds words of a list of hashes; a word is hashed once, however often it is met."""

    def __init__(self, avoided: Iterable[str]) -> None:
        self._avoided = frozenset(avoided)
        self._clean: set[str] = set()

    def found(self, text: str) -> list[str]:
        """Return the words and pairs of a text that are in the list, in alphabetical order."""
        new = candidates(text).difference(self._clean)
        hits = {word for word in new if hash_of(word) in self._avoided}
        self._clean |= new - hits
        return sorted(hits)


def hits(texts: Iterable[tuple[str, str]], avoided: Iterable[str]) -> dict[str, list[str]]:
    """Return where words of the list stand in named texts; a name is read as well."""
    finder = Finder(avoided)
    return {name: found for name, text in texts if (found := finder.found(f"{name}\n{text}"))}


def files(root: Path) -> Iterator[tuple[str, str]]:
    """Yield the name and the text of each file of a repository, also of one that is not yet added."""
    for name in _git(root, "ls-files", "-coz", "--exclude-standard").split("\0"):
        if (root / name).is_file():
            yield name, (root / name).read_text(encoding="utf-8", errors="ignore")


def messages(root: Path) -> Iterator[tuple[str, str]]:
    """Yield the hash and the message of each commit of a repository."""
    for entry in _git(root, "log", "--format=%h%n%B%x00").split("\0"):
        commit, _, message = entry.strip().partition("\n")
        yield commit, message


def _git(root: Path, *arguments: str) -> str:
    command = ["git", "-c", "safe.directory=*", "-C", str(root), *arguments]
    done = subprocess.run(command, capture_output=True, check=True)
    return done.stdout.decode(errors="ignore")


needs_repository = pytest.mark.skipif(not (ROOT / ".git").exists(), reason="no repository: an unpacked copy")


@needs_repository
def test_no_file_and_no_file_name_holds_a_word_to_avoid() -> None:
    assert hits(files(ROOT), listed()) == {}


@needs_repository
def test_no_commit_message_holds_a_word_to_avoid() -> None:
    assert hits(messages(ROOT), listed()) == {}


WORKPLACE: Final = re.compile(
    r"(?<![\w.])/(work|home|root)/\w|\b(issue|ticket) #?\d|(?<![\w&/])#\d+\b(?! mil)", re.IGNORECASE
)
"""Paths of whoever wrote something, and numbers of a list of tasks that a reader does not have."""


@needs_repository
def test_no_commit_message_speaks_of_where_or_for_which_task_it_was_written() -> None:
    assert {commit: found[0] for commit, text in messages(ROOT) if (found := WORKPLACE.search(text))} == {}


@needs_repository
def test_no_comment_of_the_program_speaks_of_where_it_was_written() -> None:
    texts = [(name, text) for name, text in files(ROOT) if name.endswith((".py", ".md", ".toml")) and name != _SELF]
    path = re.compile(r"(?<![\w.:/])/(work|home|root)/\w")
    assert {name: found[0] for name, text in texts if (found := path.search(text))} == {}


@pytest.mark.rows("text", ["see issue 7", "Ticket #12", "closes #34", "as in /home/ada/notes", "/work/notes"])
def test_a_place_or_a_task_of_whoever_wrote_is_noticed(text: str) -> None:
    assert WORKPLACE.search(text)


def test_the_list_holds_hashes_alone() -> None:
    assert len(listed()) > 300
    assert all(re.fullmatch(r"[0-9a-f]{16}", entry) for entry in listed())


@pytest.mark.rows(
    "text",
    [
        "made with Zorbo Quint, as ever",
        "zorbo-quint",
        "ZORBO_QUINT",
        "from ZorboQuint import x",
        "zorboQuint9.csv",
        "a zorboquint file",
        "Zorbo\n    # quint",
        "zörbo quint",
        "quint: Zorbo quint",
        "the Frobly's",
        "FROBLY",
        "frobly7",
        "path/to/frobly.toml",
        "madeWithFrobly",
        "FROBLYReader",
        "https://www.frobly.example/",
        "ＦＲＯＢＬＹ",
        "zorbo-\nquint",
        "two froblys",
        "two froblies",
        "FROBLYs",
        "Zorbo Quints",
        "two axarexes",
        "fro\u200bbly",
        "fro\u00adbly",
        "\ufefffrobly",
        "zorbo\u2060quint",
        "frо\u0062ly",
        "FRОBLY",
        "frοbly",
        "zörbо quınt",
        "zоrbоQuint",
    ],
)
def test_a_planted_word_is_found_however_it_is_written(text: str) -> None:
    assert hits([("text", text)], [*hashes_of("Zorbo Quint"), *hashes_of("frobly"), *hashes_of("axarex")])


@pytest.mark.rows("text", ["froblyst", "unfrobly", "zorbo and quint", "quint zorbo", "zorbos quint", "9frobly"])
def test_a_word_inside_an_ordinary_word_is_none(text: str) -> None:
    assert not hits([("text", text)], [*hashes_of("Zorbo Quint"), *hashes_of("frobly")])


def test_a_planted_word_is_found_in_a_file_its_name_and_a_message(tmp_path: Path) -> None:
    (tmp_path / "added.py").write_text("# like Frobly\n")
    _git(tmp_path, "init", "-q")
    _git(tmp_path, "add", "added.py")
    author = ["-c", "user.name=A", "-c", "user.email=a@example.org"]
    _git(tmp_path, *author, "commit", "-q", "--no-verify", "-m", "Read a table", "-m", "As Zorbo Quint does.")
    (tmp_path / "frobly.txt").write_text("nothing\n")
    avoided = [*hashes_of("Zorbo Quint"), *hashes_of("frobly")]
    assert hits(files(tmp_path), avoided) == {"added.py": ["frobly"], "frobly.txt": ["frobly"]}
    assert list(hits(messages(tmp_path), avoided).values()) == [["zorbo quint"]]


def test_the_command_prints_what_to_add() -> None:
    done = subprocess.run([sys.executable, __file__, "Zorbo Quint"], capture_output=True, text=True, check=True)
    assert done.stdout.split() == hashes_of("zorbo quint")
    assert hits([("text", "a zorboquint")], done.stdout.split())


if __name__ == "__main__":
    for argument in sys.argv[1:]:
        sys.stdout.writelines(f"{entry}\n" for entry in hashes_of(argument))

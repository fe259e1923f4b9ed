"""What goes to the customer, in each language: the mail as made and as somebody edited it, and the list."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.desk.letters import Edited, edited_letter
from capcheck.lexicon import customers_language
from capcheck.report import customers_languages, load_format

LANGUAGES: Final[Mapping[str, str]] = {
    "de": "Deutsch",
    "en": "English",
    "es": "español",
    "fr": "français",
    "ja": "日本語",
    "zh": "中文",
}
"""What speakers call their language, by its code; one without a name here goes by its code."""


class Letter(Struct, frozen=True):
    """The mail as text, its subject first, and the list as Markdown, each by language."""

    mails: Mapping[str, str]
    lists: Mapping[str, str]


class Shown(Struct, frozen=True):
    """The mail in the language that was chosen; *text* is as it was edited, where somebody did."""

    language: str
    languages: tuple[tuple[str, str], ...]
    text: str
    markdown: str
    version: str
    """Of the mail as it is made now."""
    edited: Edited | None
    is_outdated: bool
    """Whether what is asked has changed since it was edited."""


def made(found: Found) -> Letter:
    """Return what asks the questions of the line that suits the board best."""
    mails, lists = {}, {}
    for language in customers_languages():
        with customers_language(language):
            mails[language] = _text(load_format("mail").render(found.asking))
            lists[language] = _text(load_format("questions").render(found.asking))
    return Letter(mails, lists)


def _text(rendered: str | bytes) -> str:
    return rendered if isinstance(rendered, str) else rendered.decode()


def version_of(text: str) -> str:
    """Return what tells one mail from another."""
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def shown(seen: Seen, data: Letter | None) -> Shown | None:
    """Return the mail in the language that is asked for, else in that of the last edit, else in English."""
    if data is None:
        return None
    kept = {language: edited_letter(seen.letters, seen.board.id, language) for language in data.mails}
    last = max((one for one in kept.items() if one[1] is not None), key=lambda one: one[1].when, default=("en", None))  # type: ignore[union-attr] # None was left out
    language = seen.language if seen.language in data.mails else last[0]
    edited, mail = kept[language], data.mails[language]
    return Shown(
        language,
        tuple((code, LANGUAGES.get(code, code)) for code in data.mails),
        mail if edited is None else edited.text,
        data.lists[language],
        version_of(mail),
        edited,
        edited is not None and edited.version != version_of(mail),
    )


AREA: Final = Area("letter", "To the customer", shown, Letter, made, ("checked",))

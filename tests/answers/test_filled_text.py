"""A list that comes back as Markdown or as the text of a mail: quoted, broken anew, ticked and written between.

Figures: invented, or the digits of the text.
"""

import datetime as dt
import re
import textwrap

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st
from msgspec.structs import replace

from capcheck.answers import Answering, State, alignment, asked_now, filled_text, read_filled_text, settle_answers
from capcheck.answers.alignment import differences
from capcheck.lexicon import customers_language
from capcheck.report import customers_languages, load_format
from capcheck.shop import GivenAnswer, answered_of

FORMS = ["questions", "mail"]
CODE = re.compile(r"[`\[]([a-z0-9:-]+)/[0-9a-f]{10}[`\]]")
TICKS = ["☒", "☑", "[x]", "x ☐"]
WORDS = st.lists(
    st.sampled_from(["Zebra", "quince", "7,5", "zwölf", "橙", "(later)", "qux-9"]), min_size=1, max_size=4
).map(" ".join)


def text_of(report, form, language):
    with customers_language(language):
        return load_format(form).render(report)


def read(tmp_path, text, report):
    path = tmp_path / "back.txt"
    path.write_text(text, encoding="utf-8")
    return read_filled_text(path, report)


def sent_back(text, *, width, quoted):
    """Return a text as a mail program hands it on: lines broken anew, each behind a mark."""
    wrap = textwrap.TextWrapper(width or 9999, break_on_hyphens=False, break_long_words=False).wrap
    lines = [part for line in text.splitlines() for part in wrap(line) or [""]]
    return "\n".join(f"> {line}" if quoted else line for line in lines)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("language", customers_languages())
def test_a_list_to_which_nothing_was_added_answers_nothing(demo, tmp_path, form, language):
    text = text_of(demo, form, language)
    for back in (text, sent_back(text, width=60, quoted=True)):
        found = read(tmp_path, back, demo)
        assert [row for row in found.rows if row.is_filled] == []
        assert found.without_key == ()
        asked = asked_now(demo)
        assert {row.key: row.asked for row in found.rows} == {key: one.version for key, one in asked.items()}


@settings(max_examples=sample_size(25))
@given(data=st.data())
@pytest.mark.parametrize("form", FORMS)
def test_what_was_written_behind_a_code_comes_back_as_the_answer_to_it(demo, tmp_path, form, data):
    text = text_of(demo, form, data.draw(st.sampled_from(customers_languages())))
    keys = [match[1] for match in CODE.finditer(text)]
    answers = data.draw(st.dictionaries(st.sampled_from(keys), WORDS, min_size=1, max_size=4))
    below = data.draw(st.booleans())
    text = CODE.sub(lambda m: m[0] + ("\n" if below else " ") * (m[1] in answers) + answers.get(m[1], ""), text)
    back = sent_back(text, width=data.draw(st.sampled_from([0, 90])), quoted=data.draw(st.booleans()))
    found = {row.key: " ".join(row.cells.values()) for row in read(tmp_path, back, demo).rows if row.is_filled}
    assert {key: "".join(text.split()) for key, text in found.items()} == {
        key: "".join(text.split()) for key, text in answers.items()
    }


@settings(max_examples=sample_size(25))
@given(data=st.data())
@pytest.mark.parametrize("form", FORMS)
def test_a_ticked_box_does_what_it_does_in_a_workbook(demo, tmp_path, form, data):
    asked = asked_now(demo)
    with_boxes = [one.question for one in asked.values() if one.part is None and one.question.boxes]
    question = data.draw(st.sampled_from(with_boxes))
    box = data.draw(st.integers(0, len(question.boxes) - 1))
    text = text_of(demo, form, "en")
    start = text.index(f"{with_boxes.index(question) + 1}. ") if form == "mail" else text.index(f"`{question.key}/")
    start = text.index(question.ask) if form == "mail" else start
    for _ in range(box + 1):
        start = text.index("☐", start + 1)
    ticked = text[:start] + data.draw(st.sampled_from(TICKS)) + text[start + 1 :]
    (row,) = [row for row in read(tmp_path, ticked, demo).rows if row.is_filled]
    assert row.key == question.key
    assert "".join(row.cells["choice"].split()).replace("\\", "") == "".join(question.boxes[box].split())
    assert set(row.cells) == {"choice"}


def test_blanks_are_filled_in_and_a_figure_is_read_by_its_name(run, desk, make_board, tmp_path):
    board = make_board(["U1,10,10,0,top,W-1,OWN-1", "R1,20,20,0,top,10k,0805"])
    text = run("check", board, "--format", "mail")[1]
    assert "☐ length ___ mm, width ___ mm" in text
    text = text.replace("☐ length ___ mm, width ___ mm", "☒ length 50 mm, width 40 mm")
    code = re.search(r"\[body-size:\w+/\w+\]", text)[0]
    text = text.replace(code, f"{code}\nlength 4, width: 3 mm; height = 1,2 mm, pitch 0.5")
    path = tmp_path / "reply.txt"
    path.write_text(f"Hello,\nhere they are.\n\n{sent_back(text, width=72, quoted=True)}\n")
    code, out, _ = run("answers", path, "--board", board, "--write", "--by", "Ada Example", "--on", "2030-01-02")
    assert code == 0
    assert 'length = "50 mm"' in (board / "board.toml").read_text()
    assert "OWN-1,W-1" in (desk / "packages.csv").read_text()
    assert all(figure in out for figure in ("length 4", "width 3", "height 1.2", "pitch 0.5"))
    assert "without a key" in out, "what stands above the list is told"


def test_an_answer_to_what_changed_meanwhile_is_refused(demo, tmp_path):
    text = text_of(demo, "questions", "en")
    text = re.sub(r"`half-turn/[0-9a-f]{10}`", "`half-turn/0123456789` no", text)
    (one,) = settle_answers(read(tmp_path, text, demo), demo, Answering("Ada Example", dt.date(2030, 1, 2)))
    assert (one.key, one.state) == ("half-turn", State.CHANGED)


@pytest.mark.parametrize("form", FORMS)
def test_an_answer_to_what_nobody_asks_any_more_is_told(demo, tmp_path, form):
    """What nobody knows any more as it was sent is refused where something was ticked or written behind its code."""
    blank = text_of(demo, form, "en").replace("half-turn/", "half-turn-00000/")
    ticked = blank.replace("☐ yes, in the next revision", "☒ yes, in the next revision")
    behind = CODE.sub(lambda m: f"{m[0]} yes" if m[1] == "half-turn-00000" else m[0], blank)
    for text, state in ((blank, State.NO_MORE), (ticked, State.UNKNOWN), (behind, State.UNKNOWN)):
        found = settle_answers(read(tmp_path, text, demo), demo, Answering("Ada Example", dt.date(2030, 1, 2)))
        assert {one.key: one.state for one in found} == {"half-turn-00000": state}


@pytest.mark.parametrize("form", FORMS)
def test_other_words_of_an_older_list_are_no_answers(demo, tmp_path, form):
    """Of a question that has fewer parts by now, and of a list that has fewer questions, the numbers are others."""
    asked = asked_now(demo)["body-size"]
    old = text_of(demo, form, "en").replace(f"body-size/{asked.version}", "body-size/0123456789")
    old = old.replace("For 2 different parts", "For 9 different parts").replace("7 questions", "14 questions")
    first = asked.question.boxes[0]
    ticked = old.replace(f"☐ {first}", f"☒ {first}")
    assert ticked != old
    for text, state in ((old, State.NO_MORE), (ticked, State.CHANGED)):
        back = read(tmp_path, text, demo)
        assert back.without_key == ()
        found = settle_answers(back, demo, Answering("Ada Example", dt.date(2030, 1, 2)))
        assert {one.key: one.state for one in found} == {"body-size": state}


@pytest.mark.parametrize("form", FORMS)
def test_what_was_answered_meanwhile_is_left_alone_or_told_as_answered(demo, tmp_path, form):
    """The same list comes back a second time, with one answer as before, one blank and one that is another."""
    text, asked = text_of(demo, form, "en"), asked_now(demo)
    before = [_given(demo, key, asked[key].version) for key in ("half-turn", "rails-from-us", "not-placed")]
    now = replace(demo, answered=answered_of(before, demo.board.name))
    behind = {"half-turn": "yes", "not-placed": "perhaps"}
    back = CODE.sub(lambda m: f"{m[0]} {behind.get(m[1], '')}", text)
    found = settle_answers(read(tmp_path, back, now), now, Answering("Ada Example", dt.date(2030, 1, 3)), before)
    assert {one.key: one.state for one in found} == {"half-turn": State.BEFORE, "not-placed": State.UNKNOWN}


def test_the_end_of_an_address_is_no_code(demo, tmp_path):
    link = "https://example.com/lit/1234567890"
    assert read(tmp_path, f"key,version,answer\nhalf-turn,0123456789,{link}\n", demo) is None
    text = text_of(demo, "mail", "en")
    code = next(m[0] for m in CODE.finditer(text) if m[1] == "half-turn")
    (row,) = [r for r in read(tmp_path, text.replace(code, f"{link}\n{code}"), demo).rows if r.is_filled]
    assert row.key == "half-turn"
    assert "".join(row.cells["answer"].split()) == link


def test_a_text_without_codes_is_no_such_list(demo, tmp_path):
    assert read(tmp_path, "yes to all of it, please go ahead\n", demo) is None


def words_apart(was, now):
    """What is not the same, joined, as the library's own comparison gives it for few words."""
    return [(a, b, c, d) for same, (a, b, c, d) in differences(was, now) if not same]


@given(
    was=st.lists(st.sampled_from("abcdefgh_"), max_size=30),
    now=st.lists(st.sampled_from("abcdefghxyz_"), max_size=30),
)
def test_the_stretches_are_both_texts_in_their_order(was, now):
    sent, back = 0, 0
    for same, (a, b, c, d) in differences(was, now):
        assert (a, c) == (sent, back)
        assert not same or was[a:b] == now[c:d]
        sent, back = b, d
    assert (sent, back) == (len(was), len(now))


@given(
    was=st.lists(st.integers(0, 9), max_size=30), more=st.lists(st.tuples(st.integers(0, 30), st.just(-1)), max_size=5)
)
def test_words_of_no_list_are_all_that_was_written_beside_it(was, more):
    now = list(was)
    for at, word in sorted(more, reverse=True):
        now.insert(at, word)
    found = [word for a, b, c, d in words_apart(was, now) for word in now[c:d]]
    assert found == [-1] * len(more)
    assert all(a == b for a, b, _, _ in words_apart(was, now))


def test_what_is_compared_word_by_word_is_bounded_whatever_comes_back(monkeypatch):
    compared = []
    matcher = alignment.SequenceMatcher

    def counted(_, one, other, *, autojunk):
        compared.append(len(one) * len(other))
        return matcher(None, one, other, autojunk=autojunk)

    monkeypatch.setattr(alignment, "SequenceMatcher", counted)
    rows = [word for n in range(500) for word in ("-", f"P{n}", "[", f"body-size:{n:05x}", "]")]
    back = [word for n in range(500) for word in (*rows[5 * n : 5 * n + 5], "about", "2", "mm", "-")]
    assert [back[c:d] for *_, c, d in words_apart(rows, back)] == [["about", "2", "mm", "-"]] * 500
    for hostile in (["a", "b"] * 5_000, ["-", "[", "]"] * 20_000, rows[::-1], rows + ["-"] * 50_000):
        list(differences(rows, hostile))
        list(differences(hostile, rows))
    assert sum(compared) < 1_000_000
    assert max(compared) <= 40_000


def test_each_question_is_looked_for_once_in_what_came_back(monkeypatch):
    lines = [f"- P{n} `body-size:{n:05x}/{n:010x}`" for n in range(200)]
    sent = filled_text._Block(1, ["1. How large are they?", *lines])
    back = filled_text._Block(1, ["1. How large are they?", *(f"{line} 2 mm" for line in lines)])
    searched = []
    codes = filled_text._codes
    monkeypatch.setattr(filled_text, "_codes", lambda text: searched.append(len(text)) or codes(text))
    answers, _ = filled_text._beside(back, sent)
    assert answers == {f"body-size:{n:05x}": "2 mm" for n in range(200)}
    assert sum(searched) < 4 * len(back.text)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("language", customers_languages())
def test_what_was_settled_meanwhile_makes_no_answers_of_the_rest_of_the_list(demo, tmp_path, form, language):
    """Numbers, headings, closing words and parts that are asked no more are no answers to what still is."""
    text, asked = text_of(demo, form, language), asked_now(demo)
    parts = sorted(key for key in asked if key.startswith(("body-size:", "size-code:")))
    gone, left = ["not-in-bom", "half-turn", *parts[::2]], parts[1::2]
    now = replace(demo, answered=answered_of([_given(demo, key, asked[key].version) for key in gone], demo.board.name))
    assert not asked_now(now).keys() & set(gone)
    for width in (0, 70):
        written = {key: f"Zebra {n}" for n, key in enumerate((left[0], "rails-from-us", gone[-1]))}
        filled_in = CODE.sub(lambda m, written=written: f"{m[0]} {written.get(m[1], '')}", text)
        found = read(tmp_path, sent_back(filled_in, width=width, quoted=bool(width)), now)
        back = {row.key: " ".join("".join(row.cells.values()).split()) for row in found.rows if row.is_filled}
        for key, words in written.items():
            assert back.pop(key) == words
        settled = settle_answers(
            read(tmp_path, sent_back(text, width=width, quoted=bool(width)), now),
            now,
            Answering("Ada Example", dt.date(2030, 1, 2)),
        )
        assert {one.state for one in settled} <= {State.NO_MORE}
        # A question whose parts changed is worded otherwise: what is left of its old words is told, and not written.
        changed = {key for key, one in asked_now(now).items() if one.version != asked[key].version}
        assert back.keys() <= changed | set(gone), back


def _given(report, key, version):
    return GivenAnswer(report.board.name, key, version, "yes", closes=True, by="Ada Example", on="2030-01-02")

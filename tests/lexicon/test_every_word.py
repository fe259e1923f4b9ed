"""Each word of each language is known to every question that asks for its sort.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from capcheck.intake.bom import bom_rows, footers, lists_of_parts
from capcheck.intake.compare.part_numbers import check_part_numbers, damage
from capcheck.intake.folder import file_kinds
from capcheck.intake.outline import contour_choice
from capcheck.intake.placements.row_kinds import classify
from capcheck.intake.tables import (
    Role,
    code,
    expand_references,
    is_mounting,
    is_not_fitted_title,
    read_dimensions,
    read_fitted,
    read_measure,
    read_mirror_labels,
    read_numbers,
    read_side_labels,
    read_tables,
    revision_names,
    says_not_fitted,
    sheet_is_not_fitted,
    side_from_names,
    stated_unit,
)
from capcheck.intake.tables.columns import recognise
from capcheck.intake.tables.content import is_number
from capcheck.intake.tables.header_words import read_title
from capcheck.intake.tables.remarks import why_aside
from capcheck.lexicon import fold, unaccented, unit_named, units
from capcheck.lexicon.sorts import LANGUAGES, language
from capcheck.model import BomLine, Kind, PartName, Side, Topic, say
from capcheck.packages.names import mountings_said
from capcheck.values import ANGLE, LENGTH, MASS, Problems

EVERY = pytest.mark.parametrize("name", LANGUAGES)
TOTAL, PAGE = say("tables.total or end mark"), say("tables.heading of a page")
SIDES = {"top": Side.TOP, "bottom": Side.BOTTOM}


def bare(words):
    return [word.strip("*") for word in words.listed]


def table(folder: Path, *lines: str):
    path = folder / "t.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return read_tables(path)[0]


@EVERY
def test_a_word_of_titles_stands_for_its_concept_however_it_is_written(name):
    for concept, words in language(name).titles.items():
        for word in words.listed:
            alone = (word, word.upper(), word.capitalize(), f"{word}:", f"[{word}]")
            for written in alone if word.isalpha() else (f"part {word}",):
                assert concept in read_title(written).concepts, written


@EVERY
@pytest.mark.parametrize("side", SIDES)
def test_a_word_for_a_side_is_one_in_cells_with_a_title_and_without_in_names_and_behind_a_word_for_sides(
    tmp_path, name, side
):
    sides, meant = language(name).sides, SIDES[side]
    for word in getattr(sides, side).listed:
        assert read_side_labels([word, word.upper()]) == {word: meant, word.upper(): meant}
        for found in (side_from_names("x.csv", word, ()), side_from_names(f"lamp_{word}.csv", None, ())):
            assert found is not None, word
            assert found[0] == meant, word
    for word in [*getattr(sides, side).listed, *getattr(sides, f"{side}_labels").listed]:
        assert read_side_labels([word])[word] == meant
        rows = [f"R{k},{3.7 * k:.2f},{k * k:.2f},0,{word}" for k in range(1, 9)]
        assert recognise(table(tmp_path, *rows), "placements").index.get(Role.SIDE) == 4, word
    for pair in sides.pairs.listed:
        top, bottom = pair.split()
        assert read_side_labels([top, bottom]) == {top: Side.TOP, bottom: Side.BOTTOM}


@EVERY
def test_a_title_for_sides_announces_one_in_a_line_above_the_table(name):
    for title in language(name).titles.get("side", language("en").titles["side"]).listed:
        for word in language(name).sides.bottom.listed or ("bottom",):
            if " " not in word:
                found = side_from_names("x.csv", None, ((1, f"## {title.capitalize()} : {word}"),))
                assert found is not None, (title, word)
                assert found[0] == Side.BOTTOM, (title, word)


@EVERY
def test_an_answer_is_one_below_a_title_that_asks_and_in_a_column_of_mirrored_parts(tmp_path, name):
    answers, fitted = language(name).answers, language(name).fitted
    yes, no = (*answers.yes.listed, *answers.yes_marks.listed), (*answers.no.listed, *answers.no_marks.listed)
    said = [
        *((word, True) for word in (*yes, *fitted.fitted.listed, *fitted.fitted_labels.listed)),
        *((word, False) for word in (*no, *fitted.not_fitted.listed, *fitted.not_fitted_labels.listed)),
    ]
    rows = [f"R{k},{word}" for k, (word, _) in enumerate(said)]
    read = table(tmp_path, "Ref,Fitted", *rows)
    found = read_fitted(read, recognise(read, "bom"), None)
    assert dict(zip(read.columns[1], found.fitted.tolist(), strict=True)) == dict(said)
    assert found.notes == ()
    mirrored = [*yes, *answers.mirrored.listed]
    assert read_mirror_labels(mirrored) == dict.fromkeys(mirrored, Side.BOTTOM)
    straight = [*no, *answers.not_mirrored.listed]
    assert read_mirror_labels(straight) == dict.fromkeys(straight, Side.TOP)


@EVERY
def test_yes_and_no_without_a_title_mark_mirrored_parts(tmp_path, name):
    answers = language(name).answers
    for yes in answers.yes.listed:
        for no in answers.no.listed:
            rows = [f"R{k},{3.7 * k:.2f},{k * k:.2f},0,{(yes, no)[k % 2]}" for k in range(1, 9)]
            assert recognise(table(tmp_path, *rows), "placements").index.get(Role.LAYER_MIRROR) == 4, (yes, no)


@EVERY
def test_not_fitted_is_said_in_cells_texts_titles_and_names_of_sheets(tmp_path, name):
    fitted = language(name).fitted
    for word in fitted.not_fitted.listed:
        assert says_not_fitted(word)
        assert says_not_fitted(f"10k ({word.upper()})")
        assert is_not_fitted_title(f"{word}:")
        assert sheet_is_not_fitted(word)
    for word in fitted.not_fitted_labels.listed:
        assert says_not_fitted(word)
        assert sheet_is_not_fitted(word)
    for word in bare(fitted.fillers):
        assert is_not_fitted_title(f"{word} DNP")
    for title in (*fitted.not_fitted.listed, *bare(fitted.excluded)):
        read = table(tmp_path, f"Ref,Fitted {title}", "R1,yes", "R2,no")
        assert read_fitted(read, recognise(read, "bom"), None).fitted.tolist() == [False, True], title
    for word in fitted.fitted.listed:
        read = table(tmp_path, "Ref,DNP", f"R1,{word}", "R2,yes")
        assert read_fitted(read, recognise(read, "bom"), None).fitted.tolist() == [True, False], word


@EVERY
def test_totals_end_marks_pages_and_counts_are_no_data(name):
    lines = language(name).lines

    def why(text):
        return why_aside([text, "", "", "", ""], 5)

    for word in (*bare(lines.total), *bare(lines.end)):
        assert why(word.capitalize()) == TOTAL
        assert why(f"{word}: 12") == TOTAL
    for word in lines.page.listed:
        for of in (*lines.of.listed, "/"):
            assert why(f"{word.capitalize()} 2 {of} 3") == PAGE
    for word in lines.things.listed:
        for text in (f"12 {word}", f"{word}: 12", *(f"{counted} {word}: 12" for counted in lines.counted.listed)):
            assert why(text) in {TOTAL, PAGE}, text
        assert all(why(f"12 {word} {listed}") in {TOTAL, PAGE} for listed in lines.listed.listed)


@EVERY
def test_a_unit_written_out_is_read_in_titles_below_them_in_cells_and_in_a_line_of_its_own(tmp_path, name):
    announcing = bare(language(name).lines.unit) or ["Unit"]
    for unit, words in language(name).units.items():
        for word in words.listed:
            assert unit_named(word) == unit
            known = units().unit[unit]
            dimension = {d.name: d for d in (LENGTH, ANGLE, MASS)}[known.measures]
            number = read_measure(f"2 {word}", dimension, unit=None, decimal=None)
            assert number.low == pytest.approx(2 * known.factor)
            assert read_numbers([f"2 {word}", "x"], decimal=None)[1][0] == unit
            if known.in_titles:
                title = {"length": "X", "angle": "Rotation", "mass": "Mass"}[known.measures]
                assert read_title(f"{title} [{word}]").unit == unit
                assert read_title(f"{title} {word}").unit == unit
            if known.in_titles and known.measures == "length":
                assert is_number(f"2 {word}")
                for unit_line in announcing:
                    read = table(tmp_path, f"# {unit_line.capitalize()}: {word}", "Ref,X,Y", "R1,1,2", "R2,2,4")
                    found = stated_unit(read, recognise(read, "placements"), None)
                    assert found is not None, (unit_line, word)
                    assert found.unit == (known.shown or unit)
                read = table(tmp_path, "Ref,X,Y", f",{word},{word}", "R1,1,2", "R2,2,4")
                assert recognise(read, "placements").units[Role.X] == unit


@EVERY
def test_words_within_a_list_of_references_are_understood(name):
    lists = language(name).lists
    for word in lists.conjunction.listed:
        assert expand_references(f"R1, R4 {word} R7") == (["R1", "R4", "R7"], [])
    for word in lists.up_to.listed:
        assert expand_references(f"R1 {word} R3, C1") == (["R1", "R2", "R3", "C1"], [])
    for word in lists.pieces.listed:
        assert expand_references(f"R1, R2 (2 {word})") == (["R1", "R2"], [])
        assert bom_rows._QUANTITY.fullmatch(fold(f"2 {word}"))


@EVERY
def test_a_feature_is_told_by_a_footprint_by_a_value_and_by_a_reference_that_begins_with_its_name(name):
    features = language(name).features
    for sort in features.__struct_fields__:
        kind = Kind.FIDUCIAL if sort == "fiducial" else Kind.MECHANICAL
        for word in bare(getattr(features, sort)):
            for ref, footprint, value in (("X", word, ""), ("X", "", f"1.5 {word.upper()} 3"), (word, "", "")):
                if ref == word and not word.isalpha():
                    continue
                codes, reasons = classify([f"{ref}1"], code([ref]), code([footprint]), code([value]), {})
                assert (codes[0], 0 in reasons) == (kind, True), (ref, footprint, value)


@EVERY
def test_a_layer_tells_the_boards_edge_holes_and_cut_outs_and_a_file_its_outline(name):
    layers = language(name).layers
    for word in bare(layers.outline):
        assert file_kinds._OUTLINE_NAME.search(fold(f"lamp-{word}.dxf"))
    for words, told in (
        ((*bare(layers.outline), *bare(layers.board)), contour_choice._BOARD_WORDS),
        (bare(layers.other), contour_choice._OTHER_WORDS),
        (bare(layers.inner), contour_choice._INNER_WORDS),
    ):
        assert all(told.search(fold(f"1_{word.upper()}")) for word in words)
    assert all(contour_choice.names_cut_out(word.upper()) for word in bare(layers.cut_out))
    assert all(contour_choice.names_hole(word.upper()) for word in bare(layers.hole))


@EVERY
def test_names_of_sheets_revisions_months_and_blanks_are_known(tmp_path, name):
    words = language(name)
    assert all(lists_of_parts._NO_BOM_SHEET.search(fold(word.upper())) for word in bare(words.sheets.no_bom))
    for word in (*words.lines.revision.listed, *words.lines.issue.listed):
        match = revision_names._REVISION.search(unaccented(f"{word.capitalize()} B2"))
        assert match is not None, word
        assert match[2] == "B2"
    assert all(damage(f"12-{month}") == say("compare.date") for month in words.lines.month.listed)
    for word in (*words.answers.unstated.listed, *words.answers.any_part.listed):
        lines = [BomLine(("R1",), "P-77", "1k"), BomLine(("R2",), word, "1k")]
        assert [found.topic for found in check_part_numbers(lines)] == [Topic.NO_PART_NUMBER], word
    for word in words.answers.unstated.listed:
        read = table(tmp_path, "Ref,Height [mm]", f"R1,{word}", "R2,1")
        problems = Problems()
        found = read_dimensions(read, recognise(read, "bom"), None, problems)
        assert (found.of_row(0), problems.found) == ({}, []), word


@EVERY
def test_words_for_lines_about_the_document_and_for_mountings_are_known(name):
    words = language(name)
    assert all(footers._ABOUT.fullmatch(fold(f"{word.upper()}:")) for word in words.lines.footer.listed)
    mountings = words.mountings
    whole = (mountings.surface, mountings.drilled, mountings.surface_alone, mountings.drilled_alone)
    assert all(is_mounting(word.upper()) for words in whole for word in words.listed)
    for word in (*mountings.drilled.listed, *mountings.leads.listed):
        assert [c.mounting for c in mountings_said(PartName(value=f"relay, {word.strip('*')}"))] == ["through hole"]
    for word in mountings.surface.listed:
        assert [c.mounting for c in mountings_said(PartName(value=f"relay, {word}"))] == ["surface"]
    assert not any(mountings_said(PartName(value=f"THT {word.strip('*')}")) for word in mountings.not_itself.listed)


@EVERY
def test_no_header_is_listed_but_single_words(name):
    listed = [word for words in language(name).titles.values() for word in words.listed]
    assert listed
    assert [word for word in listed if len(word.split()) > 1] == []

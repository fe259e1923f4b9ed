"""``fitted`` in board.toml: what is fitted whatever a mark, a sheet or a remark says.

Figures: invented.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.checking import read_board
from capcheck.values import InputError

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side,Fitted\n"
REFS = ("R1", "R2", "R3", "R4")


def board(folder, marks, bom_marks, text=""):
    rows = "".join(f"{r},10k,R0603,{10 * n},5,0,top,{m}\n" for n, (r, m) in enumerate(zip(REFS, marks, strict=True), 1))
    (folder / "placements.csv").write_text(PLACED + rows)
    lines = "".join(f"{r},10k,AB-{r},{m}\n" for r, m in zip(REFS, bom_marks, strict=True))
    (folder / "bom.csv").write_text(f"Designator,Value,Part number,Fitted\n{lines}")
    (folder / "board.toml").write_text(text)
    read = read_board(folder)
    fitted = {ref for ref, on in zip(read.placements.ref, read.placements.fitted, strict=True) if on}
    disputed = {ref for told in read.discrepancies if str(told.topic).startswith("fitted") for ref in told.refs}
    return fitted, disputed


def test_what_is_stated_as_fitted_is_fitted_and_no_longer_disputed(tmp_path):
    marks, bom = ("yes", "no", "yes", "no"), ("no", "yes", "yes", "no")
    fitted, disputed = board(tmp_path, marks, bom)
    assert {"R1", "R2"} & disputed
    fitted, disputed = board(tmp_path, marks, bom, 'fitted = ["R1-R2", "R4"]\n')
    assert fitted == set(REFS)
    assert not disputed


@given(st.lists(st.sampled_from(["yes", "no"]), min_size=4, max_size=4), st.sets(st.sampled_from(REFS)), st.data())
def test_each_reference_is_as_board_toml_states_it(tmp_path_factory, marks, on, data):
    off = data.draw(st.sets(st.sampled_from(REFS))) - on
    folder = tmp_path_factory.getbasetemp() / "stated"
    folder.mkdir(exist_ok=True)
    text = f"fitted = {sorted(on)}\nnot_fitted = {sorted(off)}\n".replace("'", '"')
    fitted, disputed = board(folder, marks, marks, text)
    assert on <= fitted
    assert not off & fitted
    assert not disputed & (on | off)


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ('fitted = ["R1-R3"]\nnot_fitted = ["R3"]\n', "board.toml:2 not_fitted: R3 stands in fitted and in not_fitted"),
        ('fitted = ["R2"]\nnot_fitted = ["R1..R4"]\n', "R2 stands in fitted and in not_fitted"),
        ('fitted = ["R1-3"]\nnot_fitted = ["R2-R9"]\n', "R2, R3 stand in fitted and in not_fitted"),
        ('provided = ["R1-R3"]\nbought = ["R3"]\n', "R3 stands in provided and in bought"),
    ],
)
def test_one_reference_of_a_range_cannot_be_both(tmp_path, stated, said):
    with pytest.raises(InputError) as caught:
        board(tmp_path, ("yes",) * 4, ("yes",) * 4, stated)
    assert said in str(caught.value)


def test_ranges_that_have_no_reference_in_common_are_as_stated(tmp_path):
    fitted, _ = board(tmp_path, ("no",) * 4, ("no",) * 4, 'fitted = ["R1-R2"]\nnot_fitted = ["R3", "R4"]\n')
    assert fitted == {"R1", "R2"}


def test_one_reference_cannot_be_both(tmp_path):
    with pytest.raises(InputError, match="R1 stands in fitted and in not_fitted"):
        board(tmp_path, ("yes",) * 4, ("yes",) * 4, 'fitted = ["R1"]\nnot_fitted = ["R1", "R2"]\n')
    (tmp_path / "board.toml").write_text('fitted = ["R77"]\n')
    from capcheck.lexicon import sentence

    assert any("R77" in sentence(note.said) for note in read_board(tmp_path).notes)

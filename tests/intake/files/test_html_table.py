"""HTML tables are read, whatever the file is called and whatever tags are left open."""

from __future__ import annotations

from capcheck.intake.tables import read_tables


def test_a_html_table_named_xls_is_read(tmp_path):
    path = tmp_path / "bom.xls"
    path.write_text(
        "<html><head><style>td {x}</style></head><body><table border=1>"
        "<tr><th colspan='3'>Bill of materials</th></tr>"
        "<tr><td>Reference</td><td>Qty</td><td>Value&nbsp;</td></tr>"
        "<tr><td>C1,<br>C2</td><td>2</td><td>100&nbsp;n &amp; more</td></tr></table></body></html>"
    )
    (table,) = read_tables(path)
    assert table.delimiter == "HTML"
    assert table.header == ("Reference", "Qty", "Value")
    assert table.columns == [["C1,\nC2"], ["2"], ["100 n & more"]]
    assert len(table) + len(table.set_aside) == table.total_rows == 3


def test_open_tags_and_several_tables_are_read(tmp_path):
    path = tmp_path / "p.htm"
    path.write_text(
        "<table><tr><td>Ref<td>X<td>Y<tr><td>R1<td>1.5<td>2.5</table>"
        "<table><tr><td>Ref<td>X<td>Y<tr><td>R2<td>1.5<td>2.5"
    )
    tables = read_tables(path)
    assert [t.sheet for t in tables] == ["table 1", "table 2"]
    assert [t.columns[0] for t in tables] == [["R1"], ["R2"]]

"""A language is one file: a board whose files are written in it is read as one in English is.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Kind, Side

SPANISH = {
    "lista de colocación.csv": """\
# Unidad: milésimas
# Revisión: C
Designador;Posición X;Posición Y;Rotación;Cara;Encapsulado;Valor
R1;100;200;0;Cara superior;0603;10k
C1;300;200;90;Cara superior;0402;100n
U1;500;900;180;Cara inferior;SOIC-8;XZ-77
MARCA1;50;50;0;Cara superior;Marca fiducial 1mm;
X9;50;900;0;Cara superior;Taladro 3,2;
Total de componentes: 5
""",
    "materiales.csv": """\
Referencias,Cantidad,Valor,Encapsulado,Fabricante,Código de fabricante,Altura [milímetros],¿Montar?,Observaciones
R1,1,10k,0603,Acme,A-10K,"0,5",Sí,
"C1 y C2",2,100n,0402,Acme,A-100N,"0,55",Sí,
U1,1,XZ-77,SOIC-8,Otra,B-77,"1,75",No,
R2,1,4k7,0603,Acme,A-4K7,"0,5",,No montar en esta versión
Página 1 de 1,,,,,,,,
""",
}
ITALIAN = {
    "piazzamento.csv": """\
# Unità: millesimi
# Revisione: C
Designatore;Posizione X;Posizione Y;Rotazione;Lato;Contenitore;Valore
R1;100;200;0;Lato superiore;0603;10k
C1;300;200;90;Lato superiore;0402;100n
U1;500;900;180;Lato inferiore;SOIC-8;XZ-77
P9;50;50;0;Lato superiore;Punto fiduciale 1mm;
X9;50;900;0;Lato superiore;Foro di fissaggio;
Totale componenti: 5
""",
    "distinta.csv": """\
Riferimenti,Quantità,Valore,Contenitore,Costruttore,Codice costruttore,Altezza [millimetri],Da montare,Note
R1,1,10k,0603,Acme,A-10K,"0,5",Sì,
"C1 e C2",2,100n,0402,Acme,A-100N,"0,55",Sì,
U1,1,XZ-77,SOIC-8,Altra,B-77,"1,75",No,
R2,1,4k7,0603,Acme,A-4K7,"0,5",,Non montare in questa versione
Pagina 1 di 1,,,,,,,,
""",
}


@pytest.fixture(params=[SPANISH, ITALIAN], ids=["Spanish", "Italian"])
def package(request, tmp_path):
    paths = [tmp_path / name for name in request.param]
    for path in paths:
        path.write_text(request.param[path.name], encoding="utf-8")
    return read_package(None, placements=paths[:1], bom=paths[1])


def test_placements_are_read_with_sides_unit_and_what_is_no_part(package):
    placed = package.placements
    assert placed.ref[:3] == ["R1", "C1", "U1"]
    assert placed.x_mm[:3].tolist() == pytest.approx([2.54, 7.62, 12.7])
    assert placed.rotation_deg[:3].tolist() == [0, 90, 180]
    assert placed.side.tolist() == [Side.TOP, Side.TOP, Side.BOTTOM, Side.TOP, Side.TOP]
    assert placed.kind.tolist() == [Kind.PART, Kind.PART, Kind.PART, Kind.FIDUCIAL, Kind.MECHANICAL]


def test_the_bill_of_materials_is_read_with_numbers_heights_and_what_is_fitted(package):
    assert [line.refs for line in package.bom] == [("R1",), ("C1", "C2"), ("U1",), ("R2",)]
    assert [line.part_number for line in package.bom] == ["A-10K", "A-100N", "B-77", "A-4K7"]
    assert [line.quantity for line in package.bom] == [1, 2, 1, 1]
    assert [line.value for line in package.bom] == ["10k", "100n", "XZ-77", "4k7"]
    assert [line.fitted for line in package.bom] == [True, True, False, False]
    assert [line.dimensions["height"][0].low for line in package.bom] == [0.5, 0.55, 1.75, 0.5]


def test_remarks_totals_and_pages_are_set_apart_by_what_they_are(package):
    reasons = {aside.text.split(" ", 1)[0]: sentence(aside.reason) for aside in package.set_aside}
    assert [reasons[word] for word in reasons if word.startswith("Total")] == ["total or end mark"]
    assert [reasons[word] for word in reasons if word.startswith("P")] == ["heading of a page"]

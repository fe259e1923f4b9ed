"""A small grammar of header words: which role a column's title claims, whatever program or hand wrote it.

A title is split into words (at case, digits, punctuation and brackets; run-together words by the vocabulary). Each
word stands for a concept of the trade, in English, German, French or Japanese. A few rules over the concepts say
which roles the title can mean and how surely. No program's labels are listed.
"""

from __future__ import annotations

import enum
import unicodedata
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Final

from msgspec import Struct

from capcheck.values import pattern


class Role(enum.StrEnum):
    """What a column of a placement file or BOM says about a part."""

    REF = "reference"
    X = "x"
    Y = "y"
    ROTATION = "rotation"
    SIDE = "side"
    LAYER_MIRROR = "mirror flag"
    VALUE = "value"
    FOOTPRINT = "footprint"
    PART_NUMBER = "part number"
    MANUFACTURER = "manufacturer"
    QUANTITY = "quantity"
    FITTED = "fitted"
    MOUNTING = "mounting"
    LENGTH = "length"
    WIDTH = "width"
    HEIGHT = "height"
    MASS = "mass"
    PITCH = "pitch"
    PINS = "pins"
    DESCRIPTION = "description"
    COMMENT = "comment"


_CONCEPTS: Final[Mapping[str, str]] = {
    "x": "x abscissa abscisse",
    "y": "y ordinate ordonnée",
    "z": "z",
    "position": "pos position positions coord coords coordinate coordinates location loc koordinate koordinaten"
    " coordonnée coordonnées place lage 座標 位置",
    "centre": "mid middle center centre centroid mitte mittelpunkt zentrum milieu barycentre 中心 重心",
    "origin": "origin org anchor ursprung nullpunkt origine 原点 基準",
    "pad": "pad pads land",
    "reference": "ref reference references référence références referenz referenzen",
    "designator": "designator designators refdes refdeses desig bauteilkennzeichen repère repères rep bezeichner"
    " referenzbezeichner kennzeichen kennzeichnung リファレンス 部品記号 回路記号 回路番号 ロケーション",
    "reference-or-number": "部品番号 部品no",
    "des": "des",
    "designation": "designation désignation bezeichnung",
    "part": "part parts component components comp bauteil bauteile bauelement bauelemente composant composants pièce"
    " teil 部品",
    "name": "name names nom 名 名称",
    "type": "type typ device",
    "id": "id",
    "number": "number numbers no num # nr nummer nummern numéro no. code 番号",
    "rotation": "rot rotation rotate rotated angle angles orientation orient theta phi winkel drehung drehwinkel"
    " rotationswinkel drehlage ausrichtung 角度 回転 回転角 回転角度 向き 方向",
    "side": "side sides layer layers tb face seite seiten bestückungsseite bestückseite ebene côté couche 面 実装面"
    " 搭載面 部品面 層 レイヤ レイヤー",
    "top": "top oben dessus 表",
    "bottom": "bottom bot unten dessous 裏",
    "mirror": "mirror mirrored flip flipped gespiegelt spiegel spiegelung miroir 反転 ミラー",
    "value": "value values val wert werte valeur valeurs 値 定数 部品値",
    "footprint": "footprint footprints decal fp landpattern empreinte フットプリント ランド",
    "pattern": "pattern",
    "package": "package packages pkg gehäuse gehäuseform bauform gehäusetyp boîtier boitier case パッケージ 形状 外形",
    "mpn": "mpn pn ipn mfpn mfrpn artikelnummer artikelnr bestellnummer bestellnr teilenummer teilenr sachnummer"
    " herstellernummer herstellerteilenummer sku 型番 型式 品番 型名 メーカー型番 メーカ型番",
    "article": "artikel article",
    "order": "order bestell commande",
    "maker": "manufacturer manufacturers mfr mfg manuf maker brand hersteller fabricant marque メーカー メーカ 製造元"
    " 製造者",
    "supplier": "supplier vendor distributor lieferant fournisseur distributeur 仕入先 購入先 商社",
    "alternate": "alternate alternative alt second zweit alternativ ersatz 代替",
    "quantity": "qty quantity quantities count amount pcs anzahl menge stückzahl stück quantité qté nombre 数量 個数"
    " 員数",
    "fitted": "fitted fit populate populated population install installed stuff stuffed placed bestückt bestücken"
    " bestückung bestueckt monté montés monter mounted 実装 搭載 実装有無 assembled",
    "not-fitted": "dnp dnf dni dnm nopop nofit unfitted unpopulated unbestückt 未実装 非実装",
    "assembly": "assembly",
    "not": "not do non nicht à 未",
    "mounting": "mounting mount montageart montage smd smt tht technology technologie 実装タイプ 実装方式",
    "height": "height hgt höhe hoehe bauhöhe bauteilhöhe hauteur 高さ",
    "length": "length len länge laenge longueur 長さ",
    "width": "width breite largeur 幅",
    "size": "size dimension dimensions größe taille body span 寸法",
    "mass": "mass weight gewicht masse poids 質量 重量",
    "pitch": "pitch raster rastermaß pas ピッチ",
    "pin": "pin pins lead leads terminal terminals anschlüsse pole broche broches 端子 ピン",
    "pins": "polzahl pinzahl pinanzahl pincount ピン数 端子数",
    "description": "description descriptions desc descr beschreibung libellé descriptif 説明 品名 仕様 概要",
    "comment": "comment comments remark remarks note notes kommentar bemerkung bemerkungen anmerkung commentaire"
    " remarque remarques 備考 コメント 注記",
    "money": "price cost preis kosten prix coût 単価 価格 金額",
    "address": "url link datasheet datenblatt http website web",
    "other": "have need needed required build total tol tolerance toleranz tolérance stock min per date revision rev"
    " version return kit item line offset voltage library lib libref glued sourced index pid sheet drill",
}
_UNITS: Final[Mapping[str, str]] = {
    "mm": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "cm": "cm",
    "um": "um",
    "µm": "um",
    "μm": "um",
    "micron": "um",
    "microns": "um",
    "mil": "mil",
    "mils": "mil",
    "thou": "mil",
    "inch": "in",
    "inches": "in",
    "in": "in",
    "zoll": "in",
    "pouce": "in",
    "pouces": "in",
    '"': "in",
    "deg": "deg",
    "degree": "deg",
    "degrees": "deg",
    "°": "deg",
    "grad": "deg",
    "degré": "deg",
    "degrés": "deg",
    "度": "deg",
    "rad": "rad",
    "radian": "rad",
    "radians": "rad",
    "g": "g",
    "gram": "g",
    "grams": "g",
    "gramm": "g",
    "mg": "mg",
    "kg": "kg",
}
_BRACKET_ONLY: Final = frozenset({"in", "g", '"', "rad", "grad"})
"""Units that are also words or parts of words: read as a unit only in brackets or as the last word."""


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))


def _vocabulary() -> dict[str, str]:
    words: dict[str, str] = {}
    for concept, spellings in _CONCEPTS.items():
        for word in spellings.split():
            words[word] = concept
            if word.isascii() or not _is_japanese(word):
                words.setdefault(_plain(word), concept)
                words.setdefault(word.replace("ü", "ue").replace("ö", "oe").replace("ä", "ae"), concept)
    return words


def _is_japanese(text: str) -> bool:
    return any("\u3040" <= c <= "\u30ff" or "\u4e00" <= c <= "\u9fff" for c in text)


_VOCABULARY: Final = _vocabulary()
_WORD: Final = pattern(r"[^\W\d_]+|\d+|[°\"#]")
_CAMEL: Final = pattern(r"(?<=[a-zäöüßéèêç])(?=[A-ZÄÖÜÉ])|(?<=[A-Z])(?=[A-Z][a-z])")
_BRACKETED: Final = pattern(r"[(\[{<（［]([^)\]}>）］]*)[)\]}>）］]")
_SCRIPT_EDGE: Final = pattern(r"(?<=[\u3040-\u30ff\u4e00-\u9fff])(?=[a-z])|(?<=[a-z])(?=[\u3040-\u30ff\u4e00-\u9fff])")
_SLASHED: Final = pattern(r"\b([pP])/([nN])\b")
_LONGEST: Final = 60
"""A cell longer than this is text, not a title."""


def _segments(word: str) -> list[str] | None:
    """Split a run-together word (``posx``, ``Bauteilhöhe``, ``部品番号``) into words that are known, or return None.

    The split with the fewest pieces is taken; a piece of one or two letters is allowed only for an axis at an end.
    """
    best: list[list[str] | None] = [[]] + [None] * len(word)
    for end in range(1, len(word) + 1):
        for start in range(end):
            head, piece = best[start], word[start:end]
            if head is None or piece not in _VOCABULARY:
                continue
            short = len(piece) < 3 and not _is_japanese(piece)
            if short and not (piece in {"x", "y", "no", "nr"} and (start == 0 or end == len(word))):
                continue
            found = best[end]
            if found is None or len(head) + 1 < len(found):
                best[end] = [*head, piece]
    return best[-1]


def _words(text: str) -> list[str]:
    words: list[str] = []
    for chunk in _WORD.findall(_CAMEL.sub(" ", _SLASHED.sub(r"\1\2", text))):
        low = chunk.lower()
        for part in (low,) if low.isascii() else _SCRIPT_EDGE.split(low):
            if part in _VOCABULARY or part in _UNITS:
                words.append(part)
            else:
                words.extend(_segments(part) or _segments(_plain(part)) or [part])
    return words


class Title(Struct, frozen=True):
    """A column's title taken apart.

    It holds the words, the concepts they stand for, the units, and how surely the title claims each role.
    """

    words: tuple[str, ...]
    concepts: frozenset[str]
    units: tuple[str, ...]
    claims: Mapping[Role, float]

    @property
    def unit(self) -> str:
        """The unit that the title names, blank where it names none."""
        return self.units[0] if self.units else ""

    @property
    def pair(self) -> tuple[str, ...]:
        """The words besides the axis: an x and a y column with the same ones belong together."""
        return tuple(w for w in self.words if _VOCABULARY.get(w) not in {"x", "y"} and w not in _UNITS)

    @property
    def strongest(self) -> Role | None:
        """The role that the title claims most surely."""
        return max(self.claims, key=lambda role: self.claims[role]) if self.claims else None


@lru_cache(maxsize=4096)
def read_title(text: str) -> Title:
    """Return a column title taken apart; a text too long or without a known word claims nothing."""
    text = unicodedata.normalize("NFKC", text).strip().lstrip("#*;:/!").rstrip(";:").strip()
    if not text or len(text) > _LONGEST:
        return Title((), frozenset(), (), {})
    words = _words(text)
    units = _units(text, words)
    known = [w for w in words if w in _VOCABULARY]
    concepts = frozenset(_VOCABULARY[w] for w in known)
    strangers = sum(w not in _VOCABULARY and w not in _UNITS and not w.isdigit() for w in words)
    numbered = any(w.isdigit() for w in words)
    claims = _claims(concepts)
    if claims:
        # A word that is not understood, or a number, makes a title less sure than the plain one beside it.
        loss = min(0.3 * strangers + 0.1 * numbered, 0.9)
        claims = {role: weight - loss for role, weight in claims.items()}
    return Title(tuple(words), concepts, units, claims)


def unit_of(text: str) -> str:
    """Return the unit that a cell names and nothing besides, with brackets or without; else an empty text."""
    return _UNITS.get(text.strip().strip("[](){}<>").strip().lower().rstrip("."), "")


def _units(text: str, words: Sequence[str]) -> tuple[str, ...]:
    """Return the units that a title names: in brackets first, then as words, then as a last word that is one too."""
    inside = [part.strip().lower().rstrip(".") for part in _BRACKETED.findall(text)]
    found = [_UNITS[part] for part in inside if part in _UNITS]
    found += [_UNITS[word] for word in words if word in _UNITS and word not in _BRACKET_ONLY]
    if not found and len(words) > 1 and words[-1] in _BRACKET_ONLY and not words[-2].isdigit():
        found.append(_UNITS[words[-1]])
    return tuple(found)


_SURE, _LIKELY, _MAYBE = 3.0, 2.0, 1.0


def _claims(c: frozenset[str]) -> dict[Role, float]:
    """Return the roles that a set of concepts can mean, each with a weight: 3 sure, 2 likely, 1 perhaps."""
    if not c or c & {"money", "address"}:
        return {}
    for rule in (_axis, _size, _turned, _number, _named):
        found = rule(c)
        if found:
            return found
    return {}


def _axis(c: frozenset[str]) -> dict[Role, float]:
    if ("x" in c) == ("y" in c) or c & {"rotation", "pitch", "quantity", "other"}:
        return {}
    axis = Role.X if "x" in c else Role.Y
    if "centre" in c:
        return {axis: _SURE + 0.5}
    if c & {"size", "length", "width", "height"}:
        return {Role.LENGTH if axis is Role.X else Role.WIDTH: _LIKELY}
    if c & {"pad", "pin"}:
        return {axis: _LIKELY - 0.5}
    if c & {"origin", "reference", "designator"}:
        return {axis: _LIKELY}
    return {axis: _SURE}


def _size(c: frozenset[str]) -> dict[Role, float]:
    if c & {"not", "fitted"}:
        return {}
    for concept, role in (
        ("height", Role.HEIGHT),
        ("width", Role.WIDTH),
        ("length", Role.LENGTH),
        ("mass", Role.MASS),
        ("pitch", Role.PITCH),
        ("pins", Role.PINS),
    ):
        if concept in c:
            return {role: _SURE}
    if "pin" in c and not c & {"reference", "name"}:
        return {Role.PINS: _SURE}
    if "pad" in c and "quantity" in c:
        return {Role.PINS: _LIKELY}
    return {Role.HEIGHT: _MAYBE} if c == {"z"} else {}


def _turned(c: frozenset[str]) -> dict[Role, float]:
    if "mirror" in c:
        return {Role.LAYER_MIRROR: _SURE}
    if "rotation" in c:
        return {Role.ROTATION: _SURE}
    if "side" in c or {"top", "bottom"} <= c:
        return {Role.SIDE: _SURE}
    if c & {"not-fitted"} or ("fitted" in c and not c & {"side", "type"}):
        return {Role.FITTED: _SURE}
    if "not" in c and c & {"assembly", "mounting"}:
        return {Role.FITTED: _SURE}
    if "mounting" in c:
        return {Role.MOUNTING: _SURE}
    return {Role.FITTED: _LIKELY} if c == {"assembly"} else {}


def _number(c: frozenset[str]) -> dict[Role, float]:
    """Part numbers, makers and quantities."""
    if "quantity" in c:
        return {Role.QUANTITY: _LIKELY if c & {"other", "order"} else _SURE}
    less = 0.5 * ("alternate" in c)
    named_number = "number" in c and bool(c & {"part", "article", "order", "maker", "supplier", "reference"})
    if "mpn" in c or named_number or (c & {"maker", "supplier"} and c & {"part", "reference", "type"}):
        if "designator" in c or ("reference" in c and not c & {"maker", "supplier", "part"}):
            return {Role.REF: _LIKELY}
        if "supplier" in c:
            return {Role.PART_NUMBER: _LIKELY - 0.5 - less}
        return {Role.PART_NUMBER: _SURE + 0.5 * ("maker" in c) - less}
    if "maker" in c:
        return {Role.MANUFACTURER: _SURE - less}
    return {Role.REF: _LIKELY, Role.PART_NUMBER: _LIKELY - 0.1} if "reference-or-number" in c else {}


_NAMES: Final[tuple[tuple[frozenset[str], Mapping[Role, float]], ...]] = (
    (frozenset({"designator"}), {Role.REF: _SURE + 0.2}),
    (frozenset({"reference", "des"}), {Role.REF: _SURE + 0.2}),
    (frozenset({"footprint"}), {Role.FOOTPRINT: _SURE + 0.2}),
    (frozenset({"pattern"}), {Role.FOOTPRINT: _SURE + 0.2}),
    (frozenset({"package"}), {Role.FOOTPRINT: _SURE}),
    (frozenset({"reference"}), {Role.REF: _SURE, Role.PART_NUMBER: _MAYBE}),
    (frozenset({"value"}), {Role.VALUE: _SURE}),
    (frozenset({"description"}), {Role.DESCRIPTION: _SURE}),
    (frozenset({"comment"}), {Role.COMMENT: _SURE}),
    (frozenset({"designation"}), {Role.DESCRIPTION: _LIKELY, Role.REF: _LIKELY - 0.2, Role.VALUE: _MAYBE}),
    (frozenset({"part", "type"}), {Role.VALUE: _MAYBE, Role.PART_NUMBER: _MAYBE - 0.1}),
    (frozenset({"part"}), {Role.REF: _LIKELY - 0.2, Role.PART_NUMBER: _LIKELY - 0.3, Role.VALUE: _MAYBE}),
    (frozenset({"name"}), {Role.REF: _LIKELY - 0.4, Role.VALUE: _MAYBE, Role.DESCRIPTION: _MAYBE - 0.1}),
)
"""Concepts that must all be there, and what they can mean; the first that fits counts."""


def _named(c: frozenset[str]) -> dict[Role, float]:
    """Words for what a part is called: the content of the column settles the doubtful ones."""
    if "other" in c and "designator" not in c:
        return {}
    for needed, meaning in _NAMES:
        if needed <= c:
            return dict(meaning)
    if c == {"type"}:
        return {Role.VALUE: _MAYBE, Role.PART_NUMBER: _MAYBE - 0.1}
    return {Role.REF: _MAYBE} if c == {"position"} else {}


def count_roles(cells: list[str]) -> int:
    """Return how many different roles a row's cells claim with some sureness: what makes a row look like a header."""
    roles: set[Role] = set()
    for cell in cells:
        if cell and len(cell) <= _LONGEST:
            title = read_title(cell)
            if title.strongest is not None and title.claims[title.strongest] > _MAYBE:
                roles.add(title.strongest)
    return len(roles)

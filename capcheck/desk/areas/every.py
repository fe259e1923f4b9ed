"""All areas of a board's page, in the order in which they stand there."""

from __future__ import annotations

from typing import Final

from capcheck.desk.areas import downloads, letter, library, lines, open_questions, picture, revisions, understood
from capcheck.desk.areas.area import Area

AREAS: Final[dict[str, Area]] = {
    area.name: area
    for area in (
        lines.AREA,
        picture.AREA,
        understood.AREA,
        open_questions.AREA,
        letter.AREA,
        library.AREA,
        revisions.AREA,
        downloads.AREA,
    )
}

from .area import After as After, Area as Area, Found as Found, Seen as Seen, data_in as data_in
from .downloads import DOWNLOADS as DOWNLOADS
from .every import AREAS as AREAS
from .letter import LANGUAGES as LANGUAGES
from .library import Unknown as Unknown, UnknownPart as UnknownPart
from .open_questions import (
    TO_CUSTOMER as TO_CUSTOMER,
    TOKEN_DIGITS as TOKEN_DIGITS,
    OpenQuestions as OpenQuestions,
)
from .picture import Picture as Picture, parts_of_drawing as parts_of_drawing, style_of_pictures as style_of_pictures

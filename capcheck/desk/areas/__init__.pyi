from .area import After as After, Area as Area, Found as Found, Seen as Seen, data_in as data_in
from .downloads import DOWNLOADS as DOWNLOADS
from .every import AREAS as AREAS
from .picture import Picture as Picture, parts_of_drawing as parts_of_drawing, style_of_pictures as style_of_pictures

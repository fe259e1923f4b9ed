from .area import After as After, Area as Area, Found as Found, Seen as Seen
from .downloads import DOWNLOADS as DOWNLOADS
from .every import AREAS as AREAS

from .bodies import explain as explain, explain_data as explain_data, reach_of as reach_of, resolve as resolve
from .library import (
    Library as Library,
    build_library as build_library,
    library_template as library_template,
    load_library as load_library,
)
from .tables import nominal_size as nominal_size, size_table as size_table

from .bodies import (
    Options as Options,
    Witnesses as Witnesses,
    bodies_of as bodies_of,
    explain as explain,
    explain_data as explain_data,
    key_of as key_of,
    library_template as library_template,
    reach_of as reach_of,
    witnesses_of as witnesses_of,
)
from .library import load_library as load_library
from .library_edit import (
    CellChange as CellChange,
    LibraryFile as LibraryFile,
    Statement as Statement,
    written as written,
)
from .library_entries import Key as Key, Library as Library, build_library as build_library
from .names import (
    PartClass as PartClass,
    alternates as alternates,
    class_named as class_named,
    names_body as names_body,
    says_no_part as says_no_part,
)
from .tables import nominal_size as nominal_size, size_table as size_table

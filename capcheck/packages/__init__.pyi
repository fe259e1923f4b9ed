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
from .candidate import (
    Candidate as Candidate,
    Column as Column,
    Trust as Trust,
    measured_in as measured_in,
    sides as sides,
)
from .library import (
    LIBRARY_KEYS as LIBRARY_KEYS,
    STATED_IN_LIBRARY as STATED_IN_LIBRARY,
    load_library as load_library,
)
from .library_edit import (
    CellChange as CellChange,
    LibraryFile as LibraryFile,
    Statement as Statement,
    written as written,
)
from .library_entries import (
    Entry as Entry,
    Key as Key,
    Library as Library,
    build_library as build_library,
    family_named as family_named,
    folded_number as folded_number,
    folded_value as folded_value,
)
from .names import (
    PartClass as PartClass,
    alternates as alternates,
    class_named as class_named,
    class_names as class_names,
    family_names as family_names,
    name_meant as name_meant,
    names_body as names_body,
    says_no_part as says_no_part,
)
from .tables import nominal_size as nominal_size, size_table as size_table

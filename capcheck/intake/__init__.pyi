from .ahead import start_ahead as start_ahead
from .archive import folder_of_archive as folder_of_archive, is_archive as is_archive
from .find import holds_placements as holds_placements
from .git_folder import folder_of_git as folder_of_git, is_git_folder as is_git_folder
from .package import Package as Package
from .read import read_package as read_package
from .tables import (
    CellError as CellError,
    expand_each as expand_each,
    expand_references as expand_references,
    read_measure as read_measure,
)
from .whole_panel import stepped as stepped

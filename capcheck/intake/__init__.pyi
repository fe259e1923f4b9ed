from .ahead import start_ahead as start_ahead
from .find import holds_placements as holds_placements
from .package import Package as Package
from .read import read_package as read_package
from .tables import (
    CellError as CellError,
    expand_each as expand_each,
    expand_references as expand_references,
    read_measure as read_measure,
)
from .whole_panel import stepped as stepped

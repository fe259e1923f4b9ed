"""Package names as people write them, taken apart and matched with published outlines."""

from capcheck.packages.names.outlines.outlines import lookup as lookup, read_package_name as read_package_name
from capcheck.packages.names.outlines.published import HIDDEN as HIDDEN, words as words

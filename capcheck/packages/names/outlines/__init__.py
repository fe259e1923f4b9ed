"""Package names as people write them, taken apart and matched with published outlines."""

from capcheck.packages.names.outlines.by_span import outline_by_span as outline_by_span
from capcheck.packages.names.outlines.package_name import offers_packages as offers_packages
from capcheck.packages.names.outlines.published import UNDER_THE_BODY as UNDER_THE_BODY, words as words
from capcheck.packages.names.outlines.read import (
    may_be_package as may_be_package,
    read_package_name as read_package_name,
)

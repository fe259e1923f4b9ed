"""The reference that readers open: a page for each rule and fact; guidelines, fields of files, codes, formats."""

from .as_pages import reference_as_html as reference_as_html, reference_as_markdown as reference_as_markdown
from .contents import Page as Page, Reference as Reference, reference_pages as reference_pages

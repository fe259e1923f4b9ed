"""Where the page of a rule is found, among those that ``capcheck docs`` writes."""

from __future__ import annotations

from urllib.parse import quote


def page_of_rule(documentation: str, rule: str) -> str:
    """Return the address of a rule's page below that of the *documentation*; empty where none is configured."""
    return f"{documentation.rstrip('/')}/rules/{quote(rule)}.html" if documentation else ""

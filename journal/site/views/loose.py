"""A page's values made fit to travel alone: every link leads to the site's whole address, or nowhere."""

from __future__ import annotations

from typing import Any

Plain = Any
"""Texts, numbers, lists and mappings of them."""


def unlinked(value: Plain, address: str) -> Plain:
    """Give plain values with every ``href`` made whole, or empty where the site has no address."""
    if isinstance(value, dict):
        return {
            name: (f"{address}{one}" if address and one else "") if name == "href" else unlinked(one, address)
            for name, one in value.items()
        }
    if isinstance(value, list):
        return [unlinked(one, address) for one in value]
    return value

"""Walks through folders."""

from __future__ import annotations

import os
from collections.abc import Iterator


def files_below(
    folder: str, *, through_links: bool = False, above: frozenset[str] = frozenset()
) -> Iterator[str]:
    """Give every file below a folder but hidden ones, in order.

    A link to a folder is given as a file is; ``through_links`` enters it instead, but for one that leads back
    to a folder ``above``.
    """
    try:
        with os.scandir(folder) as found:
            items = sorted(found, key=lambda item: item.name)
    except OSError:
        return
    if through_links:
        above |= {os.path.realpath(folder)}
    for item in items:
        if is_hidden(item.name):
            continue
        if item.is_dir(follow_symlinks=False) or (through_links and _leads_on(item.path, above)):
            yield from files_below(item.path, through_links=through_links, above=above)
        else:
            yield item.path


def is_hidden(path: str) -> bool:
    """Whether a file is hidden, or a folder on the way to it; ``path`` is relative, with ``/``."""
    return any(part.startswith(".") and part not in {".", ".."} for part in path.split("/"))


def _leads_on(path: str, above: frozenset[str]) -> bool:
    """Whether a link leads to a folder, and not in a circle."""
    # A Path would raise where the machine lets nobody look.
    return os.path.isdir(path) and os.path.realpath(path) not in above  # noqa: PTH112

"""Walks through folders."""

from __future__ import annotations

import os
from collections.abc import Iterator


def files_below(folder: str) -> Iterator[str]:
    """Give every file below a folder but hidden ones, in order; links to folders are not entered."""
    try:
        with os.scandir(folder) as found:
            items = sorted(found, key=lambda item: item.name)
    except OSError:
        return
    for item in items:
        if item.name.startswith("."):
            continue
        if item.is_dir(follow_symlinks=False):
            yield from files_below(item.path)
        else:
            yield item.path

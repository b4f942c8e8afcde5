"""Sets the words of entries ahead: as soon as their files are taken apart, before any line of them is read.

What is set here is found by its words when a page asks for it.  A guess that was wrong (an item that looked
like a record and is none) is asked for by nobody, and its words are set with the page.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from journal.notes.entries import scan, stretches
from journal.notes.household import Household
from journal.notes.tasks import in_groups
from journal.site import pictures, prose
from journal.site.discretion import Discretion
from journal.site.issue import Made

FILES_AT_A_TIME = 4


def tasks(texts: Mapping[str, str], household: Household) -> list[Callable[[], Made]]:
    """Give tasks that set the words of all files that may be shown; ``texts`` are the files by name."""
    discretion = Discretion(household)
    if not discretion.shows_words:
        return []
    return [partial(_set, discretion, files) for files in in_groups(list(texts.items()), FILES_AT_A_TIME)]


def _set(discretion: Discretion, files: Sequence[tuple[str, str]]) -> Made:
    words: dict[str, str] = {}
    for file, text in files:
        scanned = scan(file, text)
        for draft in scanned.drafts:
            if draft.private:
                continue
            parts = list(stretches(scanned, draft))
            shared = prose.definitions(parts)
            for part in parts:
                said = discretion.words(part + shared)
                if "![" not in said:  # pictures are not looked at yet
                    words[said] = prose.render(said, pictures.shown({}))
    return Made(words=words)

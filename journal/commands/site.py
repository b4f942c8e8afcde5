"""From a tally to the files of the site: gathers what lies on the disk and hands it to the pages."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from journal.commands import shipped
from journal.commands.console import Refusal
from journal.commands.haste import held
from journal.site.edition import Edition, Gallery
from journal.site.pages import site
from journal.site.pictures import Picture, PictureProblem, prepare, wanted
from journal.site.templates import TemplateProblem

if TYPE_CHECKING:
    from journal.notes.records import Notes
    from journal.reckoning.tally import Tally
    from journal.site.issue import Issue
    from journal.site.memory import Memory

PICTURES = "entries"


def site_files(
    folder: Path, tally: Tally, issue: Issue, remarks: list[str]
) -> Iterator[tuple[str, bytes | None]]:
    """Give every file of the site, name and bytes (None: as it stands).

    What the keeper should know is added to ``remarks``.  Raises Refusal where a template of the keeper's own
    cannot be used.
    """
    edition = held(Edition(tally, shipped.references(), gallery(folder, tally.notes, issue.memory)))
    remarks.extend(f"{place}: {sentence}" for place, sentence in edition.remarks)
    try:
        yield from site(edition, issue)
    except TemplateProblem as problem:
        raise Refusal(
            str(problem), "mend or remove the template; the earlier site stands as it was"
        ) from None


def gallery(folder: Path, notes: Notes, memory: Memory) -> Gallery:
    """Read the pictures that entries name, from below ``entries/`` and nowhere else."""
    ready: dict[str, Picture] = {}
    refused: dict[str, str] = {}
    for path in sorted({path for one in wanted(notes) for path in one.candidates}):
        try:
            data = picture_bytes(folder / PICTURES, path)
            if data is not None:
                ready[path] = prepare(data, memory)
        except PictureProblem as problem:
            refused[path] = str(problem)
        except OSError as failure:
            refused[path] = (failure.strerror or "it cannot be opened").lower()
    return Gallery(ready, refused)


def picture_bytes(root: Path, path: str) -> bytes | None:
    """Give a picture's bytes, or None where there is none; no link that leads out of ``root`` is followed."""
    found = Path(os.path.realpath(root / path))
    if not found.is_relative_to(os.path.realpath(root)) or not found.is_file():
        return None
    return found.read_bytes()

"""From a tally to the files of the site: gathers what lies on the disk and hands it to the pages."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from journal.commands import shipped
from journal.commands.console import Refusal
from journal.commands.files import HOUSEHOLD, decode, entries_among, household_tree
from journal.commands.haste import held
from journal.notes.household_reading import read_household
from journal.notes.tasks import Divided, one_by_one
from journal.site import ahead, pictures
from journal.site.edition import Edition, Gallery
from journal.site.pages import site
from journal.site.pictures import Picture, key_of_picture, unpacked, wanted
from journal.site.templates import TemplateProblem
from journal.site.walking import is_hidden

if TYPE_CHECKING:
    from journal.notes.records import Notes
    from journal.reckoning.tally import Tally
    from journal.site.issue import Issue, Made
    from journal.site.memory import Memory

PICTURES = "entries"


def site_files(
    folder: Path, tally: Tally, issue: Issue, remarks: list[str]
) -> Iterator[tuple[str, bytes | None]]:
    """Give every file of the site, name and bytes (None: as it stands).

    What the keeper should know is added to ``remarks``.  Raises Refusal where a template of the keeper's own
    cannot be used.
    """
    edition = held(
        Edition(tally, shipped.references(), gallery(folder, tally.notes, issue.memory, issue.hands.heavy))
    )
    remarks.extend(f"{place}: {sentence}" for place, sentence in edition.remarks)
    try:
        yield from site(edition, issue)
    except TemplateProblem as problem:
        raise Refusal(
            str(problem), "mend or remove the template; the earlier site stands as it was"
        ) from None


def words_ahead(contents: Mapping[str, bytes]) -> list[Callable[[], Made]]:
    """Give tasks that set the words of a journal's entries before its lines are read."""
    texts, _ = decode(contents)
    household, _, _ = read_household(household_tree(texts.pop(HOUSEHOLD, None))[0], shipped.catalogue())
    return ahead.tasks(entries_among(texts), household)


def gallery(folder: Path, notes: Notes, memory: Memory, divided: Divided = one_by_one) -> Gallery:
    """Read the pictures that entries name, from below ``entries/`` and nowhere else.

    Those that are not remembered are made by ``divided``: each takes as long as a hundred entries.
    """
    ready: dict[str, Picture] = {}
    refused: dict[str, str] = {}
    missing: dict[str, list[str]] = {}
    root = folder / PICTURES
    for path in sorted({path for one in wanted(notes) for path in one.candidates}):
        try:
            data = picture_bytes(root, path)
        except pictures.PictureProblem as problem:
            refused[path] = str(problem)
            continue
        except OSError as failure:
            refused[path] = _why(failure)
            continue
        if data is None:
            continue
        key = key_of_picture(data)
        known = memory.get(key)
        if known is not None:
            ready[path] = unpacked(known)
        else:
            missing.setdefault(key, []).append(path)
    for made in divided([partial(_made, root, key, paths[0]) for key, paths in missing.items()]):
        for path in missing[made.key]:
            if made.why:
                refused[path] = made.why
            else:
                ready[path] = unpacked(made.packed)
        if not made.why:
            memory.put(made.key, made.packed)
    return Gallery(ready, refused)


class MadePicture(NamedTuple):
    """A picture as it was made and is to be remembered under a key, or why it cannot be."""

    key: str
    packed: bytes = b""
    why: str = ""


def _made(root: Path, key: str, path: str) -> MadePicture:
    """Make one picture; its bytes are read once more, so that not all are held at a time."""
    try:
        data = picture_bytes(root, path)
        if data is None or key_of_picture(data) != key:
            return MadePicture(key, why="it was changed while it was read")
        return MadePicture(key, pictures.made(data))
    except pictures.PictureProblem as problem:
        return MadePicture(key, why=str(problem))
    except OSError as failure:
        return MadePicture(key, why=_why(failure))


def _why(failure: OSError) -> str:
    return (failure.strerror or "it cannot be opened").lower()


def picture_bytes(root: Path, path: str) -> bytes | None:
    """Give a picture's bytes, or None where there is none; no link that leads out of ``root`` is followed.

    Raises PictureProblem for a hidden one, or one in a hidden folder: nobody looks whether it has changed.
    """
    top = os.path.realpath(root)
    found, beside = (Path(os.path.realpath(place)) for place in (root / path, (root / path).parent))
    if not found.is_relative_to(top) or not beside.is_relative_to(top) or not found.is_file():
        return None
    if is_hidden(path) or is_hidden(beside.relative_to(top).as_posix()):
        raise pictures.PictureProblem(
            "hidden files are not shown; name it, and the folders it lies in, without a dot in front"
        )
    return found.read_bytes()

"""Writes what was noted into the day's entry, and copies the picture that goes with it."""

from __future__ import annotations

import datetime as dt
import os
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from journal.commands.console import Refusal
from journal.commands.files import decode_one
from journal.commands.note_arrangement import Arranged, add_lines, arrange, choose_file, form_of
from journal.commands.note_headings import Heading
from journal.commands.together import earlier_text, put_together, recover, resolved
from journal.commands.writing import DISK, Disk, holds, locked, sweep
from journal.notes.entries import Draft, Item, Passage, Scanned, scan
from journal.notes.faults import Fault

PHOTOS = "photos"
_LARGEST_PHOTO = 100 * 1024**2
_PHOTO_KINDS = {
    b"\xff\xd8\xff": ".jpg",
    b"\x89PNG\r\n\x1a\n": ".png",
    b"GIF8": ".gif",
}


class Picture(NamedTuple):
    """A picture to copy: its name below entries/, its bytes, and what it shows."""

    name: str
    data: bytes
    showing: str


def read_picture(photo: Path, date: dt.date, showing: str) -> Picture:
    """Read a picture that is to be copied in; Refusal where it is none that browsers show."""
    if photo.stat().st_size > _LARGEST_PHOTO:
        raise Refusal(
            f'"{photo.name}" is larger than {_LARGEST_PHOTO // 1024**2} MB', "make it smaller first"
        )
    data = photo.read_bytes()
    kinds = [ending for mark, ending in _PHOTO_KINDS.items() if data.startswith(mark)]
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        kinds = [".webp"]
    if not kinds:
        raise Refusal(
            f'"{photo.name}" is no JPEG, PNG, WebP or GIF picture', "save or share it as a JPEG first"
        )
    if not showing:
        raise Refusal("what does the picture show?", 'say it with --showing "the tray after a week"', 2)
    stem = re.sub(r"[^\w-]+", "-", photo.stem).strip("-").lower() or "picture"
    if not stem.startswith(f"{date:%Y}"):
        stem = f"{date.isoformat()}-{stem}"
    return Picture(f"{PHOTOS}/{stem[:80]}{kinds[0]}", data, showing)


def add(
    folder: Path,
    texts: Mapping[str, str],
    date: dt.date,
    lines: Sequence[str],
    picture: Picture | None = None,
    disk: Disk = DISK,
) -> str:
    """Write lines, and a picture, into the day's entry, both or neither; give the file's path below entries/.

    ``texts`` are the journal's, and show the keeper's arrangement.  Raises Refusal where what stands in the
    file would hide the lines, OSError where the machine refuses; then the file is as it was.
    """
    root = folder / "entries"
    with locked(root):
        recover(root, disk)
        arranged = [arrange(name, text) for name, text in texts.items()]
        file = choose_file(arranged, date)
        into = resolved(root, file)
        path = root / into
        sweep(path, disk)
        earlier = earlier_text(path)
        if earlier and file not in texts:
            _see_that_it_is_read(file, earlier)
        written, pictures = list(lines), {}
        if picture is not None:
            name = _free_name(root, picture)
            written += [""] * bool(lines) + [_shown(name, file, picture.showing)]
            pictures = {} if (root / name).exists() else {name: picture.data}
        before = scan(file, earlier)
        near = _nearest_form(arranged) if len(before.drafts) == 1 else []
        text = add_lines(earlier, before, date, written, near)
        _see_that_it_counts(before, scan(file, text), date, lines)
        put_together(root, {**pictures, into: text.encode("utf-8")}, disk)
    return file


def _free_name(root: Path, picture: Picture) -> str:
    """Give the name below entries/ under which a picture can lie, or already lies."""
    path = root / picture.name
    stem, count = path.stem, 1
    while os.path.lexists(path) and not holds(path, picture.data):
        count += 1
        path = path.with_stem(f"{stem}-{count}")
    return path.relative_to(root).as_posix()


def _shown(name: str, file: str, showing: str) -> str:
    """Write the Markdown that shows a picture in a file."""
    words = re.sub(r"([\[\]\\])", r"\\\1", " ".join(showing.split()))
    return f"![{words}]({os.path.relpath(name, os.path.dirname(file) or '.').replace(os.sep, '/')})"  # noqa: PTH120 - a path in a page


def _nearest_form(arranged: Sequence[Arranged]) -> list[Heading]:
    """Give the headings of the file with the newest entry."""
    dated = [each for each in arranged if each.days]
    if not dated:
        return []
    newest = max(dated, key=lambda each: max(each.days))
    return form_of(newest.file, newest.text)


def _see_that_it_is_read(file: str, text: str) -> None:
    """See that a file can be read which was not among the journal's texts, or came to be only now."""
    _, wrong = decode_one(file, text.encode("utf-8"))
    if wrong is not None:
        raise Refusal(wrong.sentence, wrong.advice)


def _see_that_it_counts(before: Scanned, after: Scanned, day: dt.date, lines: Sequence[str]) -> None:
    """See that the lines will be read, as of their day, and everything else as before.

    A comment or a fence that is never closed would hide them; a day's file is dated by its name only as long
    as it holds no dated heading.
    """
    is_hidden = after.items - before.items < len(lines)
    if is_hidden and any(found.fault in {Fault.OPEN_COMMENT, Fault.OPEN_FENCE} for found in after.problems):
        raise Refusal(
            f"what is added to {before.file} would not be read: a comment or a code fence above it is never"
            " closed",
            "proofread names the line",
        )
    earlier, later = _touched(before, after)
    changed = _items_by_day(later)
    changed.subtract(_items_by_day(earlier))
    first = before.drafts[0]
    is_private = len(before.drafts) == 1 and first.date == day and first.private
    if is_hidden or any(number and key != (day, is_private) for key, number in changed.items()):
        raise Refusal(
            f"what is added to {before.file} would not be read under its day, or other lines would not",
            f"write it into the file yourself, below a heading with the date: ## {day.isoformat()}",
        )


def _touched(before: Scanned, after: Scanned) -> tuple[list[Draft], list[Draft]]:
    """Leave out of a file's entries those that lines put in between cannot have changed, as nearly all are.

    An entry is as it was where the next one begins on the same line as before, or where it begins itself on
    the line that is as far from the end.
    """
    old, new = before.drafts, after.drafts
    fewest, grown = min(len(old), len(new)), len(after.lines) - len(before.lines)
    first = last = 0
    while first + 1 < fewest and old[first + 1].line == new[first + 1].line:
        first += 1
    while first + last + 1 < fewest and old[-1 - last].line + grown == new[-1 - last].line:
        last += 1
    return old[first : len(old) - last], new[first : len(new) - last]


def _items_by_day(drafts: Sequence[Draft]) -> Counter[tuple[dt.date | None, bool]]:
    """Count the items under each date, those of private entries apart."""
    found: Counter[tuple[dt.date | None, bool]] = Counter()
    for draft in drafts:
        found[draft.date, draft.private] += _items_in(draft.blocks)
    return found


def _items_in(blocks: Sequence[Item | Passage]) -> int:
    return sum(1 + _items_in(block.children or ()) for block in blocks if isinstance(block, Item))

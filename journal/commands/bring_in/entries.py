"""What is brought in as Markdown, in a file of its own, and never the same line twice."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from journal.notes.records import Notes, Prose

FOLDER = "brought-in"
_ROW = re.compile(r"(?:;\s*|\s*\()([^();]*\brow \d+)\)\s*$")


class NewLine(NamedTuple):
    """One line to add to the entry of a day; ``row`` is where it came from, in the source's own counting."""

    date: dt.date
    text: str
    is_record: bool
    row: str
    title: str = ""


class Sifted(NamedTuple):
    """Lines that are new, those that the journal has, and those that it has in other words."""

    new: list[NewLine]
    there: list[NewLine]
    changed: list[tuple[NewLine, str]]


def file_name(source: str) -> str:
    """Give the name, below ``entries/``, of the file that takes what a source brings."""
    stem = re.sub(r"[^\w.-]+", "-", source.rpartition(".")[0] or source).strip("-.") or "sheet"
    if re.match(r"\d{4}-\d{2}-\d{2}", stem):
        stem = f"from-{stem}"  # a date at the beginning of a name would be an entry's
    return f"{FOLDER}/{stem[:80]}.md"


def as_prose(text: str) -> str:
    """Give words that make a paragraph of prose: no list, heading, rule, code fence or comment."""
    text = text.replace("<!--", "<! --")
    return re.sub(r"^(?=[-*+#>`~=]|\d+[.)](?:\s|$))", r"\\", text)


def key_of(text: str) -> str:
    """Give a line's content: without the number of its row, whatever its spaces and its case."""
    return " ".join(_ROW.sub("", text).lstrip("\\").rstrip(" .;").split()).casefold()


def sift(lines: Iterable[NewLine], notes: Notes, file: str) -> Sifted:
    """Part new lines from those in the journal.  Equal lines are counted: two rows alike are two lines.

    A row that this source brought before, and whose line was changed since, is not brought again.
    """
    there = _lines_of(notes)
    rows = _rows_of(notes, file)
    sifted = Sifted([], [], [])
    for line in lines:
        key = (line.date, key_of(line.text))
        if there[key]:
            rows.pop(there[key].pop(0), None)
            sifted.there.append(line)
        else:
            sifted.new.append(line)
    for line in list(sifted.new):
        if _ROW.search(line.text) and line.row in rows:
            sifted.changed.append((line, rows[line.row]))
            sifted.new.remove(line)
    return sifted


def _lines_of(notes: Notes) -> dict[tuple[dt.date, str], list[str]]:
    """Give all lines of a journal by day and content: of each the label of the row it came from, or ""."""
    lines: dict[tuple[dt.date, str], list[str]] = defaultdict(list)
    for record in notes.records:
        lines[record.date, key_of(record.text)].append(_label(record.text))
    for entry in notes.entries:
        for block in entry.blocks:
            if isinstance(block, Prose):
                for line in block.text.split("\n"):
                    if line.strip():
                        lines[entry.date, key_of(line)].append(_label(line))
    return lines


def _label(text: str) -> str:
    found = _ROW.search(text)
    return "" if found is None else found[1].strip()


def _rows_of(notes: Notes, file: str) -> dict[str, str]:
    """Give the rows that a file has brought in before, with their lines as they are now."""
    rows: dict[str, str] = {}
    for record in notes.records:
        if record.place.file == file and _label(record.text):
            rows[_label(record.text)] = record.text
    return rows


def as_markdown(lines: Iterable[NewLine]) -> str:
    """Write lines as dated entries."""
    return lay_out(lines)[0]


def lay_out(lines: Iterable[NewLine]) -> tuple[str, dict[int, NewLine]]:
    """Write lines as dated entries, and say which stands where; a day that has several titles has several."""
    days: Mapping[tuple[dt.date, str], list[NewLine]] = defaultdict(list)
    for line in lines:
        days[line.date, line.title].append(line)
    text: list[str] = []
    at: dict[int, NewLine] = {}
    for (date, title), of_day in sorted(days.items(), key=lambda pair: pair[0][0]):
        text += [""] * bool(text) + [f"## {date.isoformat()}{f' {title}' if title else ''}", ""]
        before: NewLine | None = None
        for line in of_day:
            if before is not None and not (before.is_record and line.is_record):
                text.append("")
            text.append(f"- {line.text}" if line.is_record else line.text)
            at[len(text)] = before = line
    return "".join(f"{line}\n" for line in text), at


def opening(source: str) -> str:
    """Give the first lines of a new file: a comment, which is never published."""
    name = source.replace("--", "- ")
    return (
        f"<!-- Brought in from {name}. (row 7) at the end of a line is the row that it came from;\n"
        "keep it, and bringing in the same rows again adds nothing twice. -->\n\n"
    )

"""Where a day's line goes: under its heading, in the file in which the keeper's own arrangement puts it.

Files may hold a day, a month, a year or everything.  The file with the newest entry shows the pattern; a
file that by its name or by its entries already holds the day's month or year comes before it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from journal.notes.dates import DateProblem, read_date
from journal.notes.entries import Item, scan

_HEADING = re.compile(r"\n {0,3}(#{1,6})[ \t]+([^\n]*)")  # begins with a plain sign, which is found quickly
_HEADING_WORDS = re.compile(r"\n {0,3}#{1,6}[ \t]+([^\n]*)")
_ISO_WORDS = re.compile(
    r"\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|1\d|2[0-8])(?![\d-])"
).match  # days of every month
_FULL = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?!\d)")
_MONTH = re.compile(r"(\d{4})-(\d{2})(?![\d-])")
_YEAR = re.compile(r"(?<!\d)(\d{4})(?!\d)")
_MARK = re.compile(r"[ \t]*([-*+])[ \t]")
_MONTH_NAMES = "January February March April May June July August September October November December".split()
_WEEKDAYS = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday".split()


class Heading(NamedTuple):
    """A dated heading: where it begins in its file's text, its marks, its words, and its date."""

    at: int
    marks: str
    words: str
    date: dt.date


@dataclass(frozen=True)
class Arranged:
    """One file: its text, and the period that its name speaks of."""

    file: str
    text: str
    period: str  # "2026-03-14", "2026-03", "2026" or ""

    @cached_property
    def headings(self) -> list[Heading]:
        """Its dated headings in their order."""
        return headings_of(self.text)

    @cached_property
    def days(self) -> list[str]:
        """The days of its entries in ISO 8601; of a day's file without a heading, the day in its name."""
        words = _HEADING_WORDS.findall("\n" + self.text.removeprefix("\ufeff"))
        days = []
        for each in words:
            if _ISO_WORDS(each):  # the usual form, in a long journal ten thousand times
                days.append(each[:10])
            elif (day := _iso_day(each.rstrip()) or _any_day(each)) is not None:
                days.append(day.isoformat())
        return days or ([self.period] if len(self.period) == len("2026-03-14") else [])


def headings_of(text: str, year: int | None = None) -> list[Heading]:
    """Find the dated headings of a text, all or those that name a year."""
    found = []
    shift = 1 if text.startswith("\ufeff") else 0
    for match in _HEADING.finditer("\n" + text.removeprefix("\ufeff")):
        if year is not None and f"{year:04d}" not in match[2]:
            continue
        words = match[2].rstrip()
        day = _iso_day(words) or _any_day(words)
        if day is not None:
            found.append(Heading(match.start() + shift, match[1], words, day))
    return found


def _iso_day(words: str) -> dt.date | None:
    """Read the usual form, quickly."""
    if words[4:5] != "-" or words[7:8] != "-" or words[10:11] not in {"", " "}:
        return None
    try:
        return dt.date.fromisoformat(words[:10])
    except ValueError:
        return None


def _any_day(words: str) -> dt.date | None:
    try:
        read = read_date(words, 0)
    except DateProblem as wrong:
        return wrong.day
    return None if read is None else read[1]


def arrange(file: str, text: str) -> Arranged:
    """Look at one file's name, and later at its headings."""
    full = _FULL.match(file, file.rfind("/") + 1)
    if full is not None and _is_date(full[0]):
        return Arranged(file, text, full[0])
    month = _MONTH.search(file)
    if month is not None and 1 <= int(month[2]) <= len(_MONTH_NAMES):
        return Arranged(file, text, month[0])
    year = _YEAR.search(file)
    return Arranged(file, text, year[1] if year is not None else "")


def _is_date(text: str) -> bool:
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def choose_file(arranged: Sequence[Arranged], day: dt.date) -> str:
    """Give the file in which the keeper's arrangement puts a day; it may not be there yet."""
    iso = day.isoformat()
    same_day = [each for each in arranged if iso in each.days]
    if same_day:
        return same_day[-1].file
    filled = [each for each in arranged if each.days]
    if not filled:
        return f"{day:%Y}.md" if not arranged else arranged[-1].file
    for length in (len("2026-03"), len("2026")):
        holding = [each for each in filled if len(each.period) == length and iso.startswith(each.period)]
        if holding:
            return holding[-1].file
    newest = max(filled, key=lambda each: (max(each.days), each.file))
    return _like(newest.file, dt.date.fromisoformat(max(newest.days)), day)


def _like(file: str, of: dt.date, day: dt.date) -> str:
    """Give the name that a file of another day, month or year has in the same pattern."""
    folder, slash, name = file.rpartition("/")
    full = _FULL.match(name)
    if full is not None and full[0] == of.isoformat():
        name = day.isoformat() + name[name.rfind(".") :]  # a day's file may carry that day's title
    else:
        name = _replace_date(name, of, day)
    return _replace_date(folder, of, day) + slash + name


def _replace_date(path: str, of: dt.date, day: dt.date) -> str:
    path = path.replace(of.isoformat(), day.isoformat())
    path = re.sub(rf"(?<!\d){of:%Y-%m}(?!\d)", f"{day:%Y-%m}", path)
    path = re.sub(rf"(?<!\d){of:%Y}(?!\d)", f"{day:%Y}", path)
    path = re.sub(rf"(?<![\d-]){of:%m}(?![\d-])", f"{day:%m}", path)
    month, new = _MONTH_NAMES[of.month - 1], _MONTH_NAMES[day.month - 1]
    return re.sub(rf"(?<![A-Za-z]){month}(?![A-Za-z])", new, path).replace(month.lower(), new.lower())


def add_lines(
    text: str, file: str, day: dt.date, lines: Sequence[str], neighbours: Iterable[Heading] = ()
) -> str:
    """Give a file's text with lines under the heading of the day; line ends and a missing last one are kept.

    ``neighbours`` are headings of other files, for the form of a first heading.
    """
    end = "\r\n" if "\r\n" in text else "\n"
    is_empty = not text.strip("\ufeff \r\n")
    ended = text.endswith("\n") or is_empty
    body = text.replace("\r\n", "\n")
    body = body if ended else f"{body}\n"
    arranged = arrange(file, body)
    if day.isoformat() in arranged.days:
        body = _into_entry(body, arranged, day, lines)
    else:
        body = _as_entry(body, arranged, day, lines, list(neighbours))
    if not ended:
        body = body.rstrip("\n")
    return body.replace("\n", end)


def _into_entry(body: str, arranged: Arranged, day: dt.date, lines: Sequence[str]) -> str:
    """Put lines at the end of the last entry of a day that is not private."""
    headings = list(arranged.headings)
    if not headings:
        begin, stop = 0, len(body)
    else:
        of_day = [at for at, heading in enumerate(headings) if heading.date == day]
        public = [
            at
            for at in of_day
            if not re.search(r"[(\[]\s*private\s*[)\]]", headings[at].words, re.IGNORECASE)
        ]
        if not public:
            return _as_entry(body, arranged, day, lines, [])
        begin = headings[public[-1]].at
        stop = headings[public[-1] + 1].at if public[-1] + 1 < len(headings) else len(body)
    entry = body[begin:stop].rstrip("\n")
    rest = body[stop:]
    mark, is_list = _ending(entry)
    added = "\n".join(_with_mark(line, mark) for line in lines)
    gap = "\n" if is_list and not lines[0].startswith("!") else "\n\n"
    entry = f"{entry}{gap}{added}\n" if entry else f"{added}\n"
    return body[:begin] + entry + (f"\n{rest}" if rest else "")


def _ending(entry: str) -> tuple[str, bool]:
    """Give the mark of an entry's last list item, and whether the entry ends with that list."""
    scanned = scan("", entry)
    blocks = [block for draft in scanned.drafts for block in draft.blocks]
    items = [block for block in blocks if isinstance(block, Item)]
    if not items:
        return "-", False
    found = _MARK.match(scanned.lines[items[-1].line - 1])
    at_end = isinstance(blocks[-1], Item) and _last_line(items[-1]) == len(entry.split("\n"))
    return (found[1] if found is not None else "-"), at_end


def _last_line(item: Item) -> int:
    return max([item.end, *(_last_line(child) for child in item.children or ())])


def _with_mark(line: str, mark: str) -> str:
    return f"{mark}{line[1:]}" if line.startswith("- ") else line


def _as_entry(
    body: str, arranged: Arranged, day: dt.date, lines: Sequence[str], neighbours: list[Heading]
) -> str:
    """Make a new entry for the day, where the order of the file's entries puts it."""
    known = list(arranged.headings) or neighbours
    heading = _heading_like(known, day)
    added = "\n".join(lines)
    entry = f"{heading}\n\n{added}\n"
    dates = [each.date for each in arranged.headings]
    newest_first = len(dates) > 1 and dates[0] > dates[-1]
    later = [each for each in arranged.headings if (each.date < day if newest_first else each.date > day)]
    if not later:
        before = body.rstrip("\n")
        return f"{before}\n\n{entry}" if before.strip("\ufeff") else f"{before}{entry}"
    at = later[0].at
    return f"{body[:at]}{entry}\n{body[at:]}"


def _heading_like(known: Sequence[Heading], day: dt.date) -> str:
    """Write a heading in the form of the newest one that is known: its marks, and its way with dates."""
    if not known:
        return f"## {day.isoformat()}"
    newest = max(known, key=lambda heading: heading.date)
    for form in _FORMS:
        if newest.words.startswith(_form(form, newest.date)):
            return f"{newest.marks} {_form(form, day)}"
    return f"{newest.marks} {day.isoformat()}"


_FORMS = (
    "{iso}",
    "{weekday} {iso}",
    "{weekday} {day} {month} {year}",
    "{weekday}, {day} {month} {year}",
    "{weekday} {month} {day}, {year}",
    "{weekday}, {month} {day}, {year}",
    "{day} {month} {year}",
    "{month} {day}, {year}",
    "{day} {short} {year}",
    "{short} {day}, {year}",
)


def _form(form: str, day: dt.date) -> str:
    month = _MONTH_NAMES[day.month - 1]
    return form.format(
        iso=day.isoformat(), weekday=_WEEKDAYS[day.weekday()], day=day.day, month=month, short=month[:3],
        year=f"{day.year:04d}",
    )  # fmt: skip


def year_text(texts: Mapping[str, str], year: int) -> str:
    """Give the entries of one year, cut out of all files."""
    parts = []
    for file, text in texts.items():
        if f"{year:04d}" not in text and f"{year:04d}" not in file:
            continue
        headings = headings_of(text)
        if (
            not headings
            and arrange(file, text).period.startswith(f"{year:04d}-")
            and _FULL.match(file.rpartition("/")[2])
        ):
            parts.append(f"## {arrange(file, text).period}\n\n{text}")
        for at, heading in enumerate(headings):
            if heading.date.year == year:
                stop = headings[at + 1].at if at + 1 < len(headings) else len(text)
                parts.append(text[heading.at : stop])
    return "\n".join(parts)

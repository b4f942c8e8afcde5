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
from operator import itemgetter

from journal.commands.note_headings import Heading, headings_in, likely_days, likely_headings
from journal.notes.entries import Item, Scanned, scan

_FULL = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?!\d)")
_MONTH = re.compile(r"(\d{4})-(\d{2})(?![\d-])")
_YEAR = re.compile(r"(?<!\d)(\d{4})(?!\d)")
_MARK = re.compile(r"[ \t]*([-*+])[ \t]")
_MONTH_NAMES = "January February March April May June July August September October November December".split()
_WEEKDAYS = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday".split()


@dataclass(frozen=True)
class Arranged:
    """One file: its text, and the period that its name speaks of."""

    file: str
    text: str
    period: str  # "2026-03-14", "2026-03", "2026" or ""

    @cached_property
    def days(self) -> list[str]:
        """The days of its entries in ISO 8601; of a day's file without a heading, the day in its name."""
        days = likely_days(self.text)
        if len(self.period) == len("2026-03-14"):
            if days and any(sign in self.text for sign in ("<!--", "```", "~~~")):
                drafts = scan(self.file, self.text).drafts  # its headings may all be commented out
                return [draft.date.isoformat() for draft in drafts if draft.date is not None]
            return days or [self.period]
        return days

    @property
    def is_private(self) -> bool:
        """Whether it is a day's file without a heading that is private as a whole."""
        drafts = scan(self.file, self.text).drafts
        return len(drafts) == 1 and drafts[0].private


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
        open_files = [each for each in same_day if len(same_day) == 1 or not each.is_private]
        return (open_files or same_day)[-1].file
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


def form_of(file: str, text: str) -> list[Heading]:
    """Give the headings of a file, which a first heading of another takes after."""
    return headings_in(scan(file, text), text.replace("\r\n", "\n"))


def add_lines(
    text: str, scanned: Scanned, day: dt.date, lines: Sequence[str], neighbours: Iterable[Heading] = ()
) -> str:
    """Give a file's text with lines under the heading of the day; line ends and a missing last one are kept.

    ``scanned`` is that text taken apart; ``neighbours`` are headings of another file, for the form of a first
    heading.
    """
    end = "\r\n" if "\r\n" in text else "\n"
    is_empty = not text.strip("\ufeff \r\n")
    ended = text.endswith("\n") or is_empty
    body = text.replace("\r\n", "\n")
    body = body if ended else f"{body}\n"
    headings = headings_in(scanned, body)
    stretch = _stretch_of(scanned, headings, day, len(body))
    if stretch is not None:
        body = _into_entry(body, *stretch, lines)
    else:
        body = _as_entry(body, headings, day, lines, list(neighbours))
    if not ended:
        body = body.rstrip("\n")
    return body.replace("\n", end)


def _stretch_of(
    scanned: Scanned, headings: Sequence[Heading], day: dt.date, length: int
) -> tuple[int, int] | None:
    """Give where the last entry of a day begins and ends that is not private; of a day's file, all of it."""
    if not headings:
        return (0, length) if scanned.drafts[0].date == day else None
    for at in reversed(range(len(headings))):
        if headings[at].date == day and not headings[at].private:
            return headings[at].at, headings[at + 1].at if at + 1 < len(headings) else length
    return None


def _into_entry(body: str, begin: int, stop: int, lines: Sequence[str]) -> str:
    """Put lines at the end of an entry."""
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
    body: str, headings: Sequence[Heading], day: dt.date, lines: Sequence[str], neighbours: Sequence[Heading]
) -> str:
    """Make a new entry for the day, where the order of the file's entries puts it."""
    dated = [(each.at, each.date) for each in headings if each.date is not None]
    heading = _heading_like(headings if dated else neighbours, day)
    added = "\n".join(lines)
    entry = f"{heading}\n\n{added}\n"
    newest_first = len(dated) > 1 and dated[0][1] > dated[-1][1]
    later = [at for at, date in dated if (date < day if newest_first else date > day)]
    if not later:
        before = body.rstrip("\n")
        return f"{before}\n\n{entry}" if before.strip("\ufeff") else f"{before}{entry}"
    before, after = body[: later[0]], body[later[0] :]
    is_apart = "\n" not in heading or not before.strip("\ufeff") or before.endswith("\n\n")
    return f"{before}{'' if is_apart else chr(10)}{entry}\n{after}"


def _heading_like(known: Sequence[Heading], day: dt.date) -> str:
    """Write a heading in the form of the newest one that is known: its marks, and its way with dates."""
    dated = [(heading.date, heading) for heading in known if heading.date is not None]
    if not dated:
        return f"## {day.isoformat()}"
    of, newest = max(dated, key=itemgetter(0))
    forms = (form for form in _FORMS if newest.words.startswith(_form(form, of)))
    words = _form(next(forms, _FORMS[0]), day)
    if newest.marks in {"-", "="}:
        return f"{words}\n{newest.marks * len(words)}"
    return f"{newest.marks} {words}"


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
        headings = likely_headings(text)
        if (
            not headings
            and arrange(file, text).period.startswith(f"{year:04d}-")
            and _FULL.match(file.rpartition("/")[2])
        ):
            parts.append(f"## {arrange(file, text).period}\n\n{text}")
        for number, (at, day) in enumerate(headings):
            if day.year == year:
                stop = headings[number + 1][0] if number + 1 < len(headings) else len(text)
                parts.append(text[at:stop])
    return "\n".join(parts)

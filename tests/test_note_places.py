"""Where `note` puts a line: file, entry, and the place in it that the keeper would have chosen."""

from __future__ import annotations

import datetime as dt
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.commands.console import Refusal
from journal.commands.files import read_journal
from journal.commands.note_arrangement import add_lines
from journal.commands.note_writing import add
from journal.notes.entries import Item, scan
from tests.noting import DAY, LINE, begin, entries, note, write


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with a household and no entry."""
    return begin(tmp_path)


ARRANGEMENTS = {
    "nothing yet": ({}, "2026.md"),
    "a file a day": ({"2026-03-10.md": "## 2026-03-10\n\nx\n"}, "2026-03-14.md"),
    "a day's file with a title and no heading": ({"2026-03-10 first frost.md": "x\n"}, "2026-03-14.md"),
    "a file a day in folders": (
        {"2026/02/2026-02-27.md": "## 2026-02-27\n\nx\n"},
        "2026/03/2026-03-14.md",
    ),
    "a file a month": ({"2026-02.md": "## 2026-02-10\n\nx\n"}, "2026-03.md"),
    "a file a month in a folder a year": ({"2025/2025-12.md": "## 2025-12-10\n\nx\n"}, "2026/2026-03.md"),
    "months by name": ({"2025/11 November.md": "## 2025-11-10\n\nx\n"}, "2026/03 March.md"),
    "a file a year": ({"2025.md": "## 2025-02-10\n\nx\n"}, "2026.md"),
    "a file a year with words": ({"worms in 2025.md": "## 2025-02-10\n\nx\n"}, "worms in 2026.md"),
    "one long file": ({"diary.md": "## 2025-02-10\n\nx\n"}, "diary.md"),
    "one long text file": ({"diary.txt": "## 2025-02-10\n\nx\n"}, "diary.txt"),
    "years, then months": (
        {"2024.md": "## 2024-02-10\n\nx\n", "2026/2026-01.md": "## 2026-01-10\n\nx\n"},
        "2026/2026-03.md",
    ),
    "the month is there already": (
        {"2026-03.md": "## 2026-03-02\n\nx\n", "2026-03-20 flood.md": "x\n"},
        "2026-03.md",
    ),
    "the day is there already, underlined": (
        {"2026.md": "## 2026-01-02\n\nx\n", "odd.md": "14 March 2026\n---\n\nx\n"},
        "odd.md",
    ),
    "the day is there already, also privately": (
        {"2026-03-14 (private).md": "x\n", "2026-03-14 walk.md": "x\n", "2026-03-14 zoo (private).md": "x\n"},
        "2026-03-14 walk.md",
    ),
    "the day is there already": (
        {"2026.md": "## 2026-01-02\n\nx\n", "odd.md": "## 14 March 2026\n\nx\n"},
        "odd.md",
    ),
}


@pytest.mark.parametrize(("files", "expected"), ARRANGEMENTS.values(), ids=ARRANGEMENTS.keys())
def test_a_line_lands_in_the_keepers_own_arrangement(
    journal: Path, files: dict[str, str], expected: str
) -> None:
    """A file a day, a month, a year or one for all: the newest pattern is kept."""
    write(journal, files)
    done = note(journal, LINE)
    assert done.exit_code == 0, done.stderr
    changed = {name for name, text in entries(journal).items() if files.get(name) != text}
    changed |= {file.name for file in (journal / "entries").glob("*.txt")}
    assert changed == {expected}
    records = read_journal(journal).records
    assert [(record.date, record.text) for record in records] == [(DAY, LINE)]


def test_a_past_day_lands_where_that_year_is_kept(journal: Path) -> None:
    """A line for an earlier day goes into the file that holds that year, not into a new one."""
    write(journal, {"2024.md": "## 2024-02-10\n\nx\n", "2026/2026-01.md": "## 2026-01-10\n\nx\n"})
    note(journal, LINE, "--date", "2024-01-05")
    assert entries(journal)["2024.md"] == f"## 2024-01-05\n\n- {LINE}\n\n## 2024-02-10\n\nx\n"


IN_FILES = {
    "behind the day's own lines": (
        "## 2026-03-14\n\n- checked Cupboard: 66 F\n\n## 2026-03-20\n\nx\n",
        "## 2026-03-14\n\n- checked Cupboard: 66 F\n- NEW\n\n## 2026-03-20\n\nx\n",
    ),
    "behind prose, with a space": (
        "## 2026-03-14\n\nRain.\n",
        "## 2026-03-14\n\nRain.\n\n- NEW\n",
    ),
    "into an empty entry": ("## 2026-03-14\n", "## 2026-03-14\n\n- NEW\n"),
    "with the mark that the list has": (
        "## 2026-03-14\n\n* checked Cupboard: 66 F\n",
        "## 2026-03-14\n\n* checked Cupboard: 66 F\n* NEW\n",
    ),
    "behind a nested list": (
        "## 2026-03-14\n\n- mixed bedding A\n    - 1 lb newspaper\n    - 1 L water\n",
        "## 2026-03-14\n\n- mixed bedding A\n    - 1 lb newspaper\n    - 1 L water\n- NEW\n",
    ),
    "between earlier and later days": (
        "# Book\n\n## 2026-03-01\n\na\n\n## 2026-03-20\n\nb\n",
        "# Book\n\n## 2026-03-01\n\na\n\n## 2026-03-14\n\n- NEW\n\n## 2026-03-20\n\nb\n",
    ),
    "newest first": (
        "## 2026-03-20\n\nb\n\n## 2026-03-01\n\na\n",
        "## 2026-03-20\n\nb\n\n## 2026-03-14\n\n- NEW\n\n## 2026-03-01\n\na\n",
    ),
    "in the headings' own form": (
        "# 1 March 2026\n\na\n",
        "# 1 March 2026\n\na\n\n# 14 March 2026\n\n- NEW\n",
    ),
    "with the weekday": (
        "### Sunday 1 March 2026 Mild\n\na\n",
        "### Sunday 1 March 2026 Mild\n\na\n\n### Saturday 14 March 2026\n\n- NEW\n",
    ),
    "not into a private entry": (
        "## 2026-03-14 (private)\n\nhush\n",
        "## 2026-03-14 (private)\n\nhush\n\n## 2026-03-14\n\n- NEW\n",
    ),
    "without a last line end": ("## 2026-03-14\n\nRain.", "## 2026-03-14\n\nRain.\n\n- NEW"),
    "with the line ends of Windows": (
        "## 2026-03-14\r\n\r\n- checked Cupboard: 66 F\r\n",
        "## 2026-03-14\r\n\r\n- checked Cupboard: 66 F\r\n- NEW\r\n",
    ),
    "above a later day that is underlined": (
        "## 2026-03-14\n\n- checked Cupboard: 66 F\n\nMarch 15, 2026\n---\n\nx\n",
        "## 2026-03-14\n\n- checked Cupboard: 66 F\n- NEW\n\nMarch 15, 2026\n---\n\nx\n",
    ),
    "above a later day in bold": (
        "## 2026-03-14\n\nRain.\n\n## **2026-03-15** (private)\n\nhush\n",
        "## 2026-03-14\n\nRain.\n\n- NEW\n\n## **2026-03-15** (private)\n\nhush\n",
    ),
    "above an entry whose date cannot be read": (
        "## 2026-03-14\n\nRain.\n\n## 3/15/26\n\nx\n",
        "## 2026-03-14\n\nRain.\n\n- NEW\n\n## 3/15/26\n\nx\n",
    ),
    "not below a heading in a comment": (
        "## 2026-03-01\n\n<!--\n## 2026-03-14\n-->\n",
        "## 2026-03-01\n\n<!--\n## 2026-03-14\n-->\n\n## 2026-03-14\n\n- NEW\n",
    ),
    "under a heading that is underlined as the others are": (
        "1 March 2026\n===\n\na\n\nb\n20 March 2026\n===\n\nc\n",
        "1 March 2026\n===\n\na\n\nb\n\n14 March 2026\n=============\n\n- NEW\n\n20 March 2026\n===\n\nc\n",
    ),
    "behind a byte-order mark": ("\ufeff## 2026-03-14\n\nRain.\n", "\ufeff## 2026-03-14\n\nRain.\n\n- NEW\n"),
    "a first entry behind a byte-order mark": ("\ufeff", "\ufeff## 2026-03-14\n\n- NEW\n"),
}


@pytest.mark.parametrize(("before", "after"), IN_FILES.values(), ids=IN_FILES.keys())
def test_a_line_is_put_into_the_file_as_the_keeper_writes(before: str, after: str) -> None:
    """Order, marks, form of headings, line ends, byte-order mark and a missing last line end are kept."""
    assert add_lines(before, scan("diary.md", before), DAY, ["- NEW"]) == after


HEADINGS = (
    "## {iso}", "# {iso} Rain", "### **{iso}** Snow", "## *{long}*: frost", "## {iso} (private)",
    "## __{iso}__ Guests [private]", "{long}\n---", "{long}\n=========", "{iso} (private)\n---", "##{iso}",
    "# Year", "## 3/15/26", "## 30 February 2026", "## 14 March", "Friday {iso}\n-----", "**{iso}**",
    "<!-- ## {iso} -->", "<!--\n## {iso}\n-->", "<!-- old -->## {iso}", "```\n## {iso}\n```", "    ## {iso}",
    "---",
)  # fmt: skip
BODIES = ("", "Rain.\n", "- fed 2 lb apple cores to Cupboard\n", "* fed 3 oz bread to Cupboard\n  (old)\n")
GAPS = ("\n", "")


@st.composite
def arranged_files(draw: st.DrawFn) -> dict[str, str]:
    """Make up a file or two of entries in which every kind of heading stands that there is."""
    names = st.sampled_from(["2026.md", "diary.txt", "2026-03-14.md", "2026-03-14 (private).md"])
    files = {}
    for name in draw(st.lists(names, min_size=1, max_size=2, unique=True)):
        text = draw(st.sampled_from(["", "\ufeff", "Words.\n\n"]))
        for heading in draw(st.lists(st.sampled_from(HEADINGS), max_size=5)):
            day = DAY + dt.timedelta(draw(st.integers(-1, 1)))
            long = f"{day.day} {day:%B} {day.year}"
            between, behind = draw(st.sampled_from(GAPS)), draw(st.sampled_from(GAPS))
            body = draw(st.sampled_from(BODIES))
            text += heading.format(iso=day.isoformat(), long=long) + f"\n{between}{body}{behind}"
        files[name] = text.replace("\n", draw(st.sampled_from(["\n", "\r\n"])))
    return files


@given(arranged_files())
def test_a_line_is_read_under_the_day_that_was_meant(files: dict[str, str]) -> None:
    """However entries are headed, the line counts as of its day, in no private entry where that can be.

    All other lines stay what they were.
    """
    with tempfile.TemporaryDirectory() as folder:
        journal = Path(folder)
        write(journal, files)
        texts = {name: text.removeprefix("\ufeff") for name, text in files.items()}
        try:
            add(journal, texts, DAY, [f"- {LINE}"])
        except Refusal:
            assert {name: (journal / "entries" / name).read_bytes().decode() for name in files} == files
            return
        names = {*files, *entries(journal)}
        written = {name: (journal / "entries" / name).read_bytes().decode() for name in names}
    before, after = _counted(files), _counted(written)
    assert after - before in [Counter([(DAY, private, LINE, 0)]) for private in (False, True)]
    assert not before - after
    days = [(draft.date, draft.private) for name, text in files.items() for draft in scan(name, text).drafts]
    assert (DAY, False, LINE, 0) in after or ((DAY, True) in days and (DAY, False) not in days)


def _counted(files: dict[str, str]) -> Counter[tuple[dt.date | None, bool, str, int]]:
    """Give the items of all files: date, whether the entry is private, text, number of further lines."""
    return Counter(
        (draft.date, draft.private, block.text, len(block.more or ()))
        for name, text in files.items()
        for draft in scan(name, text).drafts
        for block in draft.blocks
        if isinstance(block, Item)
    )


def test_a_line_is_not_put_into_a_comment_that_a_heading_ends(journal: Path) -> None:
    """Where only the keeper can say where the line belongs, nothing is written, and a way out is told."""
    before = {"2026.md": "## 2026-03-14\n\n<!-- old\n-->## 2026-03-15\n\nx\n"}
    write(journal, before)
    done = note(journal, LINE)
    assert done.exit_code == 1
    assert entries(journal) == before


def test_nothing_is_written_into_a_file_that_is_not_read(journal: Path) -> None:
    """A file with line ends that no journal has is named, and not touched."""
    before = {"2026.md": "## 2026-03-14\r\rx\r"}
    write(journal, before)
    done = note(journal, LINE)
    assert done.exit_code == 1
    assert "carriage return" in done.stderr
    assert entries(journal) == before


def test_the_year_so_far_takes_in_entries_with_any_kind_of_heading(journal: Path) -> None:
    """Lines under underlined headings and such in bold are in the year's sum."""
    line = LINE.replace("1 lb", "2 lb")
    headed = [f"{heading}\n\n- {line}\n" for heading in ("2 March 2026\n---", "## **2026-03-03**")]
    write(journal, {"a.md": headed[0], "b.md": headed[1]})
    assert "2026 so far, fed to Cupboard: 5.00 lb (2.27 kg), 3 lines" in note(journal, LINE).stdout

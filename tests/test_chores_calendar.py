"""The command chores and its calendar, read back by a parser that did not write it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
import vobject

from journal.commands.calendar import calendar_of, uid_of
from journal.reckoning.chores import Chore
from tests.conftest import Program
from tests.journals import lay_out

ON = dt.date(2026, 3, 20)
NEWEST = dt.date(2026, 3, 14)
CHORES = [
    Chore(
        "feed",
        "Cellar; Bin, the first",
        dt.date(2026, 3, 18),
        "last fed on 2026-03-11, fed about every 7 days",
    ),
    Chore(
        "warm",
        "Schuppenkiste äöü 🪱",
        dt.date(2026, 3, 25),
        "too cold: " + "brr ä " * 40,
        "wrap it\nnow",
        urgent=True,
    ),
]

ENTRIES = """\
## 2026-03-01
- added 1 lb worms to Lower Bin
- fed 1 lb banana peels to Lower Bin
- mixed bedding First Mix: 2 lb shredded paper, 4 lb water
## 2026-03-14
- checked Lower Bin: 48 F, moisture 80%
- fed 1 lb coffee grounds to Lower Bin
"""


def written() -> bytes:
    """The calendar of the two chores."""
    return calendar_of("Test house", CHORES, ON, NEWEST)


def test_another_parser_reads_every_chore_back() -> None:
    """Subject, reason and day of each chore come back from the file unharmed, signs and all."""
    calendar = vobject.readOne(written().decode("utf-8"))
    events = list(calendar.vevent_list)
    assert [event.summary.value for event in events] == [
        "Feed Cellar; Bin, the first",
        "Warm Schuppenkiste äöü 🪱",
    ]
    assert events[0].description.value == CHORES[0].reason
    assert events[1].description.value == f"{CHORES[1].reason}\nwrap it\nnow"
    assert calendar.version.value == "2.0"
    assert calendar.prodid.value


def test_chores_are_all_day_events_and_the_overdue_stand_today() -> None:
    """Each event is a date without a time and ends the next day (RFC 5545); the overdue stands today."""
    first, second = vobject.readOne(written().decode("utf-8")).vevent_list
    assert (first.dtstart.value, first.dtend.value) == (ON, dt.date(2026, 3, 21))
    assert (second.dtstart.value, second.dtend.value) == (dt.date(2026, 3, 25), dt.date(2026, 3, 26))
    assert b"DTSTART;VALUE=DATE:20260320\r\n" in written()
    assert first.transp.value == "TRANSPARENT"


def test_lines_are_folded_as_the_standard_asks() -> None:
    """Every line ends in CR LF and has at most 75 octets (RFC 5545, 3.1)."""
    lines = written().split(b"\r\n")
    assert lines[-1] == b""
    assert max(len(line) for line in lines) <= 75
    assert not [line for line in lines if b"\n" in line or b"\r" in line]


def test_a_chore_keeps_its_identifier() -> None:
    """The identifier depends on household, chore and subject alone: a chore whose day moves is moved."""
    chore = CHORES[0]
    same = Chore(chore.what, chore.subject, ON, "another reason")
    assert uid_of("Test house", same) == uid_of("Test house", chore)
    others = [
        uid_of("Other house", chore),
        uid_of("Test house", Chore("check", chore.subject, chore.day, "")),
        uid_of("Test house", Chore(chore.what, "Other Bin", chore.day, "")),
        uid_of("Test house", chore, 1),
    ]
    assert len({uid_of("Test house", chore), *others}) == 5


def test_a_chore_that_comes_twice_is_two_events() -> None:
    """Chores of one kind with one subject are told apart, and each keeps its identifier when both move."""

    def identifiers(*days: dt.date) -> list[str]:
        chores = [Chore("dry", "Cellar Bin", day, "") for day in days]
        calendar = vobject.readOne(calendar_of("Test house", chores, ON, NEWEST).decode("utf-8"))
        return [event.uid.value for event in calendar.vevent_list]

    first = identifiers(ON, dt.date(2026, 3, 22))
    assert len(set(first)) == 2
    assert identifiers(dt.date(2026, 3, 21), dt.date(2026, 3, 24)) == first


def test_a_mended_day_is_replaced_and_not_doubled(program: Program, tmp_path: Path) -> None:
    """A batch whose day is mended between two exports stays one event to whoever keeps events by UID."""
    kept = {}
    for day in ("2026-03-01", "2026-03-02"):
        folder = lay_out(tmp_path / day, ENTRIES.replace("2026-03-01", day))
        done = program("--journal", folder, "chores", "--on", "2026-03-14", "--calendar", tmp_path / "w.ics")
        assert done.returncode == 0, done.stderr
        calendar = vobject.readOne((tmp_path / "w.ics").read_bytes().decode("utf-8"))
        for event in calendar.vevent_list:
            kept[event.uid.value] = (event.summary.value, event.description.value)
    batch = [reason for title, reason in kept.values() if title == "Use bedding First Mix"]
    assert len(batch) == 1
    assert "mixed on 2026-03-02" in batch[0]


def test_the_stamp_is_the_journals_not_the_clocks() -> None:
    """The time stamp is the newest entry's day, so the same journal gives the same bytes on any day."""
    event = next(iter(vobject.readOne(written().decode("utf-8")).vevent_list))
    assert event.dtstamp.value == dt.datetime(2026, 3, 14, tzinfo=dt.UTC)
    assert written() == written()


def test_an_empty_list_is_a_calendar_all_the_same() -> None:
    """A journal in which nothing is due gives a calendar without events, not a broken file."""
    calendar = vobject.readOne(calendar_of("", [], ON, NEWEST).decode("utf-8"))
    assert "vevent" not in calendar.contents


def test_the_command_says_what_is_due_and_why(program: Program, tmp_path: Path) -> None:
    """A cool bin, a rested batch and a bin to feed are named with their reasons, most pressing first."""
    folder = lay_out(tmp_path, ENTRIES)
    done = program("--journal", folder, "chores", "--on", "2026-03-21", "--calendar", tmp_path / "worms.ics")
    assert done.returncode == 0, done.stderr
    told = done.stdout
    assert "warm Lower Bin" in told
    assert "temperature 48 °F on 2026-03-14, cool: red wigglers do well at 59 to 77 °F" in told
    assert "use bedding First Mix" in told
    assert "feed Lower Bin" in told
    assert told.index("warm Lower Bin") < told.index("feed Lower Bin")
    calendar = vobject.readOne((tmp_path / "worms.ics").read_bytes().decode("utf-8"))
    assert "Warm Lower Bin" in [event.summary.value for event in calendar.vevent_list]


def test_a_bin_without_a_line_is_left_in_peace(program: Program, tmp_path: Path) -> None:
    """A bin that only household.yaml knows, without a start, has no chores."""
    folder = lay_out(tmp_path, ENTRIES)
    assert "Upper Bin" not in program("--journal", folder, "chores", "--on", "2026-03-21").stdout


@pytest.mark.parametrize("words", ["3/4/26", "tomorrow", "2026-02-30", ""])
def test_a_day_that_is_none_is_wrong_use(program: Program, tmp_path: Path, words: str) -> None:
    """What is no date is said so, with the form to write, and status 2."""
    done = program("--journal", lay_out(tmp_path, ENTRIES), "chores", "--on", words)
    assert done.returncode == 2
    assert "is no date" in done.stderr
    assert "2026-03-14" in done.stderr


def test_a_journal_with_problems_ends_with_status_one(program: Program, tmp_path: Path) -> None:
    """Chores are shown all the same, with the problems listed and status 1."""
    folder = lay_out(tmp_path, ENTRIES + "- fed 3 florbs peels to Lower Bin\n")
    done = program("--journal", folder, "chores", "--on", "2026-03-21")
    assert done.returncode == 1
    assert "feed Lower Bin" in done.stdout
    assert "all.md:8" in done.stderr

"""Chores as an iCalendar file (RFC 5545): all-day events, which every common calendar shows."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Iterable

from journal.reckoning.chores import Chore

PRODUCT = "-//Middenbook//Chores//EN"


def calendar_of(household: str, chores: Iterable[Chore], on: dt.date, newest: dt.date) -> bytes:
    """Give the chores as a calendar file.

    What is overdue stands on the day looked at, since calendars don't show the past.  The same chore keeps
    its UID from file to file, whatever its day, so that a calendar moves it (RFC 5545, 3.8.4.7); the stamp is
    the newest entry's day, so the same journal gives the same bytes.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    title = f"Worm chores, {household}" if household else "Worm chores"
    calendar.add("name", title)  # RFC 7986
    calendar.add("x-wr-calname", title)  # what most calendars read instead
    stamp = dt.datetime.combine(newest, dt.time(), dt.UTC)
    met: Counter[tuple[str, str]] = Counter()
    for chore in chores:
        uid = uid_of(household, chore, met[chore.what, chore.subject])
        met[chore.what, chore.subject] += 1
        calendar.add_component(_event(uid, chore, max(chore.day, on), stamp))
    return bytes(calendar.to_ical())


def uid_of(household: str, chore: Chore, earlier: int = 0) -> str:
    """Give the identifier that a chore keeps: a hash of household, chore and subject.

    ``earlier`` is how many of the same chore with the same subject come before it.
    """
    words = f"{household}\0{chore.what}\0{chore.subject}\0{earlier}"
    return f"{hashlib.sha256(words.encode('utf-8')).hexdigest()[:32]}@middenbook"


def _event(uid: str, chore: Chore, day: dt.date, stamp: dt.datetime):  # type: ignore[no-untyped-def]  # noqa: ANN202
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("dtstart", day)
    if day < dt.date.max:
        event.add("dtend", day + dt.timedelta(days=1))
    event.add("summary", chore.title[:1].upper() + chore.title[1:])
    event.add("description", "\n".join(part for part in (chore.reason, chore.advice) if part))
    event.add("categories", ["worm bins", chore.what])
    event.add("transp", "TRANSPARENT")  # a chore does not make its keeper busy
    event.add("class", "PRIVATE")
    if chore.urgent:
        event.add("priority", 1)
    return event

"""What a club's charts show: its months by stream, and its households beside one another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from journal.site.club_edition import ClubEdition
from journal.site.views.drawn import STREAM_ROOM, rounded_off
from journal.site.views.tables import NUMBER, by_stream, head, row, table
from journal.site.wording import View, counted, month_in_words

KEPT = "kept_out_of_landfill"
MOST_MONTHS = 18
MOST_BARS = 12
LETTERS = "JFMAMJJASOND"


def months_drawn(edition: ClubEdition) -> View | None:
    """Bars of the newest months, a segment a stream, whiskers for the doubt."""
    figures = edition.figures
    newest = sorted(figures.months)[-MOST_MONTHS:]
    if not newest or not any(figures.months[month][KEPT].value > 0 for month in newest):
        return None
    months = calendar(newest[0], newest[-1])[-MOST_MONTHS:]
    streams = by_stream(
        stream
        for (month, stream), totals in figures.month_streams.items()
        if month in months and totals[KEPT].value > 0
    )
    rows = segments(edition, months, streams)
    last = [one for one in rows if one["at"] == len(months) - 1]
    edge = (len(months) - 0.14) / len(months)
    data = {
        "periods": [LETTERS[month.month - 1] for month in months],
        "streams": streams,
        "rows": rows,
        "whiskers": whiskers(edition, months),
        "labels": [
            {"stream": one["stream"], "value": (one["low"] + one["high"]) / 2, "edge": edge} for one in last
        ],
        "right": STREAM_ROOM,
    }
    heaviest = max(newest, key=lambda month: figures.months[month][KEPT].value)
    key = [
        {"words": stream, "fill": f"var(--stream-{number})"} for number, stream in enumerate(streams, start=1)
    ]
    when = month_in_words(heaviest.isoformat()[:7])
    if len(months) == 1:
        summary = f"All of it was kept in {when}."
    else:
        summary = f"The heaviest of these {counted(len(months), 'month')} was {when}."
    return {
        "id": "months",
        "kind": "stacked",
        "data": data,
        "title": f"Kept out of landfill by month and stream, in {edition.writer.unit}",
        "summary": summary,
        "key": key[::-1],
        "table": months_table(edition, months, streams),
    }


def segments(edition: ClubEdition, months: Sequence[dt.date], streams: Sequence[str]) -> list[View]:
    """Give the segments of the months' bars, bottom first."""
    rows: list[View] = []
    for at, month in enumerate(months):
        top = 0.0
        for stream in streams:
            totals = edition.figures.month_streams.get((month, stream))
            high = top + (max(0.0, totals[KEPT].value / edition.writer.own[1]) if totals else 0.0)
            if high > top:
                ends = {"low": rounded_off(top), "high": rounded_off(high)}
                rows.append({"at": at, "stream": stream, "guess": False, **ends})
            top = high
    return rows


def whiskers(edition: ClubEdition, months: Sequence[dt.date]) -> list[View]:
    """Give the doubt of each month's total."""
    size = edition.writer.own[1]
    found: list[View] = []
    for at, month in enumerate(months):
        if month in edition.figures.months:
            total = edition.figures.months[month][KEPT]
            low, high = (total.value - total.expanded) / size, (total.value + total.expanded) / size
            found.append({"at": at, "low": rounded_off(max(0.0, low)), "high": rounded_off(high)})
    return found


def months_table(edition: ClubEdition, months: Sequence[dt.date], streams: Sequence[str]) -> View:
    """Give the numbers of the months' chart."""
    figures = edition.figures
    rows = [
        row(
            month_in_words(month.isoformat()[:7]),
            *(edition.cell(figures.month_streams.get((month, stream), {}).get(KEPT)) for stream in streams),
        )
        for month in months
    ]
    heads = head("Month", *((f"{stream[:1].upper()}{stream[1:]}", NUMBER) for stream in streams))
    return table(f"Kept out of landfill in {edition.writer.unit}", heads, rows)


def calendar(first: dt.date, last: dt.date) -> list[dt.date]:
    """Give every month from one to another, those without figures too."""
    months = []
    at = first
    while at <= last:
        months.append(at)
        at = dt.date(at.year + at.month // 12, at.month % 12 + 1, 1)
    return months


def households_drawn(edition: ClubEdition) -> View | None:
    """Lying bars of the households that kept most out of landfill."""
    figures, size = edition.figures, edition.writer.own[1]
    found = [
        (member.name, figures.members[member.number][KEPT])
        for member in edition.club.members
        if member.number in figures.members and figures.members[member.number][KEPT].value > 0
    ]
    found.sort(key=lambda one: (-one[1].value, one[0]))
    if len(found) < 2:  # noqa: PLR2004 - one bar compares nothing
        return None
    rows = [
        {
            "words": name,
            "value": rounded_off(total.value / size),
            "guess": False,
            "text": edition.writer.in_words(total),
            "low": rounded_off(max(0.0, total.value - total.expanded) / size),
            "high": rounded_off((total.value + total.expanded) / size),
        }
        for name, total in found[:MOST_BARS]
    ]
    more = f", the {MOST_BARS} with most" if len(found) > MOST_BARS else ""
    return {
        "id": "households",
        "kind": "bars",
        "data": {"rows": rows, "left": 2, "right": 4, "bottom": 4},
        "title": f"Kept out of landfill by household since the start, in {edition.writer.unit}{more}",
        "summary": f"{counted(len(found), 'household')} kept something out of landfill.",
        "key": [],
        "table": None,
    }

"""The parts of a page that many pages share, as plain values: tables, rows, links to lines, sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite

from journal.reckoning.diversion import Cell, Figure, Figures
from journal.reckoning.fates import unknown_share
from journal.reckoning.movements import DUST
from journal.reckoning.spans import Span
from journal.site.edition import Edition
from journal.site.wording import (
    LB,
    SQUARE_FOOT,
    UNBROKEN,
    View,
    as_if_landfilled,
    listed,
    percent,
    significant,
)

NUMBER = True
"""Marks a head whose column holds figures."""

HOW = {
    "weighed": "weighed",
    "counted": "counted",
    "by measure": "by our own measures, weighed once",
    "by volume": "by volume",
    "estimated": "estimated",
}
STREAMS = ("paper", "food scraps", "garden", "other", "supplies", "mineral")
MOST_LINES = 160
"""The most lines one cell leads to one by one; behind it the page's own order leads on."""


def head(*words: str | tuple[str, bool]) -> list[View]:
    """Give the heads of a table; a figure's column is ("kept out", NUMBER)."""
    return [
        {"words": one if isinstance(one, str) else one[0], "number": not isinstance(one, str)}
        for one in words
    ]


def table(
    caption: str, heads: list[View], rows: Sequence[View], foot: View | None = None, **more: object
) -> View:
    """Give a table; ``other`` shows the other system of units, ``wide`` lets it fill the page."""
    return {
        "caption": caption,
        "head": heads,
        "rows": list(rows),
        "foot": foot,
        "other": False,
        "wide": False,
        **more,
    }


def row(*cells: object, identity: str = "") -> View:
    """Give a row: the first cell is its head."""
    return {"cells": list(cells), "id": identity}


def link(words: str, href: str = "", small: str = "") -> View:
    """Give words that lead somewhere."""
    return {"words": words, "href": href, "small": small}


def lines_behind(
    edition: Edition, records: Iterable[int], here: str = "", known: dict[int, View] | None = None
) -> View:
    """Give the links to the lines behind a figure, each named by its day and number.

    Links that another figure of the same page has too are taken from ``known`` and put there.
    """
    links = {} if known is None else known
    shown = sorted(set(records))[:MOST_LINES]
    for record in shown:
        if record not in links:
            links[record] = edition.line_link(record, here)
    return {"links": [links[record] for record in shown]}


def by_stream(streams: Iterable[str]) -> list[str]:
    """Give the streams in the order in which they are always told."""
    there = set(streams)
    return [stream for stream in STREAMS if stream in there] + sorted(there - set(STREAMS))


def how_measured(figure: Figure, of: str) -> str:
    """Say in one sentence how the mass of a figure was measured."""
    whole = sum(kg for kg in figure.how.values() if kg > 0)
    if whole <= 0:
        return ""
    parts = [
        f"{percent(figure.how[how] / whole)} {words}"
        for how, words in HOW.items()
        if figure.how.get(how, 0.0) / whole > 0
    ]
    return f"Of {of}, {listed(parts)}."


def caveats(edition: Edition, figures: Figures, cells: Iterable[tuple[Cell, Figures]]) -> list[str]:
    """Say what a time's figures owe their reader; ``cells`` are those that they add up from."""
    kept = figures.kept_out_of_landfill
    below = "Below nothing: of what was kept out before, more was thrown out again than was newly kept out."
    told = (
        how_measured(figures.taken_in, "what was taken in"),
        as_if_landfilled(unknown_share(edition.household, cells)) if kept.records else "",
        below if kept.value < -DUST else "",
    )
    return [words for words in told if words]


def cautions(edition: Edition, page: str) -> list[View]:
    """Give the warnings that belong on a page, with whose word comes first."""
    return [
        {"title": shown.caution.title, "text": shown.caution.text, "defers": shown.caution.defers}
        for shown in edition.keeping.cautions(page)
    ]


def span_words(edition: Edition, span: Span | None, size: float = 1.0, unit: str = "") -> str:
    """Give a range in words, ``24 (18 to 31)``, or that nobody knows."""
    if span is None or not isfinite(span.typical):  # shared by worms that are all gone, say
        return "not known"
    typical = edition.writer.number(significant(span.typical / size, 2))
    measure = f"{UNBROKEN}{unit}" if unit else ""
    if not span.is_bounded:
        return f"{typical}{measure}, with no upper bound"
    ends = edition.writer.span(span.low, span.high, size)
    words = typical if ends == typical else f"{typical} ({ends})"
    return f"{words}{measure}"


def by_area(edition: Edition, span: Span) -> str:
    """Give a range in kg/m² in the household's own units of mass and area."""
    if edition.household.units == "metric":
        return span_words(edition, span, 1.0, "kg/m²")
    return span_words(edition, span, LB / SQUARE_FOOT, "lb/sq ft")


def share_words(share: Span) -> str:
    """Give a share with its range, ``26 % (22 % to 31 %)``, unless it rounds to the share itself."""
    typical, low, high = percent(share.typical), percent(share.low), percent(share.high)
    return typical if low == typical == high else f"{typical} ({low} to {high})"

"""What machines read: the open data described (schema.org), the feed's entries, the map of the site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from journal.site.discretion import WORDS
from journal.site.edition import HOME, Edition
from journal.site.prose import definitions, opening
from journal.site.views.months import MonthPages
from journal.site.wording import View, day_in_words, isolated

FEED_ENTRIES = 20
DATA = ("movements", "lines", "figures", "readings")
UNNAMED = "tag:middenbook.invalid"


def described(edition: Edition, description: str, first: dt.date | None) -> View:
    """Give the Dataset's description; addresses are whole where the household has one, else relative."""
    address = edition.site["address"]
    files = [f"data/{name}.csv" for name in DATA]
    start = first or edition.as_of
    return {
        "@context": "https://schema.org",
        "@type": "Dataset",
        "name": f"{edition.site['name']}: kept out of landfill",
        "description": (
            f"{description} Masses in kilograms, each with its doubt; one row a movement between two "
            "accounts."
        ),
        "creator": {"@type": "Organization", "name": edition.site["name"]},
        "temporalCoverage": f"{start.isoformat()}/{edition.as_of.isoformat()}",
        "dateModified": edition.as_of.isoformat(),
        "isAccessibleForFree": True,
        "inLanguage": "en",
        "variableMeasured": ["mass", "temperature", "moisture", "pH"],
        "measurementTechnique": "weighed, counted or estimated by the household; not verified by others",
        "distribution": [
            {"@type": "DataDownload", "encodingFormat": "text/csv", "contentUrl": f"{address}{file}"}
            for file in files
        ]
        + [
            {
                "@type": "DataDownload",
                "encodingFormat": "application/json",
                "contentUrl": f"{address}data/datapackage.json",
            }
        ],
        **({"url": address} if address else {}),
    }


def stamp(day: dt.date) -> str:
    """Give the instant that stands for a day (RFC 3339): a diary has dates, so the day's start in UTC."""
    return f"{day.isoformat()}T00:00:00Z"


def identity(edition: Edition) -> str:
    """Give the stable name of the feed: the site's address, else a tag made from the household's name."""
    from journal.site.wording import slug

    return edition.site["address"] or f"{UNNAMED},2000:{slug(edition.site['name'])}/"


def feed(edition: Edition, months: MonthPages) -> View:
    """Give the newest entries for the Atom feed (RFC 4287)."""
    base = identity(edition)
    entries = list(_feed_entries(edition, months, base))
    return {
        "site": edition.site,
        "id": base,
        "updated": stamp(edition.as_of),
        "entries": entries,
        "subtitle": "Paper and kitchen scraps kept out of landfill",
    }


def _feed_entries(edition: Edition, months: MonthPages, base: str) -> Iterator[View]:
    told = 0
    for month in reversed(edition.months):
        for index in reversed(edition.months[month]):
            entry = edition.notes.entries[index]
            if edition.discretion.level(entry) != WORDS:
                continue
            date = day_in_words(entry.date)
            title = edition.said(entry.title).strip()
            texts = [edition.said(text) for text in edition.texts(entry.blocks)]
            shared = definitions(texts)
            blocks = list(months.blocks(entry, WORDS))
            summary = next((words for text in texts if (words := opening(text + shared))), "")
            yield {
                "id": f"{base}{month}#{edition.entry_anchor(index)}",
                "href": edition.entry_address(index),
                "title": f"{isolated(title)} · {date}" if title else date,
                "updated": stamp(entry.date),
                "summary": summary or _lines_in_short(blocks),
                "blocks": blocks,
            }
            told += 1
            if told == FEED_ENTRIES:
                return


def _lines_in_short(blocks: list[View]) -> str:
    """Give an entry's first lines, for an entry without a word of prose."""
    lines = [line["text"] for block in blocks for line in block.get("lines", ())]
    return "; ".join(lines[:3]) + (" …" if len(lines) > 3 else "")  # noqa: PLR2004 - as many as fit a summary


def sitemap(edition: Edition, names: list[str]) -> View | None:
    """Give every page's whole address and the day it may last have changed; nothing without a web address."""
    address = edition.site["address"]
    if not address:
        return None
    newest = edition.as_of.isoformat()
    pages = [
        {"address": address if name == HOME else f"{address}{name}", "changed": newest} for name in names
    ]
    return {"pages": pages}

"""The month's page: its entries as written, their lines in both units, and what its figures rest on."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from typing import Any

from journal.measures.periods import month_key
from journal.notes.records import Amount, Entry, Line, Prose, Record
from journal.reckoning.diversion import CASTINGS, PRODUCT, Figure, Figures, heap_up
from journal.reckoning.movements import Account, Movement
from journal.site import prose
from journal.site.discretion import AMOUNTS, WORDS
from journal.site.edition import Edition
from journal.site.pictures import candidates
from journal.site.views.tables import NUMBER, by_stream, caveats, head, lines_behind, link, row, table
from journal.site.wording import (
    WEEKDAYS,
    View,
    counted,
    day_in_words,
    isolated,
    listed,
    month_in_words,
    names_within,
    slug,
    with_isolated,
)

SHOWN = {
    "taken_in": "taken in",
    "kept_out_of_landfill": "kept out of landfill",
    "kept_in_use": "kept in use here",
    "thrown_out": "thrown out",
    "castings_harvested": "castings harvested",
    "castings_spread": "castings spread",
}
"""The figures of a month, and the words for them."""

SHORT = {
    "taken_in": "in",
    "kept_out_of_landfill": "kept",
    "kept_in_use": "used",
    "thrown_out": "out",
    "castings_harvested": "harvest",
    "castings_spread": "spread",
}
Ways = tuple[tuple[Account, ...], tuple[Account, ...]]
"""The accounts that a line's amounts came from, and those they went to."""

WASTE = ("taken_in", "kept_out_of_landfill", "kept_in_use", "thrown_out")


def anchor(figure: str, stream: str = "", giver: str = "") -> str:
    """Give the id of the lines behind one figure of a month: of a stream, of one giver."""
    return "-".join(part for part in (SHORT[figure], slug(stream), giver.removeprefix("giver-")) if part)


def address(month: str, figure: str, stream: str = "", giver: str = "") -> str:
    """Give the address of the lines behind one figure of a month."""
    return f"{month}.html#{anchor(figure, stream, giver)}"


class MonthPages:
    """Makes the views of the months' pages of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self._ways: dict[Ways, str] = {}
        self._accounts: dict[str, dict[int, Ways]] = {}

    @cached_property
    def order(self) -> list[str]:
        """All months with a page."""
        return list(self.edition.months)

    @cached_property
    def neighbours(self) -> list[tuple[str, str]]:
        """The page of each month and its name."""
        return [(f"{month}.html", month_in_words(month)) for month in self.order]

    @cached_property
    def giver_places(self) -> dict[str, int]:
        """The place of each giver in the order in which they are told."""
        return {giver: place for place, giver in enumerate(self.edition.givers)}

    @cached_property
    def names(self) -> re.Pattern[str]:
        """The names in lines that are set apart from the words around them."""
        edition, household = self.edition, self.edition.household
        own = (*edition.bin_pages, *edition.planting_anchors, *edition.notes.batches, *edition.open_words)
        return names_within([*map(edition.said, own), *map(household.publishes_giver, household.givers)])

    def accounts(self, month: str) -> dict[int, Ways]:
        """For each record of a month, the accounts its amounts came from and went to, each once."""
        found = self._accounts.get(month)
        if found is None:
            found = self._accounts[month] = _accounts_by_record(self.edition.tally.moved.get(month, ()))
        return found

    def view(self, month: str) -> View:
        """Give everything on the page of one month."""
        edition, words = self.edition, month_in_words(month)
        here = self.order.index(month)
        figures = edition.tally.diversion.of_month(month).whole
        entries = [self.entry(index) for index in edition.months[month] if self.is_told(index)]
        return {
            **edition.frame(
                f"{month}.html",
                f"{words} · {edition.site['name']}",
                self.under(month, figures),
                f"year-{month[:4]}.html",
                turn=edition.turn(self.neighbours, here),
                as_of="",
            ),
            "heading": words,
            "year": link(str(int(month[:4])), f"year-{month[:4]}.html"),
            "under": self.under(month, figures),
            "totals": self.totals(month),
            "caveats": caveats(edition, figures, edition.tally.diversion.of_month(month).cells.items()),
            "entries": entries,
            "shows_pictures": any(block.get("pictures") for entry in entries for block in entry["blocks"]),
            "behind": list(self.behind(month)),
        }

    def under(self, month: str, figures: Figures) -> str:
        """Say in one sentence what the month came to."""
        entries = len(self.edition.months[month])
        kept = figures.kept_out_of_landfill
        told = f"; {self.edition.writer.in_words(kept)} kept out of landfill" if kept.records else ""
        return f"{counted(entries, 'entry', 'entries')}{told}."

    def is_told(self, index: int) -> bool:
        """Whether an entry has anything that may be shown: its words, or a line that counts."""
        entry = self.edition.notes.entries[index]
        if self.edition.discretion.level(entry) == WORDS:
            return True
        return any(isinstance(block, Line) for block in entry.blocks)

    # -- entries ---------------------------------------------------------------------------------------

    def entry(self, index: int) -> View:
        """Give one entry: its date and title, its words and lines in the order written."""
        edition = self.edition
        entry = edition.notes.entries[index]
        level = edition.discretion.level(entry)
        title = edition.said(entry.title).strip() if level == WORDS else ""
        return {
            "id": edition.entry_anchor(index),
            "day": entry.date.day,
            "weekday": WEEKDAYS[entry.date.weekday()],
            "title": title or day_in_words(entry.date).rsplit(" ", 1)[0],
            "is_plain": not title,
            "blocks": list(self.blocks(entry, level)),
        }

    def blocks(self, entry: Entry, level: str) -> Iterator[View]:
        """Give the stretches of an entry: words to be rendered, and lists of lines."""
        shared = self.shared(entry) if level == WORDS else ""
        lines: list[View] = []
        for block in entry.blocks:
            if isinstance(block, Line):
                lines.append(self.line(block.record, entry, closed=level == AMOUNTS))
                continue
            if level != WORDS or not block.text.strip():
                continue
            if lines:
                yield {"lines": lines}
                lines = []
            yield self.words(block, shared)
        if lines:
            yield {"lines": lines}

    def shared(self, entry: Entry) -> str:
        """Give the link definitions that all stretches of an entry share."""
        return prose.definitions(self.edition.texts(entry.blocks))

    def words(self, block: Prose, shared: str) -> View:
        """Give a stretch of prose with the pictures it shows."""
        text = self.edition.said(block.text + shared)
        views: dict[str, Any] = {}
        if "![" in text:
            for source, _ in prose.sources(text):
                picture = self.edition.picture(candidates(block.place.file, source))
                if picture is not None and self.edition.household.sharing.pictures:
                    views[source] = picture.view()
        return {"words": text, "pictures": views}

    def line(self, record: int, entry: Entry, *, closed: bool) -> View:
        """Give one record line: as written, the masses beside it, and from where to where it went.

        Of a ``closed`` one only date, amount and stream are told.
        """
        edition = self.edition
        told = edition.notes.records[record]
        if closed:
            return self.closed_line(record, told)
        amounts, beside = told.amounts, ""
        if len(amounts) == 1:
            beside = edition.writer.beside(amounts[0])
        elif told.readings is not None:
            beside = edition.writer.readings(told.readings)
        path = self.path(record)
        if len(amounts) > 1:
            parts = listed([self.part(told, amount) for amount in amounts])
            path = f"{parts}{': ' + path if path else ''}"
        if told.date != entry.date:
            path = f"on {day_in_words(told.date)}{': ' + path if path else ''}"
        return {
            "id": edition.line_anchor(record),
            "text": self.told(edition.said(told.text)),
            "beside": beside,
            "path": path,
            "is_closed": False,
        }

    def told(self, text: str) -> str:
        """Give a line's words, each name of right-to-left letters set apart from what stands around it."""
        return text if text.isascii() else with_isolated(text, self.names)

    def part(self, told: Record, amount: Amount) -> str:
        """Give one of several amounts of a line: as written where the line itself does not say it."""
        edition = self.edition
        beside, name = edition.writer.beside(amount), isolated(edition.material(amount.material))
        return f"{beside} {name}" if amount.words in told.text else f"{amount.words} {name} ({beside})"

    def closed_line(self, record: int, told: Record) -> View:
        """Give a line whose words are the keeper's own: its amount and stream only."""
        edition = self.edition
        streams = by_stream({self.stream(amount.material) for amount in told.amounts})
        kg = sum((amount.kg for amount in told.amounts), 0.0)
        beside = edition.writer.plain_weight(kg) if told.amounts else ""
        words = f"a private line: {listed(streams)}" if streams else "a private line"
        return {
            "id": edition.line_anchor(record),
            "text": words,
            "beside": beside,
            "path": "",
            "is_closed": True,
        }

    def stream(self, material: str) -> str:
        """Give what a material is counted under: its stream, or what the bins make."""
        if material == CASTINGS:
            return "castings"
        known = self.edition.notes.catalogue.materials.get(material)
        return "bedding" if known is None else known.stream

    def path(self, record: int) -> str:
        """Say from where to where a line's amounts went: ``the yellow house → newspaper on hand``."""
        ways = self.accounts(month_key(self.edition.notes.records[record].date)).get(record)
        if ways is None:
            return ""
        found = self._ways.get(ways)
        if found is None:
            sources, targets = (
                listed([account_in_words(self.edition, account) for account in side]) for side in ways
            )
            found = self._ways[ways] = f"{sources} → {targets}"
        return found

    # -- figures ---------------------------------------------------------------------------------------

    def totals(self, month: str) -> View | None:
        """Give the month's figures by stream, each leading to the lines behind it."""
        edition = self.edition
        found = edition.tally.diversion.of_month(month)
        if not found.cells:
            return None
        streams = heap_up((cell.stream, figures) for cell, figures in found.cells.items())
        rows = [
            row(
                stream,
                *(
                    edition.cell(getattr(streams[stream], name), f"#{anchor(name, stream)}", both=True)
                    for name in WASTE
                ),
            )
            for stream in by_stream(stream for stream in streams if stream != PRODUCT)
        ]
        made = streams.get(PRODUCT, Figures())
        if any(getattr(made, name).records for name in WASTE):  # castings may be thrown out like waste
            cells = (edition.cell(getattr(made, name), f"#{anchor(name)}", both=True) for name in WASTE)
            rows.append(row("castings", *cells))
        foot = row("Together", *(edition.cell(getattr(found.whole, name), both=True) for name in WASTE))
        return table(
            f"By stream, in {edition.writer.unit}",
            head("Stream", *((SHOWN[name].capitalize(), NUMBER) for name in WASTE)),
            rows,
            foot if len(rows) > 1 else None,
            other=True,
        )

    def behind(self, month: str) -> Iterator[View]:
        """Give, for each figure, the lines behind it by stream and giver."""
        links: dict[int, View] = {}
        for name, words in SHOWN.items():
            rows = list(self._behind_rows(month, name, links))
            if rows:
                made = name not in WASTE
                unit = (self.edition.writer.unit, NUMBER)
                heads = (
                    head("What", unit, "Lines of the days")
                    if made
                    else head("Stream", "From", unit, "Lines of the days")
                )
                yield table(words.capitalize(), heads, rows)

    def _behind_rows(self, month: str, name: str, links: dict[int, View]) -> Iterator[View]:
        edition = self.edition
        grouped: dict[tuple[str, str], Figure] = {}
        for cell, figures in edition.tally.diversion.of_month(month).cells.items():
            figure = figures.of(name)
            if figure.records:
                grouped.setdefault((cell.stream, edition.giver_of(cell)), Figure()).join(figure)
        told: set[str] = set()
        streams = by_stream(stream for stream, _ in grouped)
        places = {stream: place for place, stream in enumerate(streams)}
        for stream, giver in sorted(grouped, key=lambda pair: (places[pair[0]], self.giver_places[pair[1]])):
            figure = grouped[stream, giver]
            lines = lines_behind(edition, figure.records, month, links)
            if stream == PRODUCT:
                # Castings are nobody's stream, yet may be thrown out like one.
                first_cells = ("castings", "") if name in WASTE else (SHOWN[name],)
                yield row(*first_cells, edition.cell(figure), lines, identity=anchor(name))
                continue
            identity = anchor(name, stream, edition.givers[giver])
            first = (
                link(stream)
                if stream in told
                else {"words": stream, "href": "", "small": "", "id": anchor(name, stream)}
            )
            told.add(stream)
            yield row(first, giver, edition.cell(figure), lines, identity=identity)


def _accounts_by_record(movements: Iterable[Movement]) -> dict[int, Ways]:
    """Give, for each record, the accounts its amounts came from and went to, each once."""
    found: dict[int, Ways] = {}
    for movement in movements:
        source, target = (movement.source,), (movement.target,)
        known = found.get(movement.record)
        if known is None:
            found[movement.record] = (source, target)
        elif known != (source, target):
            sources, targets = known
            found[movement.record] = (
                sources if source[0] in sources else sources + source,
                targets if target[0] in targets else targets + target,
            )
    return found


def account_in_words(edition: Edition, account: Account) -> str:
    """Give an account as it may be published in a sentence: ``the yellow house``, ``newspaper on hand``."""
    write = _ACCOUNTS.get(account.kind)
    return isolated(edition.said(account.name) if write is None else write(edition, account.name))


_ACCOUNTS: dict[str, Callable[[Edition, str], str]] = {
    "household": lambda *_: "our own kitchen and post",
    "giver": lambda edition, name: edition.discretion.giver(name),
    "given away": lambda edition, name: (
        edition.discretion.giver(name) if name in edition.household.givers else "given away"
    ),
    "shop": lambda *_: "the shop",
    "batch": lambda edition, name: edition.batch(name),
    "bin": lambda edition, name: edition.bin(name),
    "planting": lambda edition, name: edition.planting(name),
    "store": lambda edition, name: f"{isolated(edition.material(name))} on hand",
    "landfill": lambda *_: "landfill",
    "recycling": lambda *_: "recycling",
    "donated": lambda *_: "given on",
    "drain": lambda *_: "the drain",
    "crop": lambda *_: "our table",
}

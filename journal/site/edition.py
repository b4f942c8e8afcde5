"""One edition of the book: what every page needs to know, worked out once.

Where each entry and line stands, in which form each giver is named, which pages there are, how a figure is
written and linked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from journal import __version__
from journal.measures.periods import month_key
from journal.notes.place import Place
from journal.notes.records import Line, Prose, Record
from journal.reckoning.diversion import Cell, Figure
from journal.reckoning.keeping import Keeping
from journal.reckoning.ledger import SHREDDED
from journal.reckoning.references import References
from journal.reckoning.tally import OURSELVES, BinFigures, Tally
from journal.site.discretion import AMOUNTS, Discretion
from journal.site.pictures import Picture, Wanted, wanted, without_words
from journal.site.wording import MONTHS, View, Writer, day_in_words, slug

HOME = "index.html"


@dataclass(frozen=True, slots=True)
class Gallery:
    """The journal's pictures made ready, by their path below ``entries/``, and what was refused, by path."""

    ready: Mapping[str, Picture] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)


class Edition:
    """Everything the pages share.  ``references`` holds what published sources say."""

    def __init__(self, tally: Tally, references: References, gallery: Gallery | None = None) -> None:
        self.tally = tally
        self.references = references
        self.gallery = gallery or Gallery()
        self.keeping = Keeping(tally, references)
        self.notes = tally.notes
        self.household = tally.notes.household
        self.discretion = Discretion(self.household)
        self.writer = Writer(self.household)
        self.as_of = tally.as_of
        self.version = __version__
        self._bins: dict[str, dict[str, BinFigures]] = {}

    # -- entries and lines ----------------------------------------------------------------------------

    @cached_property
    def months(self) -> dict[str, list[int]]:
        """Every month that has entries or figures, in order, with its entries by date."""
        has_figures = self.tally.diversion.has_figures
        months: dict[str, list[int]] = {month: [] for month in self.tally.moved if has_figures(month)}
        for index, entry in enumerate(self.notes.entries):
            months.setdefault(month_key(entry.date), []).append(index)
        return {
            month: sorted(months[month], key=lambda index: (self.notes.entries[index].date, index))
            for month in sorted(months)
        }

    @cached_property
    def years(self) -> list[str]:
        """Every year that has a page, in order."""
        return list(dict.fromkeys(month[:4] for month in self.months))

    def months_of(self, year: str) -> list[str]:
        """Give the months of a year that have a page, in order."""
        return [month for month in self.months if month.startswith(year)]

    @cached_property
    def addresses(self) -> tuple[list[str], list[str]]:
        """The address of each entry and of each record line: its month's page, and its id there."""
        entries = [""] * len(self.notes.entries)
        lines = [""] * len(self.notes.records)
        for month, indices in self.months.items():
            day, nth_entry, nth_line = dt.date.min, 0, 0
            for index in indices:
                entry = self.notes.entries[index]
                if entry.date != day:
                    day, nth_entry, nth_line = entry.date, 0, 0
                nth_entry += 1
                nth = "" if nth_entry == 1 else f"-{nth_entry}"
                entries[index] = f"{month}.html#e{day.day}{nth}"
                of_day = f"{month}.html#l{day.day}-"
                for block in entry.blocks:
                    if isinstance(block, Line):
                        nth_line += 1
                        lines[block.record] = f"{of_day}{nth_line}"
        return entries, lines

    def entry_anchor(self, index: int) -> str:
        """Give the id of an entry on its month's page."""
        return self.entry_address(index).partition("#")[2]

    def line_anchor(self, record: int) -> str:
        """Give the id of a record line on its entry's month page."""
        return self.line_address(record).partition("#")[2]

    def line_address(self, record: int, here: str = "") -> str:
        """Give the address of a record line, from the month page ``here`` as short as may be."""
        address = self.addresses[1][record]
        return address.removeprefix(f"{here}.html") if here else address

    def line_link(self, record: int, here: str = "") -> View:
        """Give the link to a record line, named by its day and number; ``rest`` is for who only hears it."""
        date, address = self.notes.records[record].date, self.addresses[1][record]
        month, nth = MONTHS[date.month - 1], address[address.rfind("-") + 1 :]
        words = str(date.day) if here else f"{date.day} {month[:3]}"
        rest = f" {month}" if here else f"{month[3:]} {date.year}"
        href = address.removeprefix(f"{here}.html") if here else address
        return {"href": href, "words": words, "rest": f"{rest}, line {nth}"}

    def entry_address(self, index: int) -> str:
        """Give the address of an entry."""
        return self.addresses[0][index]

    def is_closed(self, record: int) -> bool:
        """Whether of a line only date, amount and stream may be told."""
        return self.discretion.level(self.notes.entries[self.notes.records[record].entry]) == AMOUNTS

    # -- names ----------------------------------------------------------------------------------------

    @cached_property
    def givers(self) -> dict[str, str]:
        """The published names of all givers with figures, ourselves last, each with its anchor."""
        shown = [self.household.publishes_giver(name) for name in self.household.givers]
        ordered = [name for name in dict.fromkeys(shown) if name in self.tally.giving]
        keys = {name: f"giver-{number}" for number, name in enumerate(ordered, start=1)}
        return {**keys, OURSELVES: "giver-own"}

    def giver_of(self, cell: Cell) -> str:
        """Give the published name of whose waste a cell is of."""
        return self.tally.giver_of(cell) or OURSELVES

    def bins_of(self, year: str) -> dict[str, BinFigures]:
        """Give what went into each bin and came out of it in a year."""
        if year not in self._bins:
            self._bins[year] = self.tally.bins_of({year})
        return self._bins[year]

    @cached_property
    def bin_pages(self) -> dict[str, str]:
        """The file of each bin's page, by the bin's name."""
        return _files("bin", [(name, self.bin(name)) for name in self.tally.bin_names])

    def bin(self, name: str) -> str:
        """Give a bin's name, or only its number where none but kept-back entries speak of it."""
        return f"Bin {self._bin_numbers[name]}" if name in self.kept_back else self.said(name)

    def planting(self, name: str) -> str:
        """Give a planting's name, or only its number where none but kept-back entries speak of it."""
        if name in self.kept_back:
            return self.planting_anchors[name].replace("-", " ").capitalize()
        return self.said(name)

    @cached_property
    def _bin_numbers(self) -> dict[str, int]:
        return {name: number for number, name in enumerate(self.tally.bin_names, start=1)}

    @cached_property
    def kept_back(self) -> frozenset[str]:
        """The bins and plantings of which none but kept-back entries speak.

        A household that shares no entries keeps all of them back.
        """
        if not self.discretion.shares_entries:
            return frozenset([*self.tally.bin_names, *self.tally.planting_names])
        kept = set(_places(record for record in self.notes.records if self._is_closed[record.entry]))
        return frozenset(kept.difference(_places(self._open_records)) if kept else kept)

    def batch(self, name: str) -> str:
        """Give a batch's name, or only its number where none but kept-back lines speak of it."""
        number = self.batch_anchors.get(name)
        if number is None or self.is_open(name):
            return self.said(name)
        return number.replace("-", " ")

    def material(self, name: str) -> str:
        """Give a material's or batch's name; only its stream where none but kept-back lines speak of it."""
        if name in self.batch_anchors:
            return self.batch(name)
        if name in self.open_words:
            return self.said(name)
        known = self.notes.catalogue.materials.get(name)
        return "something kept back" if known is None else f"{known.stream}, kept back"

    def cause(self, name: str) -> str:
        """Give the name of a cause of doubt, unless only kept-back lines speak of it."""
        return self.said(name) if name in self._open_causes else "a line or measure kept back"

    def is_open(self, name: str) -> bool:
        """Whether a line whose words are shown speaks of a material or batch."""
        return name in self.open_words

    @cached_property
    def open_words(self) -> frozenset[str]:
        """The materials and batches that lines speak of whose words are shown."""
        told = {amount.material for record in self._open_records for amount in record.amounts}
        told |= {record.batch for record in self._open_records if record.batch is not None}
        told |= {record.out_of for record in self._open_records if record.out_of is not None}
        if any(record.verb == "shredded" for record in self._open_records):
            told.add(SHREDDED)  # which the line makes without naming it
        return frozenset(told)

    @cached_property
    def _open_causes(self) -> frozenset[str]:
        told = {name for record in self._open_records for amount in record.amounts for name in amount.shared}
        return frozenset({"weighing and estimates", *told})

    @cached_property
    def _open_records(self) -> list[Record]:
        """The lines of which more may be told than date, amount and stream."""
        closed = self._is_closed
        return [record for record in self.notes.records if not closed[record.entry]]

    @cached_property
    def _is_closed(self) -> list[bool]:
        """For each entry, whether only its dates, amounts and streams may be told."""
        return [self.discretion.level(entry) == AMOUNTS for entry in self.notes.entries]

    @cached_property
    def batch_anchors(self) -> dict[str, str]:
        """The id of each batch on the bedding page."""
        return {name: f"batch-{number}" for number, name in enumerate(self.tally.ledger.batches, start=1)}

    @cached_property
    def planting_anchors(self) -> dict[str, str]:
        """The id of each planting on the garden page."""
        return {name: f"planting-{number}" for number, name in enumerate(self.tally.planting_names, start=1)}

    def said(self, text: str) -> str:
        """Give words of the keeper as they may be published."""
        return self.discretion.words(text)

    # -- figures --------------------------------------------------------------------------------------

    def figure(self, figure: Figure, href: str = "", *, both: bool = True) -> View:
        """Give a figure for the page, marked where more than half of it was estimated."""
        whole = sum(abs(kg) for kg in figure.how.values())
        guess = whole > 0 and abs(figure.how.get("estimated", 0.0)) > whole / 2
        return self.writer.weight(figure, href, guess=guess, both=both)

    def cell(self, figure: Figure, href: str = "", *, both: bool = False) -> View | None:
        """Give a figure for a table, or nothing where no line speaks of it.

        ``both`` is for the few tables that show the other system of units too.
        """
        return self.figure(figure, href, both=both) if figure.records else None

    # -- the frame of a page ----------------------------------------------------------------------------

    @cached_property
    def site(self) -> View:
        """What every page says of the whole site."""
        address = self.household.web_address.strip()
        problems = len(self.notes.problems)
        return {
            "name": self.said(self.household.name) or "A worm keeper’s book",
            "address": address if not address or address.endswith("/") else f"{address}/",
            "version": self.version,
            "feed": "feed.xml",
            "contents": self.contents,
            "left_out": (
                f"{problems} {'line' if problems == 1 else 'lines'} of the diary could not be read and "
                f"{'is' if problems == 1 else 'are'} not counted."
            )
            if problems
            else "",
        }

    @cached_property
    def contents(self) -> list[View]:
        """The pages that every page leads to."""
        listed = [("The book", HOME)]
        if self.years:
            listed.append((str(int(self.years[-1])), f"year-{self.years[-1]}.html"))
        listed += [
            ("Givers", "givers.html"),
            ("Bins", "bins.html"),
            ("Bedding", "bedding.html"),
            ("Garden", "garden.html"),
            ("Reckoning", "reckoning.html"),
        ]
        return [{"title": title, "href": href} for title, href in listed]

    def frame(self, address: str, title: str, description: str, section: str = "", **more: object) -> View:
        """Give what the frame of one page needs: where it is, what it is called, and its neighbours.

        A page that later entries leave as it is bears no date (``as_of`` empty).
        """
        page = {
            "as_of": day_in_words(self.as_of) if self.notes.entries else "",
            "address": "" if address == HOME else address,
            "title": title,
            "description": description,
            "section": section or address,
            "card": None,
            "turn": [],
            **more,
        }
        return {"site": self.site, "page": page}

    def turn(self, pages: Sequence[tuple[str, str]], here: int) -> list[View]:
        """Give the links to the page before and the page after, of (address, words) in order."""
        beside = []
        if here > 0:
            beside.append({"href": pages[here - 1][0], "words": f"← {pages[here - 1][1]}", "rel": "prev"})
        if here + 1 < len(pages):
            beside.append({"href": pages[here + 1][0], "words": f"{pages[here + 1][1]} →", "rel": "next"})
        return beside

    # -- pictures ---------------------------------------------------------------------------------------

    @cached_property
    def _wanted(self) -> list[Wanted]:
        return wanted(self.notes)

    def picture(self, candidates: Sequence[str]) -> Picture | None:
        """Give the first of some paths' pictures that is ready."""
        return next((self.gallery.ready[path] for path in candidates if path in self.gallery.ready), None)

    def picture_files(self) -> list[tuple[str, bytes]]:
        """Give the files of all pictures that some page shows, each once, by name."""
        files: dict[str, bytes] = {}
        for one in self._wanted:
            picture = self.picture(one.candidates)
            if picture is not None:
                files.update((name, data) for _, name, data in picture.files)
        return sorted(files.items())

    @property
    def remarks(self) -> list[tuple[Place, str]]:
        """What the keeper should know about the pictures: where, and one sentence."""
        found = without_words(self._wanted)
        for one in self._wanted:
            if self.picture(one.candidates) is None:
                reasons = (
                    self.gallery.refused[path] for path in one.candidates if path in self.gallery.refused
                )
                why = next(reasons, "there is no such file below entries/")
                found.append((one.place, f"the picture {one.source} is not shown: {why}"))
        return sorted(found)

    @staticmethod
    def texts(blocks: Sequence[Prose | Line]) -> list[str]:
        """Give the stretches of prose of an entry."""
        return [block.text for block in blocks if isinstance(block, Prose)]


def _places(records: Iterable[Record]) -> Iterator[str]:
    """Give the bins and plantings that records name."""
    for record in records:
        yield from filter(None, (record.bin, record.source_bin, record.planting))
        if record.out_of_kind == "bin" and record.out_of is not None:
            yield record.out_of


def _files(kind: str, names: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Give each name, told with its published form, a file of its own, ``bin-cellar-bin.html``."""
    files: dict[str, str] = {}
    taken: set[str] = set()
    for number, (name, shown) in enumerate(names, start=1):
        stem = slug(shown)[:60] or str(number)
        while stem in taken:
            stem = f"{stem}-{number}"
        taken.add(stem)
        files[name] = f"{kind}-{stem}.html"
    return files

"""The whole journal: texts, household and catalogue become notes.

Names of batches are gathered from all files first, so that a batch may be used in a file that is read
before the one that mixed it.  After that each file is read by itself: ``read_file`` depends on nothing but
its text and the names known.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import NamedTuple, Protocol

from journal.notes import tree
from journal.notes.amounts import Unread
from journal.notes.entries import Item, Passage, Scanned, scan
from journal.notes.household import Household
from journal.notes.household_reading import read_household
from journal.notes.items import Part, ReadFile, read_draft
from journal.notes.known import Known
from journal.notes.lines import read_batch_name
from journal.notes.materials import Catalogue
from journal.notes.names import fold
from journal.notes.packing import packed_by_fields
from journal.notes.place import Place, Problem
from journal.notes.recipes import Mixing, recipe_density
from journal.notes.records import Entry, Notes, Record
from journal.notes.tasks import Divided, in_groups, one_by_one

MIXED = "mixed"
FILES_AT_A_TIME = 4


@packed_by_fields
class Kept(NamedTuple):
    """What is kept of a file: the batches it mixes, a digest of the names it may use, and it as read."""

    mixings: list[Mixing]
    names: str
    read: ReadFile


class Parcel(Protocol):
    """What is kept of a file, ready to be sent and kept."""

    @property
    def value(self) -> Kept:
        """What is in it."""


class Shelf(Protocol):
    """Where what became of a file is kept, by the file's name and text."""

    def get(self, file: str, text: str) -> object | None:
        """Give what was put there, or None."""

    def parcel(self, value: Kept) -> Parcel:
        """Make a value ready."""

    def put(self, file: str, text: str, parcel: Parcel) -> None:
        """Keep a value, which may be packed later: what is told by it then is to be the same."""


class Bare(NamedTuple):
    """A value as it is."""

    value: Kept


class NoShelf:
    """Keeps nothing."""

    def get(self, _file: str, _text: str) -> object | None:
        """Give None."""
        return None

    def parcel(self, value: Kept) -> Parcel:
        """Leave the value as it is."""
        return Bare(value)

    def put(self, _file: str, _text: str, _parcel: Parcel) -> None:
        """Do nothing."""


NO_SHELF = NoShelf()


def read_notes(
    texts: Mapping[str, str],
    household: tree.Mapping | None,
    catalogue: Catalogue,
    shelf: Shelf = NO_SHELF,
    divided: Divided = one_by_one,
) -> Notes:
    """Read a journal: texts by relative path, household.yaml as a tree or None, and the catalogue.

    What a ``shelf`` keeps of a file is taken as long as the file and all names that it could use are the
    same.  Never raises: what cannot be read is among the notes' problems.
    """
    read, everything, problems = read_household(household, catalogue)
    desk = _Desk(texts, shelf, divided)
    mixings = gather_batches(desk.mixings(), read, everything)
    batches = {mixing.name: mixing.kind for mixing in mixings.values()}
    known = cache(lambda: know(read, everything, mixings))
    files = desk.read(known, names_digests(read, mixings))
    return assemble(read, everything, batches, files, problems)


def know(household: Household, catalogue: Catalogue, mixings: Mapping[str, Mixing]) -> Known:
    """Gather all names that lines may use."""
    known = Known(household, catalogue, {mixing.name: mixing.kind for mixing in mixings.values()})
    known.mixings = mixings
    known.batch_density = recipe_density(known)
    return known


Names = Callable[[Sequence[Mixing]], str]
"""Gives for the batches that a file mixes a digest of all names that its lines may use."""


def names_digests(household: Household, mixings: Mapping[str, Mixing]) -> Names:
    """Give what tells what a file's reading rests on besides its text and the shipped catalogue.

    Where a batch was mixed first matters only to files that mix one of its name: a line that is added above
    leaves all others as they are.
    """
    recipes = [(key, mixing.name, mixing.kind, mixing.recipe) for key, mixing in sorted(mixings.items())]
    known = hashlib.blake2b(repr((household, recipes)).encode()).hexdigest()

    def digest(own: Sequence[Mixing]) -> str:
        first = [str(mixings[key].place) for mixing in own if (key := fold(mixing.name)) in mixings]
        return hashlib.blake2b(repr((known, first)).encode()).hexdigest() if first else known

    return digest


class _Desk:
    """The files under way: scanned only where the shelf does not know them."""

    def __init__(self, texts: Mapping[str, str], shelf: Shelf, divided: Divided) -> None:
        self.texts = {file: texts[file] for file in sorted(texts)}
        self.shelf = shelf
        self.divided = divided
        found = {file: shelf.get(file, text) for file, text in self.texts.items()}
        self.kept = {file: value if isinstance(value, Kept) else None for file, value in found.items()}
        self._scanned: dict[str, Scanned] = {}

    def scanned(self, file: str) -> Scanned:
        """Give a file taken apart into entries and items."""
        found = self._scanned.get(file)
        if found is None:
            found = self._scanned[file] = scan(file, self.texts[file])
        return found

    def mixings(self) -> Iterator[list[Mixing]]:
        """Give the batches that each file mixes, file by file."""
        for file, kept in self.kept.items():
            yield self.mixings_of(file) if kept is None else kept.mixings

    def mixings_of(self, file: str) -> list[Mixing]:
        """Give the batches that a file mixes; most mix none, and need not be taken apart to see it."""
        return mixings_in(self.scanned(file)) if MIXED in self.texts[file].lower() else []

    def read(self, known: Callable[[], Known], names: Names) -> Iterator[ReadFile]:
        """Give each file as it is read."""
        new = [file for file, kept in self.kept.items() if kept is None or kept.names != names(kept.mixings)]
        if new:
            known()  # before the work is divided, so that it is gathered once
        tasks = [partial(self._read, known, names, files) for files in in_groups(new, FILES_AT_A_TIME)]
        for read in self.divided(tasks):
            for file, parcel in read:
                self.shelf.put(file, self.texts[file], parcel)
                self.kept[file] = parcel.value
        for kept_file in self.kept.values():
            if kept_file is not None:
                yield kept_file.read

    def _read(
        self, known: Callable[[], Known], names: Names, files: Sequence[str]
    ) -> list[tuple[str, Parcel]]:
        def read(file: str) -> Kept:
            mixed = self.mixings_of(file)
            return Kept(mixed, names(mixed), read_file(known(), self.scanned(file)).finished())

        return [(file, self.shelf.parcel(read(file))) for file in files]


def gather_batches(
    files: Iterable[Iterable[Mixing]], household: Household, catalogue: Catalogue
) -> dict[str, Mixing]:
    """Give all batches that any file mixes, by their folded name; the first of a name has it."""
    taken = {fold(name) for name in (*household.bins, *catalogue.materials)}
    mixings: dict[str, Mixing] = {}
    for file in files:
        for mixing in file:
            key = fold(mixing.name)
            if key not in taken:
                mixings.setdefault(key, mixing)
    return mixings


def mixings_in(scanned: Scanned) -> list[Mixing]:
    """Give the batches that one file mixes, in their order."""
    found: list[Mixing] = []
    for draft in scanned.drafts:
        for item in _mixing_items(draft.blocks):
            try:
                kind, name, _ = read_batch_name(item.text, len(MIXED))
            except Unread:
                continue
            found.append(Mixing(name, kind, Place(scanned.file, item.line, item.column), item))
    return found


def _mixing_items(blocks: Iterable[Item | Passage]) -> Iterator[Item]:
    for block in blocks:
        if block.__class__ is Item:
            if block.text[:5].lower() == MIXED:
                yield block
            if block.children:
                yield from _mixing_items(block.children)


def read_file(known: Known, scanned: Scanned) -> Part:
    """Read one file; entries and records are counted from the file's own first."""
    part = Part(scanned)
    for found in scanned.problems:
        (part.remarks if found.is_remark else part.problems).append(found)
    for draft in scanned.drafts:
        read_draft(known, part, draft)
    return part


def assemble(
    household: Household,
    catalogue: Catalogue,
    batches: Mapping[str, str],
    files: Iterable[ReadFile],
    problems: Iterable[Problem],
) -> Notes:
    """Put the files together in their order."""
    entries: list[Entry] = []
    records: list[Record] = []
    found: list[Problem] = list(problems)
    remarks: list[Problem] = []
    for file in files:
        counted = file.counted_from(len(entries))
        entries.extend(file.entries(len(records)))
        records.extend(counted)
        found.extend(file.problems)
        remarks.extend(file.remarks)
    return Notes(household, catalogue, entries, records, found, remarks, dict(batches))

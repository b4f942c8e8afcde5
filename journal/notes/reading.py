"""The whole journal: texts, household and catalogue become notes.

Names of batches are gathered from all files first, so that a batch may be used in a file that is read
before the one that mixed it.  After that each file is read by itself: ``read_file`` depends on nothing but
its text and the names known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from journal.notes import tree
from journal.notes.amounts import Unread
from journal.notes.entries import Item, Passage, Scanned, scan
from journal.notes.household import Household
from journal.notes.household_reading import read_household
from journal.notes.items import Part, read_draft
from journal.notes.known import Known
from journal.notes.lines import read_batch_name
from journal.notes.materials import Catalogue
from journal.notes.names import fold
from journal.notes.place import Place, Problem
from journal.notes.recipes import Mixing, recipe_density
from journal.notes.records import Entry, Notes, Record


def read_notes(texts: Mapping[str, str], household: tree.Mapping | None, catalogue: Catalogue) -> Notes:
    """Read a journal: texts by relative path, household.yaml as a tree or None, and the catalogue.

    Never raises: what cannot be read is among the notes' problems.
    """
    read, everything, problems = read_household(household, catalogue)
    scanned = [scan(file, texts[file]) for file in sorted(texts)]
    mixings = gather_batches(scanned, read, everything)
    known = Known(read, everything, {mixing.name: mixing.kind for mixing in mixings.values()})
    known.mixings = mixings
    known.batch_density = recipe_density(known)
    parts = [read_file(known, one) for one in scanned]
    return assemble(known, parts, problems)


def gather_batches(
    scanned: Iterable[Scanned], household: Household, catalogue: Catalogue
) -> dict[str, Mixing]:
    """Give all batches that any line mixes, by their folded name; the first of a name has it."""
    bins = {fold(name) for name in household.bins}
    mixings: dict[str, Mixing] = {}
    for one in scanned:
        for draft in one.drafts:
            for item in _mixing_items(draft.blocks):
                try:
                    kind, name, _ = read_batch_name(item.text, len("mixed"))
                except Unread:
                    continue
                key = fold(name)
                if key not in bins and key not in catalogue.by_fold:
                    mixings.setdefault(key, Mixing(name, kind, Place(one.file, item.line, item.column), item))
    return mixings


def _mixing_items(blocks: Iterable[Item | Passage]) -> Iterator[Item]:
    for block in blocks:
        if block.__class__ is Item:
            if block.text[:5].lower() == "mixed":
                yield block
            if block.children:
                yield from _mixing_items(block.children)


def read_file(known: Known, scanned: Scanned) -> Part:
    """Read one file; entries and records are counted from the file's own first."""
    part = Part(scanned)
    part.problems.extend(scanned.problems)
    for draft in scanned.drafts:
        read_draft(known, part, draft)
    return part


def assemble(known: Known, parts: Iterable[Part], problems: Iterable[Problem]) -> Notes:
    """Put the files' parts together in their order."""
    entries: list[Entry] = []
    records: list[Record] = []
    found: list[Problem] = list(problems)
    remarks: list[Problem] = []
    for part in parts:
        first_entry, first_record = len(entries), len(records)
        for record in part.records:
            record.entry += first_entry
        entries.extend(part.entries(first_record))
        records.extend(part.records)
        found.extend(sorted(part.problems, key=_by_place))
        remarks.extend(sorted(part.remarks, key=_by_place))
    return Notes(known.household, known.catalogue, entries, records, found, remarks, dict(known.batches))


def _by_place(finding: Problem) -> Place:
    return finding.place

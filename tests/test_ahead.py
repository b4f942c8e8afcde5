"""Words that are set ahead of the lines: what pages ask for, and nothing that they may not show."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.commands.files import gather, read_journal
from journal.commands.shipped import references
from journal.commands.site import words_ahead
from journal.notes.records import Notes
from journal.reckoning.tally import Tally
from journal.site import pictures, prose
from journal.site.edition import Edition
from journal.site.views.months import MonthPages

CHECKOUT = Path(__file__).resolve().parent.parent
HOUSEHOLD = (
    "household: {name: The house on the corner}\nbins: {Tub: {}}\ngivers: {Olga Reed: {shown as: a friend}}\n"
)


def ahead(folder: Path) -> dict[str, str]:
    """The HTML of all words that are set ahead for a journal."""
    return {words: html for task in words_ahead(gather(folder)[0]) for words, html in task().words.items()}


def asked_for(notes: Notes) -> set[str]:
    """The words without pictures that the months' pages of a journal ask for."""
    edition = Edition(Tally(notes), references())
    entries = [entry for month in edition.months for entry in MonthPages(edition).view(month)["entries"]]
    blocks = [block for entry in entries for block in entry["blocks"]]
    return {block["words"] for block in blocks if "words" in block and "![" not in block["words"]}


def test_what_pages_ask_for_is_set_ahead() -> None:
    """All stretches of the demo but those with a list item that is no record; as they are set with a page."""
    found = ahead(CHECKOUT)
    missing = asked_for(read_journal(CHECKOUT)) - set(found)
    assert [words for words in missing if "\n- " not in f"\n{words}"] == []
    assert len(missing) < len(found) / 10
    for words, html in found.items():
        assert html == prose.render(words, pictures.shown({}))


@pytest.mark.parametrize("sharing", ["entries: summary", "entries: no"])
def test_words_that_are_not_shared_are_not_set(tmp_path: Path, sharing: str) -> None:
    """Where the household shares no words, nothing is set ahead."""
    lay(tmp_path, f"{HOUSEHOLD}sharing: {{{sharing}}}\n", "## 2026-03-01\n\nOlga Reed came by.\n")
    assert ahead(tmp_path) == {}


def test_private_entries_are_not_set_and_names_are_as_published(tmp_path: Path) -> None:
    """What is set ahead has gone past the same discretion as everything else."""
    text = "## 2026-03-01 (private)\n\nA secret.\n\n## 2026-03-02\n\nOlga Reed came by.\n"
    lay(tmp_path, HOUSEHOLD, text)
    assert list(ahead(tmp_path)) == ["A friend came by."]


def test_a_household_that_cannot_be_read_stops_nothing_here(tmp_path: Path) -> None:
    """Its problem is told when the journal is read."""
    lay(tmp_path, "household: [", "## 2026-03-01\n\nWords.\n")
    assert words_ahead(gather(tmp_path)[0]) is not None


def lay(folder: Path, household: str, text: str) -> None:
    """Lay a small journal out."""
    (folder / "entries").mkdir()
    (folder / "entries/household.yaml").write_text(household, encoding="utf-8")
    (folder / "entries/2026-03.md").write_text(text, encoding="utf-8")

"""Sites for tests: published in this process from a journal written as text, and read as visitors do."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from bs4 import BeautifulSoup

from journal.site.memory import Memory
from tests.journals import HOUSEHOLD, lay_out

Site = Mapping[str, bytes]


def published(folder: Path, entries: str, household: str = HOUSEHOLD) -> dict[str, bytes]:
    """Every file of the site of a journal of one file, by name."""
    return published_from(lay_out(folder, entries, household))


def published_from(
    folder: Path, remarks: list[str] | None = None, memory: Memory | None = None, problems: int = 0
) -> dict[str, bytes]:
    """Every file of the site of the journal that lies in a folder, by name; remarks are added to the list."""
    from journal.commands.files import read_journal
    from journal.commands.shipped import template_folders
    from journal.commands.site import site_files
    from journal.reckoning.tally import Tally
    from journal.site.issue import Issue
    from journal.site.templates import Templates

    notes = read_journal(folder)
    assert len(notes.problems) == problems, [problem.sentence for problem in notes.problems]
    issue = Issue(Templates(template_folders(folder)), memory)
    files = dict(site_files(folder, Tally(notes), issue, [] if remarks is None else remarks))
    return {name: data for name, data in files.items() if data is not None}


def soup(site: Site, name: str) -> BeautifulSoup:
    """One page as a tree."""
    return BeautifulSoup(site[name].decode(), "html.parser")


def words(site: Site, name: str) -> str:
    """What is read on a page, spaces joined."""
    page = soup(site, name)
    for unread in page(["style", "script"]):
        unread.decompose()
    return " ".join(page.get_text(" ").split())


def pages(site: Site) -> list[str]:
    """The names of all pages."""
    return [name for name in site if name.endswith(".html")]

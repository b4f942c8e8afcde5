"""A publication is left standing only while nothing of it, and nothing that it was made of, has changed."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from journal.commands.publish import publish
from journal.commands.writing import locked
from tests.journals import lay_out

ENTRY = "## 2026-03-01\n- fed 1.25 lb banana peels to Lower Bin\n"


@pytest.fixture
def journal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a journal that was published once, with a memory of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "memory"))
    folder = lay_out(tmp_path / "journal", ENTRY)
    (folder / "site_templates").mkdir()
    assert publish(folder, folder / "build").published is not None
    return folder


def written(folder: Path) -> list[str]:
    """Publish again and name the files that were written."""
    published = publish(folder, folder / "build").published
    assert published is not None
    return published.written


def test_with_nothing_changed_nothing_is_read_or_written(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second publication of the same journal does not even read it."""

    def fail(*_: object) -> None:
        raise AssertionError("the journal was read again")

    monkeypatch.setattr("journal.commands.files.read_journal", fail)
    assert written(journal) == []


def same_length_and_times(path: Path) -> None:
    """Write other words of the same length and set the times back, as some editors and copies do."""
    before = path.stat()
    path.write_text(path.read_text(encoding="utf-8").replace("1.25", "9.75"), encoding="utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


CHANGES: dict[str, Callable[[Path], object]] = {
    "an entry": lambda folder: (folder / "entries" / "all.md").write_text(ENTRY.replace("1.25", "2.5")),
    "an entry, length and times kept": lambda folder: same_length_and_times(folder / "entries" / "all.md"),
    "a new entry": lambda folder: (folder / "entries" / "2026-04-01.md").write_text("Rain.\n"),
    "the household": lambda folder: (folder / "entries" / "household.yaml").write_text(
        "household: {name: Another name}\nbins: {Lower Bin: {}}\n"
    ),
    "a page of the site": lambda folder: (folder / "build" / "index.html").write_text("gone"),
    "a page removed": lambda folder: (folder / "build" / "index.html").unlink(),
    "a template of the keeper's own": lambda folder: (folder / "site_templates" / "style.css").write_text(
        "body { color: black }"
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_any_change_is_published(journal: Path, change: str) -> None:
    """Whatever has changed, the site is made again and its files are written."""
    CHANGES[change](journal)
    assert written(journal)
    assert written(journal) == []


@pytest.mark.parametrize("shared", ["shared", "site_templates/.shared"])
def test_a_change_behind_a_linked_folder_of_templates_is_published(journal: Path, shared: str) -> None:
    """What a template takes from a folder that is a link is looked after like the rest, at any later time."""
    (journal / shared).mkdir()
    (journal / shared / "end.html").write_text("FIRST END", encoding="utf-8")
    own = journal / "site_templates"
    (own / "parts").symlink_to(journal / shared, target_is_directory=True)
    (own / "circle").symlink_to(own, target_is_directory=True)
    (own / "bins.html").write_text(
        '{% extends "shipped/bins.html" %}{% block colophon %}{% include "parts/end.html" %}{% endblock %}',
        encoding="utf-8",
    )
    assert "bins.html" in written(journal)
    assert written(journal) == []
    (journal / shared / "end.html").write_text("LATER END", encoding="utf-8")
    assert "bins.html" in written(journal)
    assert "LATER END" in (journal / "build" / "bins.html").read_text(encoding="utf-8")


def test_a_change_of_a_picture_behind_a_link_is_published(journal: Path) -> None:
    """A picture that is a link within entries/, or lies in a linked folder there, is looked after."""
    pictures = journal / "entries" / "pictures"
    (pictures / ".kept").mkdir(parents=True)
    (journal / "entries" / "linked").symlink_to(pictures, target_is_directory=True)
    for name, place in (("lid.png", pictures), ("tap.png", pictures / ".kept")):
        Image.new("RGB", (30, 20), "red").save(place / name)
    (pictures / "tap.png").symlink_to(pictures / ".kept" / "tap.png")
    shown = "![a lid](linked/lid.png)\n\n![a tap](pictures/tap.png)\n"
    (journal / "entries" / "all.md").write_text(f"{ENTRY}\n{shown}", encoding="utf-8")
    assert len([name for name in written(journal) if name.startswith("pictures/")]) == 1
    for number, place in enumerate((pictures / "lid.png", pictures / ".kept" / "tap.png")):
        Image.new("RGB", (30, 20), ("blue", "green")[number]).save(place)
        assert len([name for name in written(journal) if name.startswith("pictures/")]) == 1


def test_a_removed_entry_is_gone_from_the_site(journal: Path) -> None:
    """A file that is no longer there is a change like any other."""
    (journal / "entries" / "2026-04-01.md").write_text("Rain on the lid.\n", encoding="utf-8")
    written(journal)
    assert (journal / "build" / "2026-04.html").exists()
    (journal / "entries" / "2026-04-01.md").unlink()
    written(journal)
    assert not (journal / "build" / "2026-04.html").exists()


def test_problems_are_told_again_each_time(journal: Path) -> None:
    """A journal with problems never counts as published, so its problems are told at every run."""
    (journal / "entries" / "all.md").write_text("## 2026-03-01\n- fed some peels\n", encoding="utf-8")
    for _ in range(2):
        outcome = publish(journal, journal / "build", leave_out_unreadable=True)
        assert outcome.published is not None
        assert len(outcome.problems) == 1


def test_a_damaged_memory_changes_nothing(journal: Path, tmp_path: Path) -> None:
    """Bytes flipped anywhere in what is remembered cost time and nothing else."""
    before = {path.name: path.read_bytes() for path in (journal / "build").glob("*.html")}
    (file,) = (tmp_path / "memory" / "middenbook").glob("*.sqlite")
    data = bytearray(file.read_bytes())
    for at in range(0, len(data), 997):
        data[at] ^= 0x55
    file.write_bytes(data)
    assert written(journal) == []
    assert {path.name: path.read_bytes() for path in (journal / "build").glob("*.html")} == before


def test_no_publication_vouches_for_the_files_of_another(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another publication laid in the moment after this one's is not taken for this one's afterwards."""
    entry, page = journal / "entries" / "all.md", journal / "build" / "2026-03.html"
    fed = {pounds: ENTRY.replace("1.25", pounds) for pounds in ("3.75", "8.25")}
    between: list[str] = []

    @contextlib.contextmanager
    def with_another_at_the_door(folder: Path) -> Iterator[None]:
        with locked(folder):
            yield
        if "3.75 lb" in page.read_text(encoding="utf-8") and not between:
            between.append("the other")
            entry.write_text(fed["8.25"], encoding="utf-8")
            assert "2026-03.html" in written(journal)
            entry.write_text(fed["3.75"], encoding="utf-8")

    monkeypatch.setattr("journal.commands.publication.locked", with_another_at_the_door)
    entry.write_text(fed["3.75"], encoding="utf-8")
    written(journal)
    assert between
    assert "2026-03.html" in written(journal)
    assert "3.75 lb" in page.read_text(encoding="utf-8")

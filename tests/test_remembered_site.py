"""What is remembered changes nothing: after an edit the site is what a cold publication gives."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from journal.commands import files, tally
from journal.commands.publication import MADE
from journal.commands.publish import publish

CHECKOUT = Path(__file__).resolve().parent.parent


def site(folder: Path) -> dict[str, bytes]:
    """Every file of a published site by name."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MADE
    }


def change_line(folder: Path, old: str, new: str) -> None:
    """Put other words in the place of the first line that holds some."""
    for file in sorted((folder / "entries").rglob("*.md")):
        text = file.read_text(encoding="utf-8")
        if old in text:
            file.write_text(text.replace(old, new, 1), encoding="utf-8")
            return
    raise AssertionError(f"{old!r} is not in the demo")


def add_entry(folder: Path, text: str) -> None:
    """Add an entry as a file of its own."""
    (folder / "entries" / "added.md").write_text(text, encoding="utf-8")


def make_private(folder: Path) -> None:
    """Make some entry of the demo private."""
    chance = random.Random(3)
    file = chance.choice(sorted((folder / "entries" / "2026").glob("*.md")))
    lines = file.read_text(encoding="utf-8").split("\n")
    at = next(n for n, line in enumerate(lines) if line.startswith("##") and "(private)" not in line)
    lines[at] += " (private)"
    file.write_text("\n".join(lines), encoding="utf-8")


def rename_giver(folder: Path) -> None:
    """Have a giver shown under another name."""
    file = folder / "entries" / "household.yaml"
    text = file.read_text(encoding="utf-8")
    assert "the yellow house" in text
    file.write_text(text.replace("the yellow house", "the ochre house"), encoding="utf-8")


EDITS: dict[str, Callable[[Path], None]] = {
    "a weight in an old entry": lambda folder: change_line(folder, "- fed ", "- fed 0.37 lb peels and "),
    "paper that later batches draw on": lambda folder: add_entry(
        folder, "## 2024-10-02\n- took in 9 lb newspaper\n"
    ),
    "words only": lambda folder: change_line(folder, "\n\n", "\n\nNot a word of this was here before.\n\n"),
    "an entry of a new day": lambda folder: add_entry(folder, "## 2026-12-01\n- fed 1 lb peels to Dresser\n"),
    "a line with a date of its own": lambda folder: add_entry(
        folder, "## 2026-11-21\n- took in 2 lb newspaper, on 2025-03-02\n"
    ),
    "an entry made private": make_private,
    "a giver shown otherwise": rename_giver,
}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, published once with a memory beside it."""
    folder = tmp_path_factory.mktemp("demo")
    shutil.copytree(CHECKOUT / "entries", folder / "journal" / "entries")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(folder / "memory"))
        assert publish(folder / "journal", folder / "journal" / "build").published is not None
    return folder


@pytest.mark.parametrize("edit", EDITS)
def test_an_edit_is_published_as_if_for_the_first_time(
    first: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, edit: str
) -> None:
    """After each kind of edit, a site published over the last one equals one published from nothing."""
    work = tmp_path / "work"
    shutil.copytree(first, work, copy_function=shutil.copy2)
    monkeypatch.setenv("XDG_CACHE_HOME", str(work / "memory"))
    journal = work / "journal"
    publish(journal, journal / "build")  # in this folder, so that pages can be left standing
    EDITS[edit](journal)
    outcome = publish(journal, journal / "build")
    assert outcome.published is not None
    assert outcome.published.unchanged, "nothing was left standing, so nothing is tried here"
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "nothing"))
    publish(journal, tmp_path / "cold")
    warm, cold = site(journal / "build"), site(tmp_path / "cold")
    assert warm.keys() == cold.keys()
    assert [name for name in cold if warm[name] != cold[name]] == []


MIXED = "## 2026-03-20\n- mixed bedding Lot 7\n    - 2 lb coir\n    - 7 L water\n"
BEDDED = "## 2026-05-05\n- bedded Tub with 3 L Lot 7\n"
STRAY = "## 2026-04-05\n- fed 2 lb apple cores to Tub, on 2026-03-12\n"
OTHER_STRAY = STRAY.replace("04-05", "04-06").replace("2 lb", "5 lb")
FED = "## 2026-03-12\n- fed 3 lb bread to Tub\n"
REWRITTEN: dict[str, tuple[dict[str, str], dict[str, str]]] = {
    "an ingredient in a batch's list": (
        {"a.md": MIXED, "b.md": BEDDED}, {"a.md": MIXED.replace("2 lb", "4 lb"), "b.md": BEDDED},
    ),
    "the day of a line that stands in another month": (
        {"b.md": STRAY}, {"b.md": STRAY.replace("03-12", "03-13")},
    ),
    "the file of a line that stands in another month": (
        {"b.md": STRAY, "c.md": OTHER_STRAY},
        {"d.md": STRAY, "c.md": OTHER_STRAY},
    ),
    "a verb": ({"a.md": FED}, {"a.md": FED.replace("fed 3 lb bread to Tub", "bedded Tub with 3 lb bread")}),
}  # fmt: skip


@pytest.mark.parametrize("edit", REWRITTEN)
def test_what_was_rewritten_is_published_as_if_for_the_first_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, edit: str
) -> None:
    """What a page or a table shows of a line is part of what it rests on, wherever the line stands."""
    folder = tmp_path / "entries"
    for number, texts in enumerate(REWRITTEN[edit]):
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        (folder / "household.yaml").write_text("household: {name: A}\nbins: {Tub: {}}\n", encoding="utf-8")
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8")
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "memory"))
        assert publish(tmp_path, tmp_path / "build").published is not None, number
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "nothing"))
    publish(tmp_path, tmp_path / "cold")
    warm, cold = site(tmp_path / "build"), site(tmp_path / "cold")
    assert warm.keys() == cold.keys()
    assert [name for name in cold if warm[name] != cold[name]] == []


def test_what_was_published_need_not_be_added_up_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """``tally --json`` right after a publication reads nothing anew, and says what it says by itself."""
    shutil.copytree(CHECKOUT / "entries", tmp_path / "entries")
    all_of_it = tally.Asked(frozenset(), None, as_json=True, as_csv=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "another"))
    by_itself, problems = tally.totals(tmp_path, all_of_it)
    assert not problems
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "memory"))
    publish(tmp_path, tmp_path / "build")

    def nobody_reads(*_: object) -> None:
        raise AssertionError("the journal was read again")

    monkeypatch.setattr(files, "read_gathered", nobody_reads)
    assert tally.totals(tmp_path, all_of_it) == (by_itself, ())

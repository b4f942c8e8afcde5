"""Whole journals that are strange or hostile: a sentence and the right status, or the right site; no more."""

from __future__ import annotations

import contextlib
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from journal.commands.main import middenbook
from tests.journals import HOUSEHOLD, lay_out

CHECKOUT = Path(__file__).resolve().parent.parent
ENTRY = "## 2026-03-14\n\n- fed 1 lb bread to Lower Bin\n"
NAMES = (
    "../../etc/passwd", "..", ".", "CON", "a/b", "<script>alert(1)</script>", '"quoted"', "it's", "🪱🪱",
    "🪱", "x" * 300, "{{ 7*7 }}", "Bin A", "bin-a!", "index", "2026", "=1+1", "@SUM", "null", "naïve",
    "&amp;", "%2e%2e", "C:\\x", "\u202eevil",
)  # fmt: skip


@pytest.fixture(autouse=True)
def memory(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """A memory of the tests' own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "memory"))


def run(folder: Path, *words: str) -> Result:
    """Run a command in this process; whatever it says, it is no fault of the program."""
    done = CliRunner().invoke(middenbook, ["--journal", str(folder), *words])
    assert done.exit_code in {0, 1}, done.output
    assert "fault of the program" not in done.output
    assert "Traceback" not in done.output
    return done


def _odd(entries: Path, name: str) -> None:
    """Lay something that is no file of words among the entries."""
    path = entries / "odd.md"
    if name == "pipe":
        os.mkfifo(path)
    elif name == "socket":
        _bind(path)
    else:
        path.symlink_to(ASTRAY[name])


ASTRAY = {
    "link in a circle": "odd.md",
    "link to a device": "/dev/zero",
    "link out": "/etc/passwd",
    "link to nowhere": "/nowhere/at/all.md",
}


def _bind(path: Path) -> None:
    here = Path.cwd()
    os.chdir(path.parent)  # the name of a socket must be short
    try:
        with socket.socket(socket.AF_UNIX) as bound:
            bound.bind(path.name)
    finally:
        os.chdir(here)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes among files")
@pytest.mark.parametrize(
    "name", ["pipe", "socket", "link in a circle", "link to a device", "link out", "link to nowhere"]
)
def test_what_is_no_file_of_words_is_told_and_never_waited_for(tmp_path: Path, name: str) -> None:
    """Among the entries, a pipe, a device or a link astray is a problem; nothing waits or reads on and on."""
    lay_out(tmp_path, ENTRY)
    _odd(tmp_path / "entries", name)
    for words in (["proofread"], ["tally", "--json"], ["publish"]):
        done = run(tmp_path, *words)
        assert done.exit_code == 1
        assert "odd.md" in done.output
    assert not (tmp_path / "build").exists()
    done = run(tmp_path, "note", "fed 1 lb bread to Lower Bin", "--date", "2026-03-14")
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize("name", ["pipe", "socket", "link in a circle", "link to a device"])
def test_what_no_entry_names_is_passed_over(tmp_path: Path, name: str) -> None:
    """A pipe or a device of another ending is nothing to read, and no reason not to publish."""
    lay_out(tmp_path, ENTRY)
    _odd(tmp_path / "entries", name)
    (tmp_path / "entries" / "odd.md").rename(tmp_path / "entries" / "odd.jpg")
    done = run(tmp_path, "publish")
    assert done.exit_code == 0, done.output
    assert run(tmp_path, "publish").exit_code == 0


def test_entries_may_be_a_link_and_its_files_have_any_name(tmp_path: Path) -> None:
    """Quotes, emoji, direction marks, line ends and bytes that are no UTF-8 in file names do no harm."""
    real = lay_out(tmp_path / "real", ENTRY)
    (tmp_path / "linked").mkdir()
    (tmp_path / "linked" / "entries").symlink_to(real / "entries")
    for number, name in enumerate(
        (b'it\'s "so".md', "🪱 \u202egnp.md".encode(), b"new\nline.md", b"\xe9.md")
    ):
        with contextlib.suppress(OSError):  # some disks take no such name
            (real / "entries" / os.fsdecode(name)).write_text(ENTRY.replace("14", f"1{number}"))
    (real / "entries" / "loop").symlink_to("loop")
    (real / "entries" / "up").symlink_to("..")
    for words in (["tally"], ["publish"], ["publish"]):
        assert run(tmp_path / "linked", *words).exit_code == 0


def test_names_of_every_sort_make_pages_of_their_own(tmp_path: Path) -> None:
    """Bins called like a path, a script or an emoji each get one page inside the site, and nothing runs."""
    quoted = ["'" + name.replace("'", "''") + "'" for name in NAMES]
    bins = "".join(f"  {name}: {{worms: red wigglers}}\n" for name in quoted)
    lines = "".join(f"- harvested 1 lb castings from {name}\n" for name in NAMES)
    lay_out(tmp_path, f"## 2026-03-14\n\n{lines}", f"household: {{name: Test}}\nbins:\n{bins}")
    run(tmp_path, "publish", "--leave-out-unreadable")
    pages = list((tmp_path / "build").glob("bin-*.html"))
    assert len(pages) >= len(NAMES) - 4  # a name that is signs only may not be readable in a line
    assert all(b"<script>" not in page.read_bytes() for page in (tmp_path / "build").glob("*.html"))
    outside = {each.name for each in tmp_path.iterdir()}
    assert outside == {"entries", "build"}


@pytest.mark.parametrize("first", ["0001-01-01", "2024-02-29", "9999-12-31"])
def test_days_at_the_ends_of_the_calendar(tmp_path: Path, first: str) -> None:
    """The first day there is, the last, and the 29 of February go through every command."""
    lay_out(
        tmp_path,
        f"## {first}\n\n- fed 1 lb bread to Lower Bin\n- mixed bedding B: 1 lb newspaper\n"
        "- checked Lower Bin: 68 F\n- harvested 1 lb castings from Lower Bin\n"
        "- spread 1 lb castings on Plum\n",
    )
    for words in (
        ["proofread"], ["tally", "--by", "month"], ["chores"], ["publish"],
        ["chores", "--calendar", str(tmp_path / "c.ics")],
        ["note", "fed 1 lb bread to Lower Bin", "--date", first],
    ):  # fmt: skip
        assert run(tmp_path, *words).exit_code == 0, words


def test_one_journal_is_one_site_wherever_it_is_published(tmp_path: Path) -> None:
    """Time zone, language, hash seed, folder and the age of files leave no trace in the site's bytes."""
    text = (
        "## 2026-03-29\n\nUhr vor.\n\n"
        + ENTRY.replace("14", "28")
        + "- took in 2 lb newspaper from Elm House\n"
    )
    surroundings = (
        {"TZ": "UTC", "LC_ALL": "C", "PYTHONHASHSEED": "0", "PYTHONUTF8": "0"},
        {"TZ": "America/St_Johns", "LC_ALL": "tr_TR.UTF-8", "PYTHONHASHSEED": "1", "LANGUAGE": "tr"},
        {"TZ": "Pacific/Apia", "LC_ALL": "POSIX", "PYTHONHASHSEED": "4294967295", "COLUMNS": "20"},
    )
    sites = []
    for number, given in enumerate(surroundings):
        folder = lay_out(tmp_path / ("deep/er/" * number) / f"j{number}", text)
        os.utime(folder / "entries" / "all.md", (10**9 * number, 10**9 * number))
        own = {"PYTHONPATH": str(CHECKOUT), "XDG_CACHE_HOME": str(tmp_path / f"m{number}")}
        words = [sys.executable, "-m", "journal", "--journal", str(folder), "publish"]
        subprocess.run(words, env={**os.environ, **own, **given}, cwd=tmp_path, check=True)
        made = [each for each in (folder / "build").rglob("*") if each.is_file()]
        sites.append({str(each.relative_to(folder)): each.read_bytes() for each in made})
    assert sites[0] == sites[1] == sites[2]


def test_a_clock_that_is_set_back_hides_no_edit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the clock set back or far ahead between two publications, what was edited is published."""
    lay_out(tmp_path, ENTRY)
    entries, now = tmp_path / "entries" / "all.md", time.time_ns
    for number, shift in enumerate((0, -(10**17), 10**17, -(10**18))):
        monkeypatch.setattr(time, "time_ns", lambda shift=shift: now() + shift)
        entries.write_text(f"## 2026-03-14\n\nEdit {number}.\n\n- fed 1 lb bread to Lower Bin\n")
        assert run(tmp_path, "publish").exit_code == 0
        assert f"Edit {number}." in (tmp_path / "build" / "2026-03.html").read_text()


BOMBS: dict[str, Callable[[], str]] = {
    "aliases": lambda: "a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]\n",
    "depth": lambda: "a: " + "[" * 100_000,
    "depth of keys": lambda: "".join(f"{' ' * depth}a:\n" for depth in range(3000)),
    "twice": lambda: f"{HOUSEHOLD}bins: {{}}\n",
    "tags": lambda: "household: !!python/object/apply:os.system [id]\n",
    "control": lambda: "household: {name: a\x07b}\n",
    "huge": lambda: "# " + "x" * 5_000_000,
    "keys": lambda: "bins:\n" + "".join(f"  Bin {number}: {{}}\n" for number in range(20_000)),
    "a long key": lambda: "x" * 200_000 + ": 1\n",
    "numbers": lambda: f"household: {{name: A, people: {'9' * 5000}}}\n",
    "merge": lambda: "household: {<<: {name: A}}\n",
    "documents": lambda: "household: {name: A}\n---\nbins: {}\n",
    "a list": lambda: "- a\n- b\n",
    "nothing": lambda: "",
    "a colon": lambda: ":",
    "a tab": lambda: "household:\n\tname: A\n",
}


@pytest.mark.parametrize("name", BOMBS)
def test_no_household_explodes(tmp_path: Path, name: str) -> None:
    """Aliases, depth, size, tags and signs that have no place in household.yaml are told with their line."""
    lay_out(tmp_path, ENTRY, BOMBS[name]())
    done = run(tmp_path, "tally")
    assert done.exit_code == 1
    assert "household.yaml" in done.output or "Lower Bin" in done.output

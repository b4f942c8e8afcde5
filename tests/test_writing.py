"""Whatever goes wrong while something is written, the earlier file or the new one is there, whole."""

from __future__ import annotations

import errno
import os
import random
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from journal.commands.console import Refusal
from journal.commands.publication import MADE, publish_folder
from journal.commands.writing import locked, make_folders, write_file
from tests.disks import DeadDisk, FailingDisk, Killed

EARLIER = {
    "index.html": b"first",
    "2025-01.html": b"January",
    "data/movements.csv": b"a,b\n",
    "gone.html": b"x",
}
LATER = {
    "index.html": b"second",
    "2025-01.html": b"January",
    "data/movements.csv": b"a,b\n1,2\n",
    "new/n.html": b"n",
}


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, the list of made files left out."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != MADE
    }


def visible(folder: Path) -> dict[str, bytes]:
    """What a visitor of the site could ask for: no dot-files."""
    return {name: data for name, data in contents(folder).items() if not name.startswith(".")}


def test_a_file_is_replaced_with_its_permissions(tmp_path: Path) -> None:
    """A file keeps its permissions when its words are replaced."""
    file = tmp_path / "2026.md"
    file.write_bytes(b"old")
    file.chmod(0o640)
    write_file(file, b"new")
    assert (file.read_bytes(), stat.S_IMODE(file.stat().st_mode)) == (b"new", 0o640)
    assert [each.name for each in tmp_path.iterdir()] == ["2026.md"]


def test_a_new_file_has_the_permissions_that_the_keeper_gives_new_files(tmp_path: Path) -> None:
    """A new file can be read by whoever the keeper's umask lets read."""
    before = os.umask(0o027)
    try:
        write_file(tmp_path / "new.md", b"new")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new.md").stat().st_mode) == 0o640


def test_a_linked_file_stays_a_link(tmp_path: Path) -> None:
    """A file that the keeper has linked from elsewhere is written where it lies."""
    (tmp_path / "elsewhere.md").write_bytes(b"old")
    (tmp_path / "2026.md").symlink_to(tmp_path / "elsewhere.md")
    write_file(tmp_path / "2026.md", b"new")
    assert (tmp_path / "2026.md").is_symlink()
    assert (tmp_path / "elsewhere.md").read_bytes() == b"new"


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "full"), Killed()], ids=["disk full", "kill"])
@pytest.mark.parametrize("disk", [FailingDisk, DeadDisk])
def test_a_file_is_old_or_new_wherever_writing_fails(
    tmp_path: Path, failure: BaseException, disk: type[FailingDisk]
) -> None:
    """Wherever one step of writing a file fails, its earlier words or all of the new ones are there."""
    file, outcomes = tmp_path / "2026.md", set()
    for step in range(1, 10):
        file.write_bytes(b"the earlier words")
        try:
            write_file(file, b"the new words", disk(step, failure))
        except (OSError, Killed):
            outcomes.add(file.read_bytes())
        else:
            break
    assert step == 6, "a file takes five steps: create, write, flush, rename, flush the folder"
    assert outcomes == {b"the earlier words", b"the new words"}
    assert visible(tmp_path) == {"2026.md": b"the new words"}


def test_a_publication_holds_exactly_its_files(tmp_path: Path) -> None:
    """A later publication replaces what changed, removes what is no longer made, and touches nothing else."""
    publish_folder(tmp_path, EARLIER.items())
    untouched = (tmp_path / "2025-01.html").stat().st_mtime_ns
    (tmp_path / "CNAME").write_text("worms.example.org")
    done = publish_folder(tmp_path, LATER.items())
    assert contents(tmp_path) == {**LATER, "CNAME": b"worms.example.org"}
    assert (done.written, done.unchanged, done.removed) == (
        ["index.html", "data/movements.csv", "new/n.html"],
        ["2025-01.html"],
        ["gone.html"],
    )
    assert (tmp_path / "2025-01.html").stat().st_mtime_ns == untouched


def test_an_empty_folder_goes_with_its_last_file(tmp_path: Path) -> None:
    """A folder that held only what is no longer made goes too, and one that holds a keeper's file stays."""
    publish_folder(tmp_path, [("a/b/c.html", b"c"), ("d/e.html", b"e")])
    (tmp_path / "d" / "mine.txt").write_text("mine")
    publish_folder(tmp_path, [("index.html", b"i")])
    assert not (tmp_path / "a").exists()
    assert contents(tmp_path) == {"index.html": b"i", "d/mine.txt": b"mine"}


def test_a_file_that_publish_did_not_make_is_never_replaced(tmp_path: Path) -> None:
    """Publishing into a folder that holds somebody's own index.html is refused, and nothing is written."""
    (tmp_path / "index.html").write_text("my own page")
    with pytest.raises(Refusal, match="in the way"):
        publish_folder(tmp_path, [("a.html", b"a"), ("index.html", b"i")])
    assert contents(tmp_path) == {"index.html": b"my own page"}


def test_a_publication_whose_pages_cannot_be_made_changes_nothing(tmp_path: Path) -> None:
    """When a page cannot be drawn half-way through, the earlier site stays whole."""

    def pages() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"second"
        raise ValueError("no ink")

    publish_folder(tmp_path, EARLIER.items())
    with pytest.raises(ValueError, match="no ink"):
        publish_folder(tmp_path, pages())
    assert contents(tmp_path) == EARLIER


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill -9")
def test_a_site_survives_a_real_kill(tmp_path: Path) -> None:
    """Killed at any time while it publishes over and over, the program leaves whole pages only."""
    pages = (
        "import sys\nfrom pathlib import Path\nfrom journal.commands.publication import publish_folder\n"
        "print('ready', flush=True)\n"
        "for n in range(10**6):\n"
        "    mark = str(n % 10).encode()\n"
        "    names = [f'{i}.html' for i in range(20) if (i + n) % 7]\n"
        "    publish_folder(Path(sys.argv[1]), [(name, mark * 20000) for name in names])\n"
    )
    chance = random.Random(4)
    for _ in range(8):
        with subprocess.Popen(
            [sys.executable, "-c", pages, str(tmp_path / "site")],
            stdout=subprocess.PIPE,
            cwd=Path(__file__).parent.parent,
        ) as running:
            assert running.stdout is not None
            running.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.2))
            running.kill()
        for name, data in visible(tmp_path / "site").items():
            assert len(data) == 20000, name
            assert len(set(data)) == 1, name
    publish_folder(tmp_path / "site", LATER.items())
    assert contents(tmp_path / "site") == LATER


@pytest.mark.skipif(os.name == "nt", reason="this system has no lock of folders")
def test_two_publishers_take_turns(tmp_path: Path) -> None:
    """Two publications at once end as one of the two, never as a mixture."""
    work = (
        "import sys\nfrom pathlib import Path\nfrom journal.commands.publication import publish_folder\n"
        "for _ in range(30):\n"
        "    publish_folder(Path(sys.argv[1]), [(f'{i}.html', sys.argv[2].encode()) for i in range(10)])\n"
    )
    both = [
        subprocess.Popen(
            [sys.executable, "-c", work, str(tmp_path / "site"), mark],
            cwd=Path(__file__).parent.parent,
        )
        for mark in "ab"
    ]
    assert [each.wait() for each in both] == [0, 0]
    assert set(contents(tmp_path / "site").values()) in ({b"a"}, {b"b"})
    assert len(contents(tmp_path / "site")) == 10


def test_the_list_of_made_files_cannot_lead_out(tmp_path: Path) -> None:
    """A list of made files that names a file outside the folder removes nothing there."""
    (tmp_path / "precious.txt").write_text("mine")
    site = tmp_path / "site"
    publish_folder(site, EARLIER.items())
    (site / MADE).write_text(f"../precious.txt\n{tmp_path}/precious.txt\n\0\n//\n.\nindex.html\n")
    publish_folder(site, [("index.html", b"i")])
    assert (tmp_path / "precious.txt").read_text() == "mine"


def test_nothing_is_published_through_a_link(tmp_path: Path) -> None:
    """Where a folder of the site is a link to elsewhere, nothing is written or removed behind it."""
    (tmp_path / "elsewhere").mkdir()
    site = tmp_path / "site"
    publish_folder(site, [("index.html", b"i")])
    (site / "data").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(Refusal, match="link"):
        publish_folder(site, [("data/movements.csv", b"1")])
    assert not list((tmp_path / "elsewhere").iterdir())


@pytest.mark.parametrize("name", ["../x", "/x", "a//b", "", ".", "a/../b", MADE, "con:x", "a\nb", "a\\b"])
def test_a_published_name_stays_inside(tmp_path: Path, name: str) -> None:
    """A page's name that leads out of the folder, or is the program's own, is a fault of the program."""
    with pytest.raises(ValueError, match="no name"):
        publish_folder(tmp_path, [(name, b"x")])


@pytest.mark.skipif(getattr(os, "geteuid", int)() == 0, reason="as root every folder can be written")
def test_a_folder_that_can_only_be_read_is_left_alone(tmp_path: Path) -> None:
    """A folder without permission to write raises the machine's own error and stays as it was."""
    (tmp_path / "a.md").write_bytes(b"old")
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(PermissionError):
            write_file(tmp_path / "a.md", b"new")
    finally:
        tmp_path.chmod(0o755)
    assert contents(tmp_path) == {"a.md": b"old"}


def test_a_folder_whose_place_is_taken_by_a_file(tmp_path: Path) -> None:
    """A file where a folder is needed is an error that names it, and the file stays."""
    (tmp_path / "build").write_text("a file")
    with pytest.raises(OSError, match="build"):
        make_folders(tmp_path / "build" / "data")
    assert (tmp_path / "build").read_text() == "a file"


def test_a_lock_is_given_back(tmp_path: Path) -> None:
    """A folder that was locked can be locked again, even after a failure."""
    with pytest.raises(ValueError, match="inside"), locked(tmp_path):
        raise ValueError("inside")
    with locked(tmp_path):
        pass

"""Real small and read-only disks, mounted for the test: what simulated ones promise holds on these too."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from journal.commands.main import middenbook
from journal.commands.publication import MADE, mend_folder, publish_folder
from journal.commands.together import STAGING

BLOCK = 4096


def _mount(*words: str) -> bool:
    return subprocess.run(["mount", *words], capture_output=True, check=False).returncode == 0


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk in memory of 4 MB, which the test may make smaller."""
    place = tmp_path / "disk"
    place.mkdir()
    if not hasattr(os, "getuid") or os.getuid() != 0 or not _mount("-t", "tmpfs", "tmpfs", str(place)):
        pytest.skip("a disk can be mounted only as root, where the system allows it")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def room(place: Path, blocks: int) -> None:
    """Leave so many blocks free."""
    found = os.statvfs(place)
    used = (found.f_blocks - found.f_bfree) * found.f_frsize
    assert _mount("-o", f"remount,size={used + blocks * BLOCK}", str(place))


def site(mark: bytes, names: range) -> dict[str, bytes]:
    """Make a site of pages that hold one mark."""
    return {f"{number // 5}/{number}.html": mark * 5000 for number in names}


def files(folder: Path) -> dict[str, bytes]:
    """Give every file but the list of made files."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in folder.rglob("*")
        if file.is_file() and file.name != MADE
    }


def test_a_disk_that_fills_up_keeps_the_earlier_site(small_disk: Path) -> None:
    """However little room is left, the earlier site stays whole and nothing is left lying about."""
    earlier, later = site(b"a", range(20)), site(b"b", range(10, 30))
    folder, outcomes = small_disk / "site", []
    for blocks in range(0, 64, 3):
        assert _mount("-o", "remount,size=4m", str(small_disk))
        publish_folder(folder, earlier.items())
        room(small_disk, blocks)
        try:
            publish_folder(folder, later.items())
        except OSError:
            assert files(folder) == earlier, f"{blocks} blocks"
            assert not list(folder.glob(f"{STAGING}*"))
            outcomes.append("earlier")
        else:
            assert files(folder) == later
            outcomes.append("later")
    assert outcomes[0] == "earlier"
    assert outcomes[-1] == "later"


def test_commands_on_a_read_only_disk_say_so(
    small_disk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a disk that can only be read, reading commands work and writing ones say why they cannot."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    run = CliRunner().invoke
    folder = small_disk / "worms"
    assert run(middenbook, ["start", str(folder)]).exit_code == 0
    assert run(middenbook, ["--journal", str(folder), "publish"]).exit_code == 0
    before = files(folder)
    assert _mount("-o", "remount,ro", str(small_disk))
    for words in (
        ["tally"],
        ["proofread"],
        ["publish"],
        ["publish", "--to", str(small_disk / "worms/build")],
    ):
        assert run(middenbook, ["--journal", str(folder), *words]).exit_code == 0, words
    for words in (
        ["note", "fed 1 lb banana peels to First Bin"],
        ["publish", "--to", str(small_disk / "elsewhere")],
        ["chores", "--calendar", str(small_disk / "due.ics")],
    ):
        done = run(middenbook, ["--journal", str(folder), *words])
        assert done.exit_code == 1, done.output
        assert "the disk can only be read" in done.stderr
    done = run(middenbook, ["start", str(small_disk / "second")])
    assert done.exit_code == 1
    assert "the disk can only be read" in done.stderr
    assert files(folder) == before


def test_a_build_folder_that_is_a_mount_is_published_into(small_disk: Path, tmp_path: Path) -> None:
    """build/ may be a disk of its own: it is filled, not replaced."""
    (small_disk / "lost+found").mkdir()
    publish_folder(small_disk, site(b"a", range(3)).items())
    publish_folder(small_disk, site(b"b", range(2)).items())
    mend_folder(small_disk)
    assert files(small_disk) == site(b"b", range(2))
    assert (small_disk / "lost+found").is_dir()
    assert os.path.ismount(small_disk)
    assert not list(tmp_path.glob("disk?*"))

"""The program is killed for real, at random moments: what is found afterwards is one whole state.

MIDDENBOOK_KILLS says how often each is killed; a few times where it says nothing.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from journal.commands.publication import MADE, mend_folder, publish_folder
from journal.commands.together import PLAN, STAGING, recover
from journal.commands.writing import locked

KILLS = int(os.environ.get("MIDDENBOOK_KILLS", "12"))
CHECKOUT = Path(__file__).resolve().parent.parent

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill -9")

PUBLISHING = """
import sys
from pathlib import Path
from journal.commands import writing
from journal.commands.publication import publish_folder
from tests.test_crash_kills import site
writing.Disk.flush = lambda self, descriptor: None  # no power is cut, so renames are most of the time
print("ready", flush=True)
for turn in range(10**6):
    publish_folder(Path(sys.argv[1]), site(turn % 2).items())
"""
NOTING = """
import datetime as dt, sys
from pathlib import Path
from journal.commands import writing
from journal.commands.note_writing import Picture, add
writing.Disk.flush = lambda self, descriptor: None
folder, first = Path(sys.argv[1]), int(sys.argv[2])
print("ready", flush=True)
for turn in range(first, first + 10**6):
    text = (folder / "entries" / "2026.md").read_text()
    picture = Picture(f"photos/{turn}.jpg", b"\\xff\\xd8\\xff" + str(turn).encode() * 999, f"tray {turn}")
    add(folder, {"2026.md": text}, dt.date(2026, 3, 14), [f"- checked Cupboard: {turn} F"], picture)
"""
STARTING = """
import datetime as dt, sys
from pathlib import Path
from journal.commands import writing
from journal.commands.start import first_files, lay_out
writing.Disk.flush = lambda self, descriptor: None
print("ready", flush=True)
for turn in range(10**6):
    lay_out(Path(sys.argv[1]) / str(turn), first_files("us", dt.date(2026, 3, 14)))
"""


def site(turn: int) -> dict[str, bytes]:
    """Give one of two sites that differ in every page and in some names."""
    mark = "ab"[turn]
    names = [f"{mark}{number}.html" for number in range(12)] + [f"{mark}/deep/{mark}.html"]
    names += [f"{number}.html" for number in range(20)] + [f"data/{number}.csv" for number in range(6)]
    return {name: mark.encode() * 3000 for name in names}


def kill_at_random(program: str, *words: str, chance: random.Random) -> None:
    """Start a program that writes over and over, and kill it some time later."""
    with subprocess.Popen(
        [sys.executable, "-c", program, *words],
        stdout=subprocess.PIPE,
        cwd=CHECKOUT,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
    ) as running:
        assert running.stdout is not None
        running.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.03))
        running.kill()


def files(folder: Path) -> dict[str, bytes]:
    """Every file that is not the program's own."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
        and file.name != MADE
        and not file.relative_to(folder).as_posix().startswith(STAGING)
    }


def test_a_site_is_one_of_two_after_every_kill(tmp_path: Path) -> None:
    """However a publication is killed, the next run finds all of the earlier site or all of the new one."""
    folder, chance, between = tmp_path / "site", random.Random(4), 0
    publish_folder(folder, site(0).items())
    (folder / "CNAME").write_bytes(b"mine")
    for turn in range(KILLS):
        kill_at_random(PUBLISHING, str(folder), chance=chance)
        between += bool(list(folder.glob(f"{STAGING}*/{PLAN}")))
        for name, data in files(folder).items():
            assert len(set(data)) == 1 or name == "CNAME", f"{name} is half a page"
        mend_folder(folder)
        found = files(folder)
        assert found.pop("CNAME") == b"mine"
        assert found in (site(0), site(1)), f"after kill {turn}"
        assert not list(folder.glob(f"{STAGING}*")), "what was staged is swept up"
    sys.stdout.write(f"{KILLS} kills, {between} of them between renames\n")


def test_a_journal_is_whole_after_every_kill(tmp_path: Path) -> None:
    """However noting with a photo is killed, every line has its picture and every picture its line."""
    entries, chance = tmp_path / "entries", random.Random(5)
    (entries / "photos").mkdir(parents=True)
    (entries / "2026.md").write_text("## 2026-03-14\n\nRain.\n")
    seen = 0
    for _ in range(KILLS):
        kill_at_random(NOTING, str(tmp_path), str(seen), chance=chance)
        with locked(entries):
            recover(entries)
        text = (entries / "2026.md").read_text()
        lines = [line for line in text.splitlines() if line.startswith("- checked")]
        assert len(lines) >= seen, "a line was lost"
        seen = len(lines)
        assert lines == [f"- checked Cupboard: {number} F" for number in range(seen)]
        shown = sorted(f"{number}.jpg" for number in range(seen))
        assert sorted(each.name for each in (entries / "photos").iterdir()) == shown
        assert all(f"photos/{name}" in text for name in shown)
    assert seen > 0


def test_a_new_journal_is_whole_or_not_there_after_every_kill(tmp_path: Path) -> None:
    """However laying out a journal is killed, there is all of it or no entries/ at all."""
    chance = random.Random(6)
    for turn in range(KILLS):
        kill_at_random(STARTING, str(tmp_path / str(turn)), chance=chance)
        for journal in (tmp_path / str(turn)).glob("*"):
            if (journal / "entries").exists():
                assert sorted(each.name for each in (journal / "entries").iterdir()) == [
                    "2026.md",
                    "household.yaml",
                ]


def long_diary(folder: Path) -> None:
    """Make a journal so long that two processes read it and make its pages."""
    make = CHECKOUT / "tests" / "bench" / "make_journal.py"
    subprocess.run([sys.executable, str(make), str(folder), "--entries", "700"], check=True)


def short_diary(folder: Path) -> None:
    """Lay out a journal of a few lines."""
    words = [sys.executable, "-m", "journal", "start", str(folder)]
    surroundings = {**os.environ, "PYTHONPATH": str(CHECKOUT)}
    subprocess.run(words, check=True, env=surroundings, capture_output=True)


def running_on(folder: Path) -> list[str]:
    """The processes whose command line names a folder; a copy of a process keeps its command line."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            line = (process / "cmdline").read_bytes()
        except OSError:
            continue
        if os.fsencode(folder) in line and process.name != str(os.getpid()):
            found.append(process.name)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("lay_out", [short_diary, long_diary])
def test_the_whole_command_survives_a_kill(tmp_path: Path, lay_out: Callable[[Path], None]) -> None:
    """`publish` itself, killed at any time of its run, leaves the site of before or of after an edit.

    A second process that helped it is gone soon after.
    """
    words = [sys.executable, "-m", "journal", "--journal", str(tmp_path / "worms")]
    surroundings = {**os.environ, "PYTHONPATH": str(CHECKOUT), "XDG_CACHE_HOME": str(tmp_path / "memory")}

    def run(*more: str) -> None:
        subprocess.run([*words, *more], check=True, env=surroundings, capture_output=True)

    lay_out(tmp_path / "worms")
    newest = max((tmp_path / "worms" / "entries").glob("2*.md"))
    texts = [newest.read_text(), newest.read_text().rstrip() + "\n- checked First Bin: 68 F\n"]
    if lay_out is long_diary:
        texts[1] = texts[1].replace("First Bin", "Pantry Bin")
    folder, sites, took = tmp_path / "worms" / "build", [], 0.0
    for text in texts:
        newest.write_text(text)
        began = time.perf_counter()
        run("publish")
        took = time.perf_counter() - began
        sites.append(files(folder))
    assert sites[0] != sites[1]
    chance = random.Random(7)
    for turn in range(max(2, KILLS // 6)):
        newest.write_text(texts[turn % 2])
        with subprocess.Popen(
            [*words, "publish"], env=surroundings, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ) as running:
            time.sleep(chance.uniform(0.2, 1.0) * took)
            running.kill()
        mend_folder(folder)
        assert files(folder) in sites, f"after kill {turn}"
    newest.write_text(texts[0])
    run("publish")
    assert files(folder) == sites[0]
    for _ in range(100):
        if not running_on(tmp_path):
            break
        time.sleep(0.1)
    assert not running_on(tmp_path)

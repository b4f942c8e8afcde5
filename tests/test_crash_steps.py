"""Every single change of the disk is made to fail, in every way: all stays as it was, or all is new."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import itertools
import os
import re
import tempfile
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from journal.commands.bring_in.outcome import Journal, Outcome, from_sheet
from journal.commands.bring_in.questions import Told
from journal.commands.console import Refusal
from journal.commands.note_writing import Picture, add
from journal.commands.publication import MADE, mend_folder, publish_folder
from journal.commands.start import first_files, lay_out
from journal.commands.together import PLAN, STAGING, Change, put_together, recover
from journal.commands.writing import Behind, Disk, locked
from tests.disks import DeadDisk, FailingDisk, FullDisk, Killed, steps_of

FAILURES: dict[str, BaseException] = {
    "disk full": OSError(errno.ENOSPC, "full"),
    "read-only": OSError(errno.EROFS, "read-only"),
    "no permission": PermissionError(errno.EACCES, "denied"),
    "disk error": OSError(errno.EIO, "broken"),
    "Ctrl-C": KeyboardInterrupt(),
    "kill": Killed(),
}
EARLIER = {
    "index.html": b"first",
    "2025-01.html": b"January",
    "data/movements.csv": b"a,b\n",
    "old/gone.html": b"x",
    "gone.html": b"y",
}
LATER = {
    "index.html": b"second",
    "2025-01.html": b"January",
    "data/movements.csv": b"a,b\n1,2\n",
    "data/lines.csv": b"c\n",
    "new/deep/n.html": b"n",
}
OTHERS = {"CNAME": b"worms.example.org", "data/readme.txt": b"mine", ".nojekyll": b""}
HOUSEHOLD = "household: {name: Test House}\nbins:\n  Cupboard: {worms: red wigglers}\n"
DAY = dt.date(2026, 3, 14)
SHEET = """\
date,verb,amount,unit,material,bin
2026-03-01,fed,2,lb,banana peels,Attic
2026-03-02,fed,1,lb,banana peels,Attic
"""


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but the program's own: its list of made files and what it stages."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != MADE and not any(map(_is_own, file.relative_to(folder).parts))
    }


def _is_own(name: str) -> bool:
    return name.startswith(STAGING) or re.fullmatch(r"\..+\.[0-9a-f]{8}", name) is not None


def left_behind(folder: Path) -> list[str]:
    """What the program stages and has not removed."""
    return [file.name for file in folder.rglob("*") if _is_own(file.name)]


def write(folder: Path, files: Mapping[str, bytes | str]) -> None:
    """Lay files into a folder."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data.encode() if isinstance(data, str) else data)


@dataclass
class Work:
    """One thing that writes: how a folder is before, what is done, and what any later run does first."""

    prepare: Callable[[Path], object]
    do: Callable[[Path, Disk], object]
    comes_next: Callable[[Path], object]


def _publish(folder: Path, files: Mapping[str, bytes], disk: Disk | None = None) -> None:
    publish_folder(folder, files.items(), disk or FailingDisk(0, Killed()))


def _prepare_site(folder: Path) -> None:
    _publish(folder, EARLIER)
    write(folder, OTHERS)


def _prepare_journal(folder: Path) -> None:
    write(folder, {"entries/household.yaml": HOUSEHOLD, "entries/2026.md": "## 2026-03-14\n\nRain.\n"})


def _note(folder: Path, disk: Disk, picture: Picture | None = None) -> None:
    text = (folder / "entries" / "2026.md").read_text()
    add(folder, {"2026.md": text}, DAY, ["- fed 1 lb banana peels to Cupboard"], picture, disk)


@cache
def _brought() -> tuple[Journal, Outcome]:
    """Read the journal before anything is brought in, and the sheet, once: they are the same each time."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _prepare_journal(folder)
        write(folder, {"log.csv": SHEET})
        journal = Journal.read(folder)
        return journal, from_sheet(journal, folder / "log.csv", Told(), introduce=True)


def _bring_in(folder: Path, disk: Disk) -> None:
    journal, outcome = _brought()
    with locked(folder / "entries"):
        recover(folder / "entries", disk)
        outcome.write(journal._replace(folder=folder), disk)


def _recover_entries(folder: Path) -> None:
    with locked(folder / "entries"):
        recover(folder / "entries")


WORKS = {
    "publish": Work(_prepare_site, lambda folder, disk: _publish(folder, LATER, disk), mend_folder),
    "publish for the first time": Work(
        lambda folder: write(folder, OTHERS),
        lambda folder, disk: _publish(folder, LATER, disk),
        mend_folder,
    ),
    "note": Work(_prepare_journal, _note, _recover_entries),
    "note with a photo": Work(
        _prepare_journal,
        lambda folder, disk: _note(folder, disk, Picture("photos/tray.jpg", b"\xff\xd8\xff", "a tray")),
        _recover_entries,
    ),
    "bring-in": Work(_prepare_journal, _bring_in, _recover_entries),
    "start": Work(
        lambda folder: write(folder, {"mine.txt": b"mine"}),
        lambda folder, disk: lay_out(folder / "worms", first_files("us", DAY), disk),
        lambda _: None,
    ),
}


def _before_and_after(work: Work, folder: Path) -> tuple[dict[str, bytes], dict[str, bytes], int]:
    work.prepare(folder)
    before = contents(folder)
    steps = steps_of(lambda disk: work.do(folder, disk))
    after = contents(folder)
    assert before != after
    return before, after, steps


class SlowDisk(Disk):
    """A disk that is slow to flush, and fails in the nth flush of a file (never for 0)."""

    def __init__(self, fails_at: int) -> None:
        self.fails_at = fails_at
        self.flushed = 0

    def flush(self, descriptor: int) -> None:
        """Wait, then flush or fail."""
        time.sleep(0.002)
        self.flushed += 1
        if self.flushed == self.fails_at:
            raise OSError(errno.EIO, "broken")
        super().flush(descriptor)


def test_files_are_down_on_the_disk_before_any_takes_its_place(tmp_path: Path) -> None:
    """Where flushing lags behind the writing and fails, the earlier site stays and the failure is told."""
    files = {f"{number}.html": b"n" for number in range(2 * Behind.MOST)}
    _prepare_site(tmp_path / "model")
    counting = SlowDisk(0)
    _publish(tmp_path / "model", files, counting)
    assert contents(tmp_path / "model") == {**OTHERS, **files}
    assert counting.flushed > len(files)
    for nth in (1, 2, len(files), counting.flushed - 1):
        folder = tmp_path / str(nth)
        _prepare_site(folder)
        with pytest.raises(OSError, match="broken"):
            _publish(folder, files, SlowDisk(nth))
        assert contents(folder) == {**OTHERS, **EARLIER}, f"flush {nth}"
        assert left_behind(folder) == []


def test_where_no_thread_can_be_had_files_are_flushed_one_by_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine that refuses threads publishes all the same, more slowly."""

    def refuse(_thread: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    monkeypatch.setattr(threading.Thread, "start", refuse)
    disk = SlowDisk(0)
    _publish(tmp_path, LATER, disk)
    assert contents(tmp_path) == LATER
    assert disk.flushed > len(LATER)


@pytest.mark.parametrize("name", WORKS)
@pytest.mark.parametrize("failure", FAILURES.values(), ids=FAILURES)
def test_a_step_that_fails_leaves_the_earlier_state_or_the_new_one(
    tmp_path: Path, name: str, failure: BaseException
) -> None:
    """Whichever step fails once, all files are as they were or all are new, and the next run is whole."""
    work = WORKS[name]
    before, after, steps = _before_and_after(work, tmp_path / "model")
    for step in range(1, steps + 1):
        folder = tmp_path / str(step)
        work.prepare(folder)
        try:
            work.do(folder, FailingDisk(step, failure))
        except (OSError, KeyboardInterrupt, Killed):
            assert contents(folder) in (before, after), f"step {step} of {steps}"
        else:
            assert contents(folder) == after, f"step {step} of {steps} was done without"


@pytest.mark.parametrize("name", WORKS)
@pytest.mark.parametrize("disk", [DeadDisk, FullDisk])
def test_a_disk_that_stays_dead_or_full_is_mended_by_the_next_run(
    tmp_path: Path, name: str, disk: type[FailingDisk]
) -> None:
    """Where even taking back fails, as after a kill, the next run finds the earlier state or the new one."""
    work = WORKS[name]
    before, after, steps = _before_and_after(work, tmp_path / "model")
    for step in range(1, steps + 1):
        folder = tmp_path / str(step)
        work.prepare(folder)
        try:
            work.do(folder, disk(step, FAILURES["disk full"]))
        except OSError:
            if disk is FullDisk:
                assert contents(folder) in (before, after), "a full disk lets everything be taken back"
        else:
            assert contents(folder) == after
        work.comes_next(folder)
        found = contents(folder)
        assert found in (before, after), f"step {step} of {steps}"
        if found == before:
            work.do(folder, Disk())
            assert contents(folder) == after
            assert not left_behind(folder), f"step {step} of {steps}"


def test_two_failures_in_one_publication(tmp_path: Path) -> None:
    """Wherever a second step fails after the first, on the way back too, the next run finds a whole site."""
    work = WORKS["publish"]
    before, after, steps = _before_and_after(work, tmp_path / "model")
    failure, tried = FAILURES["disk error"], 0
    for first, second in itertools.combinations(range(1, steps + 20), 2):
        if (first + second) % 3 and not os.environ.get("MIDDENBOOK_LONG"):
            continue
        folder = tmp_path / f"{first}-{second}"
        work.prepare(folder)
        disk = FailingDisk(first, failure, second)
        try:
            work.do(folder, disk)
        except OSError:
            tried += 1
        mend_folder(folder)
        assert contents(folder) in (before, after), f"steps {first} and {second}"
    assert tried > 100


def test_a_kill_while_taking_back_is_taken_back_too(tmp_path: Path) -> None:
    """Killed between the renames, and killed again at every step of mending, the earlier site comes back."""
    work = WORKS["publish"]
    before, _, steps = _before_and_after(work, tmp_path / "model")
    mended = 0
    for step in range(1, steps + 1):
        for second in itertools.count(1):
            folder = tmp_path / f"{step}-{second}"
            work.prepare(folder)
            with pytest.raises(Killed):
                work.do(folder, DeadDisk(step, Killed()))
            if not list(folder.glob(f"{STAGING}*/{PLAN}")):
                break
            try:
                mend_folder(folder, DeadDisk(second, Killed()))
            except Killed:
                mended += 1
                mend_folder(folder)
                assert contents(folder) == before, f"step {step}, then {second}"
            else:
                assert contents(folder) == before
                break
    assert mended > 50


def test_a_disk_without_second_names_keeps_copies(tmp_path: Path) -> None:
    """On a stick that knows no hard links, the earlier files are copied, and come back all the same."""

    class Stick(FailingDisk):
        def link(self, source: Path, target: Path) -> None:
            raise PermissionError(errno.EPERM, "no such thing here", str(source), None, str(target))

    _prepare_site(tmp_path / "model")
    counting = Stick(0, Killed())
    _publish(tmp_path / "model", LATER, counting)
    assert contents(tmp_path / "model") == {**OTHERS, **LATER}
    for step in range(1, counting.steps + 1):
        folder = tmp_path / str(step)
        _prepare_site(folder)
        with contextlib.suppress(OSError):
            _publish(folder, LATER, Stick(step, FAILURES["disk error"]))
        assert contents(folder) in ({**OTHERS, **EARLIER}, {**OTHERS, **LATER}), f"step {step}"


def test_a_publication_with_problems_mends_what_a_kill_left(tmp_path: Path) -> None:
    """Even a run that publishes nothing first makes the earlier site whole again."""
    from click.testing import CliRunner

    from journal.commands.main import middenbook

    write(tmp_path, {"entries/household.yaml": HOUSEHOLD, "entries/2026.md": "## 2026-03-14\n\n- fed much\n"})
    site = tmp_path / "build"
    _prepare_site(site)
    steps = steps_of(lambda disk: _publish(site, LATER, disk))
    _publish(site, EARLIER)
    with pytest.raises(Killed):
        _publish(site, LATER, DeadDisk(steps - 14, Killed()))
    assert contents(site) not in ({**OTHERS, **EARLIER}, {**OTHERS, **LATER}), "the kill fell between renames"
    done = CliRunner().invoke(middenbook, ["--journal", str(tmp_path), "publish"])
    assert done.exit_code == 1
    assert contents(site) == {**OTHERS, **EARLIER}


def test_a_stale_or_hostile_staging_folder_does_no_harm(tmp_path: Path) -> None:
    """A plan that leads out of the folder, or makes no sense, changes nothing outside and is swept away."""
    site = tmp_path / "site"
    _prepare_site(site)
    (tmp_path / "precious.txt").write_text("precious")
    (site / "lane").symlink_to(tmp_path)
    staging = site / f"{STAGING}00000000"
    plan = (
        '["new", 0, "../precious.txt"]\n["new", 1, "lane/precious.txt"]\n["replace", 2, "/etc/hostname"]\n'
        '["new", 3, ".."]\nnonsense\n[[[[\n["new", 4]\n["new", "5", "CNAME"]\n{"a": 1}\n'
        '["new", 6, "\\u0000"]\n'
    )
    write(staging, {PLAN: plan, "2.old": b"mine now", "junk": b""})
    (site / f"{STAGING}11111111").write_text("a file of that name")
    (site / f"{STAGING}22222222").symlink_to(tmp_path)
    (site / "lane2").symlink_to(site)
    _publish(site, LATER)
    assert (tmp_path / "precious.txt").read_text() == "precious"
    assert not staging.exists()
    (site / "lane").unlink()
    (site / "lane2").unlink()
    (site / f"{STAGING}22222222").unlink()
    assert contents(site) == {**OTHERS, **LATER}


def test_a_damaged_list_of_made_files_loses_nothing(tmp_path: Path) -> None:
    """With the list gone or full of nonsense, a page that changed is refused, and nothing is replaced."""
    for damage in (b"", b"\xff\xfe\x00", b"../../etc/passwd\n/etc/passwd\n\n..\n"):
        site = tmp_path / str(len(damage))
        _prepare_site(site)
        (site / MADE).write_bytes(damage)
        with pytest.raises(Refusal, match="in the way"):
            _publish(site, LATER)
        assert contents(site) == {**OTHERS, **EARLIER}
        _publish(site, EARLIER)
        assert contents(site) == {**OTHERS, **EARLIER}
        _publish(site, LATER)
        assert contents(site) == {**OTHERS, **LATER}


def test_several_files_of_a_journal_change_together_through_a_link_nowhere(tmp_path: Path) -> None:
    """A change whose second file would go through a link is refused, and the first is not written."""
    (tmp_path / "root").mkdir()
    (tmp_path / "root" / "out").symlink_to(tmp_path)
    with pytest.raises(Refusal, match="link"):
        put_together(tmp_path / "root", {"a.md": b"a", "out/b.md": b"b"})
    assert sorted(each.name for each in tmp_path.rglob("*")) == ["out", "root"]


def test_a_change_of_nothing_touches_nothing(tmp_path: Path) -> None:
    """A change without a step asks nothing of the disk."""
    disk = FailingDisk(1, Killed())
    change = Change(tmp_path, disk)
    change.carry_out()
    change.clear()
    assert disk.steps == 0

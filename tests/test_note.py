"""`note`: a line is understood before it is written, and lands where the keeper would have put it."""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.commands import note as note_module
from journal.commands.files import read_journal
from journal.commands.note_arrangement import arrange, choose_file
from journal.commands.note_told import WAYS
from journal.commands.note_writing import add
from journal.notes.entries import scan
from journal.notes.verbs import VERBS
from tests.disks import DeadDisk, FailingDisk, Killed, steps_of
from tests.noting import DAY, HOUSEHOLD, JPEG, LINE, begin, entries, note, write


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with a household and no entry."""
    return begin(tmp_path)


def test_a_line_is_shown_as_it_was_read(journal: Path) -> None:
    """The keeper sees the amount in both units, the material, where it went, the year so far and the file."""
    note(journal, "fed 8 oz vegetable scraps to Cupboard")
    done = note(journal, LINE)
    assert done.exit_code == 0
    assert done.stdout.splitlines() == [
        "1 lb = 0.454 kg banana peels → Cupboard",
        "2026 so far, fed to Cupboard: 1.50 lb (0.680 kg), 2 lines",
        "entries/2026.md, 2026-03-14",
    ]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("took in 2 kg newspaper from Shoe Shop", "taken in from Shoe Shop: 2.00 kg (4.41 lb), 1 line"),
        ("fed 2 kg banana peels to Cupboard", "fed to Cupboard: 2.00 kg (4.41 lb), 1 line"),
        ("threw out 1 kg newspaper out of newspaper", "thrown out of newspaper: 1.00 kg (2.20 lb), 1 line"),
        ("threw out 1 kg plastic windows", "thrown out: 1.00 kg (2.20 lb), 1 line"),
        ("gave 1 kg castings to Shoe Shop", "given to Shoe Shop: 1.00 kg (2.20 lb), 1 line"),
    ],
)
def test_the_year_so_far_is_in_the_households_own_unit_first(journal: Path, line: str, told: str) -> None:
    """In a metric journal kilograms come before pounds, in a sentence that says what was done."""
    (journal / "entries" / "household.yaml").write_text(HOUSEHOLD.replace("House}", "House, units: metric}"))
    done = note(journal, line)
    assert done.exit_code == 0, done.stderr
    assert f"2026 so far, {told}" in done.stdout.splitlines()


def test_a_metric_household_reads_kilograms_first(journal: Path) -> None:
    """What a volume comes to is told in kilograms first where the household weighs so, else in pounds."""
    told = [note(journal, "fed 1 bucket coffee grounds to Cupboard").stdout.splitlines()[0]]
    (journal / "entries" / "household.yaml").write_text(HOUSEHOLD.replace("House}", "House, units: metric}"))
    told.append(note(journal, "fed 1 bucket coffee grounds to Cupboard").stdout.splitlines()[0])
    assert re.search(r"≈ [\d.]+ lb \([\d.]+ kg\)", told[0])
    assert re.search(r"≈ [\d.]+ kg \([\d.]+ lb\)", told[1])


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("took in 2 kg newspaper from Shoe Shop", "2 kg = 4.41 lb newspaper, Shoe Shop → on hand"),
        ("harvested 3 lb castings from Cupboard", "3 lb = 1.36 kg castings, Cupboard → castings on hand"),
        ("spread 1 lb castings on Plum", "1 lb = 0.454 kg castings → Plum"),
        ("threw out 4 oz plastic windows", "4 oz = 0.113 kg plastic windows → landfill"),
        ("checked Cupboard: 68 F, moisture 80%, pH 7", "Cupboard: 68.0 °F (20.0 °C), moisture 80 %, pH 7"),
        ("fed 500 g apple cores to Cupboard (bruised)", "remark: bruised"),
    ],
)
def test_every_kind_of_line_is_told_back(journal: Path, line: str, told: str) -> None:
    """Each verb says from where to where it moves things, in both units."""
    done = note(journal, line)
    assert done.exit_code == 0, done.stderr
    assert told in done.stdout.splitlines()


def test_every_verb_that_moves_something_has_its_way() -> None:
    """No verb of the table that moves a mass is told without where it goes."""
    moving = {verb.name for verb in VERBS} - {"checked", "spent", "earned"}
    assert moving == set(WAYS)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("fed 1 lb bananna peels to Cupboard", 'did you mean "banana peels"?'),
        ("fed 1 lb banana peels to Cupbord", "Cupboard"),
        ("feed 1 lb banana peels to Cupboard", 'did you mean "fed"?'),
        ("fed banana peels to Cupboard", "amount"),
        ("fed 1,5 lb banana peels to Cupboard", "1.5"),
        ("bedded Cupboard with 2 lb Batch 7", "Batch 7"),
    ],
)
def test_what_cannot_be_read_is_refused_and_nothing_is_written(journal: Path, line: str, said: str) -> None:
    """A line that cannot be read is refused with the reason and the nearest name, with status 1."""
    done = note(journal, LINE, line)
    assert done.exit_code == 1
    assert said in done.stderr
    assert "^" in done.stderr
    assert done.stderr.endswith("nothing was written\n")
    assert entries(journal) == {}


def test_several_lines_come_from_standard_input(journal: Path) -> None:
    """Lines from standard input are noted together, with or without dashes, a batch with its list."""
    done = note(
        journal,
        stdin=f"{LINE}\n\n- mixed bedding Batch 7\n    - 1 lb newspaper\n    - 2 L water\n"
        "bedded Cupboard with 1 lb Batch 7\n",
    )
    assert done.exit_code == 0, done.stderr
    assert [record.verb for record in read_journal(journal).records] == ["fed", "mixed", "bedded"]
    assert not read_journal(journal).problems


def test_of_several_lines_all_are_written_or_none(journal: Path) -> None:
    """One line that cannot be read keeps the others out as well."""
    done = note(journal, stdin=f"{LINE}\nfed 2 lb gravel soup to Cupboard\n")
    assert done.exit_code == 1
    assert "gravel soup" in done.stderr
    assert entries(journal) == {}


def test_words_without_quotation_marks_are_one_line(journal: Path) -> None:
    """A keeper who forgets the quotation marks is understood all the same."""
    done = note(journal, *LINE.split())
    assert done.exit_code == 0
    assert f"- {LINE}\n" in entries(journal)["2026.md"]


def test_a_batch_mixed_in_any_file_can_be_used(journal: Path) -> None:
    """Names of batches are known from all entries, and a second batch of one name is refused."""
    write(journal, {"2025.md": "## 2025-02-10\n\n- mixed bedding Plum Jam: 2 lb newspaper, 3 L water\n"})
    done = note(journal, "bedded Cupboard with 2 L Plum Jam")
    assert done.exit_code == 0, done.stderr
    again = note(journal, "mixed bedding Plum Jam: 1 lb newspaper")
    assert again.exit_code == 1
    assert "2025.md" in again.stderr


BATCH_NAMES = (
    "Plum Jam", "the Plum", "Our old mix", "O'Neil’s heap", "Au\u00adtumn", "No. 12", ". dot", ",comma", "#5",
    "Jam-2", "plums", "5", "Åsa", "!",
)  # fmt: skip


@given(
    st.lists(st.sampled_from(BATCH_NAMES), min_size=1, max_size=4),
    st.sampled_from(
        ["mixed bedding {}: 2 lb newspaper", "Mixed a slurry {} from 1 L water", "mixed slurry {}"]
    ),
    st.sampled_from([*BATCH_NAMES, "PLUM JAM", "Plums", "newspaper"]),
)
def test_looking_for_batches_quickly_passes_none_over(names: list[str], line: str, meant: str) -> None:
    """What a line may name is the same whether a quick look goes before or all batches are gathered."""
    text = "## 2025-02-10\n\n" + "".join(f"- {line.format(name)}\n" for name in names)
    used = [scan("", f"## 2026-03-14\n\n- bedded Cupboard with 2 lb {meant}\n")]
    quickly = note_module._known({"a.md": text}, None, used)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(note_module, "_may_name_a_batch", lambda *_: True)
        assert quickly.batches == note_module._known({"a.md": text}, None, used).batches


def test_a_batch_in_a_comment_is_not_known(journal: Path) -> None:
    """What the keeper has commented out mixes nothing."""
    write(journal, {"2025.md": "## 2025-02-10\n\n<!--\n- mixed bedding Ghost: 2 lb newspaper\n-->\n"})
    assert note(journal, "bedded Cupboard with 2 lb Ghost").exit_code == 1


def test_a_picture_is_copied_and_shown(journal: Path, tmp_path: Path) -> None:
    """`--photo` copies a picture into entries/photos/ and shows it behind the line, with its words."""
    (tmp_path / "IMG 1.JPG").write_bytes(JPEG)
    write(journal, {"2026/2026-03.md": "## 2026-03-01\n\nx\n"})
    done = note(journal, LINE, "--photo", str(tmp_path / "IMG 1.JPG"), "--showing", "a tray [full]")
    assert done.exit_code == 0, done.stderr
    text = entries(journal)["2026/2026-03.md"]
    assert text.endswith(f"- {LINE}\n\n![a tray \\[full\\]](../photos/2026-03-14-img-1.jpg)\n")
    assert (journal / "entries/photos/2026-03-14-img-1.jpg").read_bytes() == JPEG


def test_a_picture_never_takes_the_place_of_another(journal: Path, tmp_path: Path) -> None:
    """Two pictures of one name are both kept, and the same picture is copied once."""
    for data in (JPEG, JPEG + b"2", JPEG):
        (tmp_path / "tray.jpg").write_bytes(data)
        assert note(journal, "--photo", str(tmp_path / "tray.jpg"), "--showing", "a tray").exit_code == 0
    photos = sorted(file.name for file in (journal / "entries/photos").iterdir())
    assert photos == ["2026-03-14-tray-2.jpg", "2026-03-14-tray.jpg"]


@pytest.mark.parametrize(
    ("data", "words", "said"),
    [
        (b"GIF8 fine", (), "what does the picture show"),
        (b"%PDF no picture", ("--showing", "x"), "no JPEG"),
    ],
)
def test_a_picture_that_will_not_do_is_refused(
    journal: Path, tmp_path: Path, data: bytes, words: tuple[str, ...], said: str
) -> None:
    """A file that is no picture, or one without words for it, is refused and nothing is written."""
    (tmp_path / "p.jpg").write_bytes(data)
    done = note(journal, "--photo", str(tmp_path / "p.jpg"), *words)
    assert done.exit_code != 0
    assert said in done.stderr
    assert not (journal / "entries/photos").exists()


@pytest.mark.parametrize("day", ["3/4/26", "yesterday-ish", "2026-02-30", "14 March"])
def test_a_day_that_is_not_clear_is_refused(journal: Path, day: str) -> None:
    """`--date` takes the forms that headings take, and says what to write instead of others."""
    done = note(journal, LINE, "--date", day)
    assert done.exit_code == 2
    assert "2026-03-14" in done.stderr
    assert entries(journal) == {}


def test_nothing_to_note_is_wrong_use(journal: Path) -> None:
    """Without a line the program says how to write one."""
    done = note(journal, stdin="")
    assert done.exit_code == 2
    assert "what is to be noted?" in done.stderr


def test_a_line_that_would_be_hidden_is_refused(journal: Path) -> None:
    """Below a comment that is never closed a line would not be read, so nothing is written."""
    before = {"2026.md": "## 2026-03-01\n\n<!-- never closed\n"}
    write(journal, before)
    done = note(journal, LINE)
    assert done.exit_code == 1
    assert "would not be read" in done.stderr
    assert entries(journal) == before


def test_a_file_that_is_no_text_is_left_alone(journal: Path) -> None:
    """A file in another encoding is named, and not touched."""
    (journal / "entries" / "2026.md").write_bytes(b"## 2026-03-14\n\ncaf\xe9\n")
    done = note(journal, LINE)
    assert done.exit_code == 1
    assert "UTF-8" in done.stderr
    assert (journal / "entries" / "2026.md").read_bytes() == b"## 2026-03-14\n\ncaf\xe9\n"


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "full"), Killed()], ids=["disk full", "kill"])
@pytest.mark.parametrize("disk", [FailingDisk, DeadDisk])
def test_an_entry_is_old_or_new_wherever_noting_fails(
    journal: Path, failure: BaseException, disk: type[FailingDisk]
) -> None:
    """Wherever noting fails, the entry is as it was or holds the whole line."""
    before = "## 2026-03-14\n\n- checked Cupboard: 66 F\n"
    after = f"{before}- {LINE}\n"
    write(journal, {"2026.md": before})
    steps = steps_of(lambda counting: add(journal, {"2026.md": before}, DAY, [f"- {LINE}"], disk=counting))
    assert steps == 5, "create, write, flush, rename, flush the folder"
    for step in range(1, steps + 1):
        write(journal, {"2026.md": before})
        with pytest.raises((OSError, Killed)):
            add(journal, {"2026.md": before}, DAY, [f"- {LINE}"], disk=disk(step, failure))
        assert entries(journal)["2026.md"] in (before, after)
    add(journal, {"2026.md": before}, DAY, [f"- {LINE}"])
    assert f"- {LINE}\n" in entries(journal)["2026.md"]
    assert not list((journal / "entries").glob(".2026*")), "what the kills left behind is swept up"


@pytest.mark.skipif(os.name == "nt", reason="this system has no lock of folders")
def test_two_keepers_at_once_lose_nothing(journal: Path) -> None:
    """Lines noted at the same moment are all there."""
    words = [sys.executable, "-m", "journal", "--journal", str(journal), "note", "--date", DAY.isoformat()]
    running = [
        subprocess.Popen(
            [*words, f"fed {number} lb banana peels to Cupboard"],
            cwd=Path(__file__).parent.parent,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        )
        for number in range(1, 6)
    ]
    assert [each.wait(timeout=120) for each in running] == [0] * 5
    kilograms = sum(record.amounts[0].kg for record in read_journal(journal).records)
    assert kilograms == pytest.approx(15 * 0.45359237)


def test_names_of_other_folders_lead_nowhere_else() -> None:
    """A file whose name speaks of no date is never taken for a day's, a month's or a year's."""
    files = [arrange("notes/ideas.md", "## 2026-01-01\n\nx\n"), arrange("2026-13.md", "")]
    assert choose_file(files, DAY) == "notes/ideas.md"

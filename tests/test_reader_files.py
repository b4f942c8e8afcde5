"""The reader of files: what is read, in which order, and what is refused by file and byte."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.commands import files, shipped
from journal.commands.yaml_tree import DEEPEST, LARGEST, TreeProblem, read_tree
from journal.notes.faults import Fault
from journal.notes.materials import STREAMS, Range
from journal.notes.reading import Bare, Kept, Parcel, read_notes
from journal.notes.tree import Mapping, Scalar, Sequence

ENTRY = "## 2026-03-14\n\n- fed 1 lb bread to Tub\n"
HOUSEHOLD = "household: {name: A house}\nbins:\n  Tub: {}\n"


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal of one entry."""
    entries = tmp_path / "entries"
    entries.mkdir()
    (entries / "household.yaml").write_text(HOUSEHOLD, encoding="utf-8")
    (entries / "2026.md").write_text(ENTRY, encoding="utf-8")
    return tmp_path


def test_a_journal_is_read_whole(journal: Path) -> None:
    """Files at any depth, .md and .txt in any case, are read; others, hidden ones among them, are not."""
    for name in ("a/b/c.md", "notes.txt", "LOUD.MD", "a/z.markdown", ".hidden.md", "a/.git/x.md", "tray.jpg"):
        file = journal / "entries" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(ENTRY, encoding="utf-8")
    notes = files.read_journal(journal)
    assert not notes.problems
    assert [record.place.file for record in notes.records] == ["2026.md", "LOUD.MD", "a/b/c.md", "notes.txt"]
    assert list(files.gather(journal)[0]) == [
        "2026.md",
        "LOUD.MD",
        "a/b/c.md",
        "household.yaml",
        "notes.txt",
    ]


class Counted:
    """Keeps files as they are read, and counts which are."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, str], Kept] = {}
        self.read: set[str] = set()

    def get(self, file: str, text: str) -> object | None:
        """Give what was kept of a file."""
        return self.kept.get((file, text))

    def parcel(self, value: Kept) -> Bare:
        """Leave a value as it is."""
        return Bare(value)

    def put(self, file: str, text: str, parcel: Parcel) -> None:
        """Keep a file."""
        self.kept[file, text] = parcel.value
        self.read.add(file)


MIXING = {
    "a.md": "## 2026-03-01\n\n- mixed bedding Lot 1: 2 kg shredded paper, 5 L water\n",
    "b.md": "## 2026-03-09\n\n- bedded Tub with 2 L Lot 1\n",
    "c.md": "## 2026-03-10\n\n- mixed bedding Lot 1: 1 kg straw\n",
}


@pytest.mark.parametrize(
    ("file", "old", "new", "again"),
    [
        ("b.md", "2 L", "3 L", {"b.md"}),
        ("a.md", "\n- mixed", "\nA line above.\n- mixed", {"a.md", "c.md"}),
        ("a.md", "5 L", "1 L", {"a.md", "b.md", "c.md"}),
        ("a.md", "Lot 1", "Lot 2", {"a.md", "b.md", "c.md"}),
    ],
    ids=["an amount", "a line above a mixing", "what a batch is made of", "what it is called"],
)
def test_a_file_is_read_again_where_what_it_rests_on_has_changed(
    file: str, old: str, new: str, again: set[str]
) -> None:
    """A line above a mixing is told only to the file that mixes one of that name: it says where it was."""
    household = files.household_tree(HOUSEHOLD)[0]
    shelf = Counted()
    read_notes(MIXING, household, shipped.catalogue(), shelf)
    assert shelf.read == MIXING.keys()
    shelf.read.clear()
    texts = {**MIXING, file: MIXING[file].replace(old, new)}
    assert texts != MIXING
    notes = read_notes(texts, household, shipped.catalogue(), shelf)
    assert notes == read_notes(texts, household, shipped.catalogue())
    assert shelf.read == again


def test_a_folder_without_entries_is_a_problem(tmp_path: Path) -> None:
    """Without entries/ there are no notes, and a sentence that says so."""
    notes = files.read_journal(tmp_path)
    assert [found.fault for found in notes.problems] == [Fault.UNREADABLE_FILE, Fault.NO_HOUSEHOLD]
    assert notes.problems[0].sentence == "entries cannot be read: there is no such folder"


def test_a_missing_household_is_a_problem_with_its_way_out(journal: Path) -> None:
    """Without household.yaml the notes are read, and the problem says what to write."""
    (journal / "entries/household.yaml").unlink()
    notes = files.read_journal(journal)
    missing = next(found for found in notes.problems if found.fault is Fault.NO_HOUSEHOLD)
    assert str(missing.place) == "household.yaml:1:1"
    assert "household: {name: Our house}" in missing.advice


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"household: {name: A\xff}\n", "household.yaml cannot be read as UTF-8: byte 20 is 0xff"),
        (b"household: [\n", "household.yaml cannot be read: "),
        (b"- a\n", "household.yaml cannot be read: it is to hold keys with values"),
    ],
)
def test_a_broken_household_is_told_once(journal: Path, content: bytes, says: str) -> None:
    """A household.yaml that cannot be read is one problem, not one and another that it is missing."""
    (journal / "entries/household.yaml").write_bytes(content)
    about = [found for found in files.read_journal(journal).problems if found.place.file == "household.yaml"]
    assert len(about) == 1
    assert about[0].sentence.startswith(says)


def test_a_problem_of_household_yaml_shows_its_line(journal: Path) -> None:
    """A problem in household.yaml carries the line as written, so that a caret can stand below it."""
    (journal / "entries/household.yaml").write_text(HOUSEHOLD + "binz: {}\n", encoding="utf-8")
    (found,) = files.read_journal(journal).problems
    assert (str(found.place), found.source) == ("household.yaml:4:1", "binz: {}")


def test_links_out_of_the_entries_are_not_followed(journal: Path, tmp_path: Path) -> None:
    """A link that leads out is a problem, one inside entries/ is read, a linked folder is not entered."""
    secret = tmp_path / "secret.md"
    secret.write_text(ENTRY, encoding="utf-8")
    entries = journal / "entries"
    (entries / "out.md").symlink_to(secret)
    (entries / "in.md").symlink_to(entries / "2026.md")
    (entries / "gone.md").symlink_to(entries / "nothing.md")
    (entries / "loop.md").symlink_to(entries / "loop.md")
    (entries / "folder").symlink_to(tmp_path)
    notes = files.read_journal(journal)
    assert [record.place.file for record in notes.records] == ["2026.md", "in.md"]
    assert {found.place.file for found in notes.problems} == {"out.md", "gone.md", "loop.md"}
    led_out = next(found for found in notes.problems if found.place.file == "out.md")
    assert led_out.sentence == "out.md cannot be read: it is a link that leads out of entries/"


def test_what_is_no_file_is_told(journal: Path) -> None:
    """A folder or a pipe named like an entry does not stop the reading, nor hang it."""
    (journal / "entries/folder.md").mkdir()
    os.mkfifo(journal / "entries/pipe.md")
    notes = files.read_journal(journal)
    assert len(notes.records) == 1
    assert [found.place.file for found in notes.problems] == ["pipe.md"]


def test_a_file_that_may_not_be_opened_is_told(journal: Path) -> None:
    """A file without permission to read is a problem that says so; the rest is read."""
    if os.geteuid() == 0:
        pytest.skip("everything may be read as root")
    (journal / "entries/locked.md").write_text(ENTRY, encoding="utf-8")
    (journal / "entries/locked.md").chmod(0)
    notes = files.read_journal(journal)
    assert len(notes.records) == 1
    assert [found.sentence for found in notes.problems] == ["locked.md cannot be read: permission denied"]


def test_a_name_that_is_no_text_is_shown_as_such(journal: Path) -> None:
    """A file name of bytes that are no UTF-8 is read, and can be printed and written down."""
    name = os.fsencode(journal / "entries") + b"/caf\xe9.md"
    try:
        with open(name, "wb") as file:  # noqa: PTH123 - a name of bytes
            file.write(ENTRY.encode())
    except OSError:
        pytest.skip("this disk refuses such names, as root or as anyone")
    notes = files.read_journal(journal)
    assert [record.place.file for record in notes.records] == ["2026.md", "caf\\xe9.md"]
    notes.records[1].place.file.encode("utf-8")


@given(st.binary(max_size=200))
def test_no_bytes_make_the_reading_of_a_file_fail(content: bytes) -> None:
    """Any bytes are a text or one problem that names file, byte, line and column."""
    text, wrong = files.decode_one("diary.md", content)
    assert (text is None) == (wrong is not None)
    if wrong is not None:
        assert wrong.fault is Fault.ENCODING
        assert wrong.sentence.startswith("diary.md cannot be read as UTF-8: byte ")
        assert wrong.place.line >= 1
        assert wrong.place.column >= 1


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_both_line_ends_and_a_mark_are_read_alike(journal: Path, mark: bytes, end: str) -> None:
    """LF or CRLF, with or without a byte-order mark, gives the same records at the same places."""
    (journal / "entries/2026.md").write_bytes(mark + ENTRY.replace("\n", end).encode())
    (record,) = files.read_journal(journal).records
    assert (str(record.place), record.text) == ("2026.md:3:3", "fed 1 lb bread to Tub")


# ---- YAML as a tree


def test_a_tree_keeps_words_and_places() -> None:
    """Scalars keep their text, and every node knows its line and column."""
    node = read_tree("a: 12:30\nb: [2.50, 'no', \"x\"]\nc:\n  d: yes\n", "household.yaml")
    assert isinstance(node, Mapping)
    a, b, c = (node.get(key) for key in "abc")
    assert isinstance(a, Scalar)
    assert isinstance(b, Sequence)
    assert isinstance(c, Mapping)
    assert (a.text, str(a.place)) == ("12:30", "household.yaml:1:4")
    assert [(item.text, item.quoted) for item in b.items if isinstance(item, Scalar)] == [
        ("2.50", False),
        ("no", True),
        ("x", True),
    ]
    assert str(c.pairs[0][0].place) == "household.yaml:4:3"
    assert node.get("z") is None
    assert read_tree("# nothing\n", "household.yaml") is None


@pytest.mark.parametrize(
    "text",
    [
        "a: &x [1]\nb: *x\n",
        "a: !!python/object/apply:os.system [ls]\n",
        "a: {a: 1, a: 2}\n",
        "? [1, 2]\n: b\n",
        "{a: 1}: b\n",
        "a: 1\n---\nb: 2\n",
        "a: " + "[" * (DEEPEST + 1) + "]" * (DEEPEST + 1) + "\n",
        "a: " + "{b: " * 5000 + "1" + "}" * 5000 + "\n",
        "x" * (LARGEST + 1),
        "\ta: 1\n",
        "a: 'b\n",
        "a: \x07\n",
        "%YAML 9.9\n---\na: 1\n",
        "&a *a\n",
        "a: |2\n b\n",
    ],
    ids=range(15),
)
def test_what_no_keeper_needs_is_refused_in_a_sentence(text: str) -> None:
    """Anchors, tags, double keys, depth, size and broken YAML are one located problem."""
    with pytest.raises(TreeProblem) as caught:
        read_tree(text, "household.yaml")
    assert str(caught.value.problem.place).startswith("household.yaml:")
    assert caught.value.problem.advice


@given(st.text(alphabet="ab:-[]{}#&*!|>'\"%@` \n\t,?\x00\ufeff½", max_size=60))
def test_no_text_makes_the_tree_fail(text: str) -> None:
    """Whatever the text, it is a tree, nothing, or one problem."""
    found: TreeProblem | None = None
    try:
        read_tree(text, "household.yaml")
    except TreeProblem as wrong:
        found = wrong
    assert found is None or (found.problem.sentence and found.problem.place.line >= 1)


# ---- what came with the program


def test_the_shipped_catalogue_is_whole() -> None:
    """Every shipped material has a stream, and ranges in order, moisture and carbon within what can be."""
    materials = shipped.catalogue().materials
    assert len(materials) >= 60
    for material in materials.values():
        assert material.stream in STREAMS
        for figure in (
            material.moisture,
            material.nitrogen,
            material.carbon,
            material.density,
            material.each,
        ):
            assert figure is None or isinstance(figure, Range)
            assert figure is None or 0 <= figure.low <= figure.typical <= figure.high


def test_templates_and_tables_are_found() -> None:
    """The templates' folder is there, and every table of figures is read."""
    assert shipped.site_templates().is_dir()
    assert shipped.worms().kinds
    assert shipped.sources()
    assert shipped.factors().tables
    with pytest.raises(shipped.NotShipped):
        shipped.reference("nothing.yaml")

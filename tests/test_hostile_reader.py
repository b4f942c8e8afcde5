"""Made-up diaries and endless lines: the reader and the pages take them all, lose nothing and never hang.

MIDDENBOOK_FUZZ_LINES says how many lines are made up; `python -m tests.fuzz.reader` does more.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import pytest

from journal.commands.files import decode_one
from journal.notes.entries import Item, scan
from journal.notes.household import Giver, Household
from journal.notes.records import Prose
from journal.notes.verbs import VERBS
from journal.site import prose
from journal.site.discretion import Discretion
from tests.fuzz.reader import Judge, corpus, run
from tests.reader_words import HEADING, catalogue, read, told

LINES = int(os.environ.get("MIDDENBOOK_FUZZ_LINES", "40000"))
LONG = 100_000
FOREVER = 60
"""Seconds after which a test is taken to hang; what is tried takes a hundredth of it."""

# What each repeats is what some pattern of the reader or the pages looks for.
REPEATED = (
    "9", ", ", " and 1 lb bread", "1 lb bread, ", "(", "()", " ", "word ", "w", "<!-- ", "<!-- x -->",
    "`", "` ", "`<!--`", "*", "* ", "- ", "#", "2026-03-14 ", "(private) ", "1 lb 2 oz ", "1-",
    "about ", "1/", "68 F, ", "damp, ", " to Tub", ", on 2026-03-12", " from Larch House", "fed ", ":",
    "1,", "[", "[a](b)", "[a](", "[[a]", "![a](b.jpg)", "![", "<", "<b>", "&amp;", "| a ", "_", "~",
    ">", "\t", "🪱", "\u200d", "e\u0301", "\u202e", "2 lb peels ", "half ", "cu ", "1. ", "[a]: ",
    "&#x1F600;", "<http://a>", "\\", "Larch ", "Larch_", "Larch*", "the ", "]", "](", ")", "]:\n[a",
    "a|b\n-|-\n", "## 3/4/26 ", "$", "$5 on ", "½", "a couple of ", ". ", "; ",
)  # fmt: skip
BEFORE = (
    "",
    "- fed 1 lb bread",
    "- fed ",
    "- checked Tub: ",
    "- mixed bedding ",
    "- spent $",
    "## 2026-03-15 ",
)


@contextmanager
def not_forever(seconds: int = FOREVER) -> Iterator[None]:
    """Fail what hangs."""

    def ended(*_: object) -> None:
        raise TimeoutError(f"this took more than {seconds} s")

    if not hasattr(signal, "SIGALRM") or threading.current_thread() is not threading.main_thread():
        yield
        return
    earlier = signal.signal(signal.SIGALRM, ended)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, earlier)


def test_every_diary_of_the_corpus_is_read() -> None:
    """What once went wrong, and what every rule of the language is about, is read and nothing of it lost."""
    judge = Judge(catalogue())
    for content in corpus():
        judge.read(content)
    assert judge.records > 50


def test_made_up_diaries_are_read() -> None:
    """Diaries damaged at random are read: every item ends as one thing, every finding has a place."""
    judge = run(LINES, seed=20)
    assert judge.items > LINES / 4
    assert judge.records > LINES / 20


@pytest.mark.parametrize("repeated", REPEATED)
def test_an_endless_line_is_read_and_shown(repeated: str) -> None:
    """A line of a hundred thousand signs, of whatever sort, is read, and shown as prose, before long."""
    household = Household(givers={"Larch House": Giver("Larch House", 1, "a house")})
    discretion = Discretion(household)
    endless = repeated * (LONG // len(repeated))
    with not_forever():
        for before in BEFORE:
            notes = read(f"## 2026-03-14\n\n{before}{endless}\n")
            texts = [
                block.text for entry in notes.entries for block in entry.blocks if isinstance(block, Prose)
            ]
            if before == "":
                shown = discretion.words(endless)
                prose.render(shown)
                prose.opening(shown)
                prose.definitions([shown])
            assert sum(map(len, texts)) <= 2 * len(endless) + LONG


# A line of every verb with what may stand in it, a blank wherever one may be.
SPACED = (
    "took in 2 lb bread , on 2026-03-12 ; it is right",
    "shredded 2 lb bread from Larch House ( a , b ) , on 2026-03-12",
    "bought 2 lb bread from a shop . for about $4 on 2026-03-12",
    "mixed bedding Batch 7 on 2026-03-12 : 2 lb bread , 1 lb peels",
    "mixed a slurry Batch 7 ( old ) : 2 lb bread",
    "fed 2 lb bread and 1 lb peels , damp , from Larch House to Tub , on 12 March 2026",
    "bedded Tub with 2 lb bread",
    "added 1 lb worms from Tub to Tub",
    "moved 200 worms from Tub to Tub",
    "harvested 2 lb castings from Tub , rather wet",
    "returned 2 lb bread to Tub",
    "spread 2 lb castings on Plum",
    "gave 1 lb castings to Larch House",
    "picked 2 lb tomatoes from Plum",
    "checked Tub : 68 F , moisture 80 % , pH 7 , looks good",
    "checked Batch 7 : 68 F , on 2026-03-12",
    "threw out 1 lb bread out of Tub , on the 3rd of March 2026",
    "recycled 2 lb bread",
    "donated 2 lb bread to Tub",
    "spent $4 on a sieve , two pots & a lid , on 2026-03-12",
    "earned $4 for castings and worms",
)


def test_every_verb_has_a_line_in_which_blanks_are_tried() -> None:
    """No verb of the table is left out of what is padded with blanks."""
    assert [verb.name for verb in VERBS if not any(line.startswith(verb.name) for line in SPACED)] == []


@pytest.mark.parametrize("line", SPACED)
def test_a_long_run_of_blanks_anywhere_is_read_at_once(line: str) -> None:
    """Blanks in any gap of a line are passed over once each; tried in every way, they would take minutes."""
    words = line.split(" ")
    with not_forever(20):
        for gap in range(1, len(words)):
            blanks = " " * 15_000
            read(f"{HEADING}- {' '.join(words[:gap])}{blanks}{' '.join(words[gap:])}\n")


def test_blanks_do_not_change_what_a_line_says() -> None:
    """A line with long runs of blanks in it is read as the same line with single ones."""
    for line in SPACED:
        once, often = (told(read(HEADING + "- " + line.replace(" ", gap))) for gap in (" ", " " * 30))
        assert [" ".join(said.split()) for said in often.splitlines() if "problem" not in said] == [
            " ".join(said.split()) for said in once.splitlines() if "problem" not in said
        ]


def test_many_comments_in_one_line_are_taken_out_at_once() -> None:
    """Code spans of a line are looked for once, not again for each of its comments."""
    with not_forever(10):
        for before in ("`", "`a`"):
            assert scan("diary.md", before + "<!---->" * 50_000).lines == [before]


def test_a_name_among_marks_is_looked_for_quickly() -> None:
    """Marks of emphasis behind a part of a giver's name do not multiply the ways to look for it."""
    household = Household(givers={"Larch House": Giver("Larch House", 1, "a house")})
    with not_forever():
        for mark in ("_", "*", "~", "`", "-", "_*", "*_`~"):
            assert Discretion(household).words(f"Larch{mark * 3000}x") == f"Larch{mark * 3000}x"
            assert Discretion(household).words(f"Larch {mark}House") == "A house"


def test_many_pictures_in_a_row_are_shown() -> None:
    """Pictures above words in one paragraph are not tried in every combination."""
    with not_forever():
        html = prose.render(
            "![a](b.jpg)\n" * 200 + "words", lambda *_: '<figure class="picture"><img src="x"></figure>'
        )
    assert html.count("<figure") == 200


def test_lists_in_lists_without_end_are_read() -> None:
    """Three thousand lists, one in the other, lose no item; records among them count."""
    text = "## 2026-03-14\n\n" + "".join(f"{'  ' * depth}- fed 1 lb bread to Tub\n" for depth in range(3000))
    scanned = scan("diary.md", text)
    assert scanned.items == 3000
    assert _count(scanned.drafts[1].blocks) == 3000
    notes = read(text)
    assert len(notes.records) + len(notes.problems) == 3000


def _count(blocks: Sequence[object]) -> int:
    waiting = [block for block in blocks if isinstance(block, Item)]
    found = 0
    while waiting:
        item = waiting.pop()
        found += 1
        waiting += item.children or []
    return found


@pytest.mark.parametrize("order", [1, -1])
def test_batches_of_batches_without_end_are_read(order: int) -> None:
    """A row of a thousand batches, each made of the one before, is read in whatever order it is written."""
    lines = [f"- mixed bedding Row {number}: 1 cup Row {number - 1}" for number in range(1, 1000)][::order]
    notes = read("## 2026-03-14\n\n- mixed bedding Row 0: 1 lb bread\n" + "\n".join(lines) + "\n")
    assert not notes.problems
    assert len(notes.records) == 1000


def test_a_file_of_a_million_lines_is_read() -> None:
    """A million lines of prose are one entry, and a million empty ones none."""
    with not_forever():
        assert len(read("## 2026-03-14\n\n" + "words\n" * 1_000_000).entries) == 1
        assert not read("\n" * 1_000_000).entries


def test_bytes_that_are_no_text_name_their_place() -> None:
    """A zero or a broken sign is a problem at its line and column."""
    for content in (b"ab\ncd\0e", b"ab\ncd\xffe"):
        text, problem = decode_one("diary.md", content)
        assert text is None
        assert problem is not None
        assert (problem.place.line, problem.place.column) == (2, 3)

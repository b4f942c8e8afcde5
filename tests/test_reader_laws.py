"""Laws of the reader: nothing is lost, nothing raises, what is written back is read as the same."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from journal.measures.letters import holds_forbidden
from journal.notes import entries
from journal.notes.amounts import Unread
from journal.notes.entries import Item, scan
from journal.notes.items import Part
from journal.notes.known import Known
from journal.notes.lines import read_sentence
from journal.notes.names import fold, nearest, tokens
from journal.notes.reading import gather_batches, know, mixings_in, read_file, read_notes
from journal.notes.records import Prose
from journal.notes.writing import sentence
from tests.reader_words import HEADING, catalogue, keys_of, read, record_in_words

WORDS = [
    "- ", "* ", "+ ", "    - ", "\t- ", "fed ", "took in ", "mixed bedding ", "checked ", "threw out ",
    "spent ", "2 lb ", "1 1/2 cups ", "5 ", "about ", "1,5 kg ", "-2 ", "0 g ", "a bag of ", "bread ",
    "coffee grounds",
    " and ", ", ", " to ", " from ", " on ", " with ", " out of ", "Tub", "Cellar Bin", "Quince",
    "Larch House",
    "Batch 1", ": ", "68 F", "moisture 80%", "pH 7", "(", ")", "$5 ", ", on 2026-03-12", "\n", "\n\n", "  ",
    "## 2026-03-15\n", "## 3/4/26\n", "## Friday 14 March 2026\n", "---\n", "===\n", "```\n", "~~~\n",
    "<!--", "-->",
    "[x] ", "[ ] ", "it is right", "\0", "\u202e", "\u200d", "é", "🪱", "½", "\r\n", "\r", "`", ">", "#", "|",
]  # fmt: skip
TEXTS = st.one_of(
    st.lists(st.sampled_from(WORDS), max_size=40).map("".join),
    st.text(max_size=200),
    st.lists(st.one_of(st.sampled_from(WORDS), st.text(max_size=8)), max_size=30).map("".join),
)


def part_of(text: str) -> Part:
    """Read one file, with what its items ended as."""
    notes = read_notes({}, keys_of("household.yaml"), catalogue())
    scanned = scan("diary.md", text)
    mixings = gather_batches([mixings_in(scanned)], notes.household, notes.catalogue)
    return read_file(know(notes.household, notes.catalogue, mixings), scanned)


@given(TEXTS)
@settings(max_examples=400)
def test_every_item_ends_as_exactly_one_thing(text: str) -> None:
    """Each list item is a record or a part of one, prose, or a problem; none is lost or counted twice."""
    part = part_of(text)
    assert part.read + part.prose + part.unread == part.scanned.items


@given(TEXTS)
@settings(max_examples=400)
def test_no_text_makes_the_reader_fail(text: str) -> None:
    """Whatever is written, there are notes; every finding is a sentence at a place that exists."""
    notes = read(text)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff").split("\n")
    for found in (*notes.problems, *notes.remarks):
        assert found.sentence
        assert found.advice
        assert 1 <= found.place.line <= len(lines)
        assert 1 <= found.place.column <= len(lines[found.place.line - 1]) + 2


@given(st.text(max_size=60))
def test_any_line_behind_a_verb_is_a_record_or_a_problem(words: str) -> None:
    """An item that begins with a record verb is never taken for prose."""
    line = " ".join(words.split())
    if line.startswith("#") or "<!--" in line:
        return
    part = part_of(f"{HEADING}- fed {line}\n")
    assert part.prose == 0


FIRST_LINES = (
    "fed 2 lb bread to Tub", "fed 2 lb bread to", "fed 2 lb bread to Tubb", "took in 2 lb bread",
    "took in 2 lb bread,", "threw out 2 lb bread", "bought 1 lb coir", "checked Tub: 68 F",
    "spent $5 on a sieve",
    "mixed bedding Batch 1", "mixed bedding Batch 2: 1 lb bread", "it rained", "[ ] fed 2 lb bread to Tub",
    "2026-03-15",
)  # fmt: skip
FURTHER_LINES = (
    "it rained on us", "They loved it.", "(stale)", "and 3 lb leaves", "and 3 lb leavez",
    "3 lb leaves to Tub", "And 4 lb leaves", "from Larch House", "from Lark House", "From Larch House",
    "out of junk mail", "out of it",
    "for $4.50", "for $5.50 form Ada", "Cellar Bin", "on 2026-03-12", ", on 14/3/26", "pH 41", "5 eggshells",
    "fed 5 lb leaves to Tub", "-fed 6 lb leaves to Tub", "1. fed 7 lb leavez to Tub", "** stars **",
    "• got 8 lb leaves", "2026-03-16 Rain", "2026-03-17", "3 days later", "to Tub we gave nothing",
)  # fmt: skip
MEASURED_LINES = [line for line in FURTHER_LINES if " lb " in line or line[:1] == "5"]


@given(
    st.sampled_from(FIRST_LINES),
    st.lists(st.sampled_from(FURTHER_LINES), min_size=1, max_size=4, unique=True),
    st.sampled_from(["", "  "]),
)
@settings(max_examples=600)
def test_every_line_below_an_item_ends_as_exactly_one_thing(first: str, more: list[str], indent: str) -> None:
    """A further line is in its item's record, or in prose, or its item has a problem; never two of them."""
    notes = read(f"{HEADING}- {first}\n" + "".join(f"{indent}{line}\n" for line in more))
    records = " ".join(record.text for record in notes.records)
    prose = "\n".join(block.text for block in notes.entries[0].blocks if isinstance(block, Prose))
    lines = [line.strip() for line in prose.splitlines()]
    for line in more:
        if line in lines:
            assert lines.count(line) == 1
            assert f" {line}" not in records
        else:
            assert f" {line}" in records or notes.problems


@given(st.sampled_from(FIRST_LINES[:-3]), st.sampled_from(MEASURED_LINES), st.sampled_from(["", "  "]))
def test_no_amount_below_a_record_is_lost_in_silence(first: str, line: str, indent: str) -> None:
    """What has an amount, and stands below a record without a dash, is in the record or pointed out."""
    notes = read(f"{HEADING}- {first}\n{indent}{line}\n")
    found = {finding.place.line for finding in (*notes.problems, *notes.remarks)}
    assert found or line in " ".join(record.text for record in notes.records)


@given(TEXTS)
def test_records_without_a_date_do_not_exist(text: str) -> None:
    """Every record has a date, its entry's or its own, and a place in the text."""
    for record in read(text).records:
        assert isinstance(record.date, dt.date)
        assert record.place.line >= 1


AMOUNT_WORDS = st.one_of(
    st.decimals("0.01", 900, places=2).map(lambda number: f"{number} lb"),
    st.integers(1, 900).map(lambda number: f"{number} g"),
    st.tuples(st.integers(1, 30), st.integers(1, 15)).map(lambda pair: f"{pair[0]} lb {pair[1]} oz"),
    st.integers(1, 30).map(lambda number: f"about {number} lb"),
    st.tuples(st.integers(1, 5), st.integers(6, 9)).map(lambda pair: f"{pair[0]}-{pair[1]} kg"),
    st.sampled_from(["1 1/2 lb", "¾ lb", "half a lb", "a couple of lb", "1,250 g"]),
)
MATERIALS = st.sampled_from(["bread", "coffee grounds", "macaroni and cheese", "junk mail", "leaf mould"])
AMOUNTS = st.lists(st.tuples(AMOUNT_WORDS, MATERIALS).map(" ".join), min_size=1, max_size=4).map(
    lambda parts: ", ".join(parts[:-1]) + (" and " if parts[1:] else "") + parts[-1]
)
GIVERS = st.sampled_from(["Larch House", "Tom and Anna", "Smith, Jones and Co", "the Man from Number 9"])
BINS = st.sampled_from(["Tub", "the Cellar Bin", "Off to Market", "2 Gallon Bin", "🪱 Palace"])
REMARKS = st.sampled_from(["", " (soft)", ", rather late", " (it is right)", ". It rained.", ", 3 days late"])
DATES = st.one_of(st.just(""), st.dates(dt.date(1, 1, 1)).map(lambda day: f", on {day.isoformat()}"))
READINGS = st.lists(
    st.one_of(
        st.integers(-20, 150).map(lambda degrees: f"{degrees} F"),
        st.decimals(-20, 60, places=1).map(lambda degrees: f"{degrees} °C"),
    ),
    min_size=1,
    max_size=1,
)
SENTENCES = st.one_of(
    st.tuples(st.just("took in"), AMOUNTS, st.just("from"), GIVERS),
    st.tuples(st.just("fed"), AMOUNTS, st.just("from"), GIVERS, st.just("to"), BINS),
    st.tuples(st.just("fed"), AMOUNTS, st.just("to"), BINS),
    st.tuples(st.just("bedded"), BINS, st.just("with"), AMOUNTS),
    st.tuples(st.just("bought"), AMOUNTS, st.sampled_from(["for $7.25", "from Hodge's Feed for 12 EUR"])),
    st.tuples(st.just("recycled"), AMOUNTS),
    st.tuples(st.just("gave"), AMOUNTS, st.just("to"), GIVERS),
    st.tuples(st.just("mixed bedding Batch 7:"), AMOUNTS),
    st.tuples(st.just("threw out"), AMOUNTS, st.sampled_from(["", "out of junk mail", "out of Tub"])),
).map(" ".join)


@given(SENTENCES, REMARKS, DATES)
@settings(max_examples=300)
def test_what_is_written_back_is_read_as_the_same(line: str, remark: str, date: str) -> None:
    """parse(print(record)) = record, for any sentence put together from the language's parts."""
    notes = read(f"{HEADING}- {line.strip()}{remark}{date}\n")
    assert not notes.problems, notes.problems[0].sentence
    (record,) = notes.records
    written = sentence(record, on=dt.date(2026, 3, 14))
    again = read(f"{HEADING}- {written}\n")
    assert not again.problems, written
    (same,) = again.records
    assert replace_text(same) == replace_text(record)
    assert sentence(same, on=dt.date(2026, 3, 14)) == written


def replace_text(record: object) -> object:
    """A record without the text it was read from."""
    return replace(record, text="")  # type: ignore[type-var]  # a Record


@given(
    SENTENCES,
    AMOUNT_WORDS,
    st.sampled_from(["", " to Tub", " leaves", " of cofee grounds", " of it wet", " from Larch House"]),
    st.sampled_from([", ", ", stale, ", ". ", "; ", " — ", ", and ", ", then another "]),
)
def test_an_amount_behind_a_sentence_is_counted_or_told(
    line: str, amount: str, words: str, joint: str
) -> None:
    """However it is joined and whatever it is of, an amount is one of the sentence's or a problem."""
    notes = read(f"{HEADING}- {line.strip()}{joint}{amount}{words}\n")
    assert notes.problems or amount in {each.words for each in notes.records[0].amounts}


@given(BINS, READINGS, st.integers(0, 100), st.decimals(0, 14, places=1))
def test_readings_are_written_back_to_their_last_digit(
    name: str, degrees: list[str], moisture: int, acidity: object
) -> None:
    """A check written back has the same readings, on the scale in which they were read."""
    notes = read(f"{HEADING}- checked {name}: {degrees[0]}, moisture {moisture}%, pH {acidity}, fine\n")
    (record,) = notes.records
    again = read(f"{HEADING}- {sentence(record)}\n")
    assert record_in_words(again.records[0]) == record_in_words(record)


# ---- against CommonMark, by a parser we did not write

LINES = st.sampled_from(
    [
        "- fed 1 lb bread to Tub", "* it rained", "+ words", "  - inside", "    - inside", "words",
        "More words.",
        "", "", "* * *", "---", "> quoted", "# A heading", "```", "~~~", "-no item", "**bold** words",
        "1. numbered", "      - far inside",
    ]
)  # fmt: skip


@given(st.lists(LINES, max_size=14))
@settings(max_examples=500)
def test_items_at_the_margin_are_those_of_commonmark(lines: list[str]) -> None:
    """Items that begin at the margin are those that markdown-it-py finds there (CommonMark 0.31)."""
    scanned = scan("diary.md", "\n".join(lines))
    items = [block for draft in scanned.drafts for block in draft.blocks if isinstance(block, Item)]
    ours = {item.line for item in items if lines[item.line - 1][:1] in "-*+"}
    theirs = set()
    for token in MarkdownIt("commonmark").parse("\n".join(lines)):
        if token.type == "list_item_open" and token.markup in "-*+" and token.map is not None:
            line = lines[token.map[0]]
            if line[:1] in "-*+" and line.strip() not in "-*+":
                theirs.add(token.map[0] + 1)
    assert ours == theirs


# ---- names


@given(st.text(max_size=30))
def test_a_name_is_its_own_form(name: str) -> None:
    """Folding what is folded changes nothing, and case does not matter."""
    assert fold(fold(name)) == fold(name) or len(tokens(fold(name))) < len(tokens(name))
    assert fold(name.upper()) == fold(name.upper().lower()) or not name.isascii()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("boxes", "box"), ("peaches", "peach"), ("tomatoes", "tomato"), ("berries", "berry"),
        ("leaves", "leaf"),
        ("cookies", "cookie"), ("The Cellar Bin", "cellar bins"), ("Hodge’s Feed", "hodge's feed"),
        ("our tub", "Tub"),
        ("grass", "grasses"), ("🪱\ufe0f Palace", "🪱 palace"), ("STRASSE", "straße"),
        ("glass jar", "glass jars"),
    ],
)  # fmt: skip
def test_names_are_compared_as_people_mean_them(one: str, other: str) -> None:
    """Case, articles, plurals and marks that show nothing do not tell names apart."""
    assert fold(one) == fold(other)


@pytest.mark.parametrize(
    ("one", "other"), [("pea", "pear"), ("bus", "bu"), ("Batch 1", "Batch 10"), ("the", "a")]
)
def test_other_names_stay_apart(one: str, other: str) -> None:
    """What is another word stays another name."""
    assert fold(one) != fold(other)


def test_the_nearest_name_is_near() -> None:
    """A slip of a letter finds its name, in whatever order the names are listed; a stranger finds none."""
    names = ["coffee grounds", "corn cobs", "cocoa shells", "grounds"]
    assert nearest("cofee grounds", names) == nearest("cofee grounds", reversed(names)) == "coffee grounds"
    assert nearest("xylophone", names) is None
    assert nearest("", []) is None


# ---- dates, by the calendar of the standard library


@given(st.dates(dt.date(1, 1, 1)))
def test_every_date_is_read_in_every_form(day: dt.date) -> None:
    """Each day from 0001-01-01 to 9999-12-31, leap days among them, is read in all its forms."""
    month = day.strftime("%B")
    for words in (
        day.isoformat(),
        f"{day.day} {month} {day.year:04d}",
        f"{month} {day.day}, {day.year:04d}",
        f"{day.strftime('%A')} {day.day} {month} {day.year:04d}",
        f"{day.strftime('%a')}, {month[:3]} {day.day}, {day.year:04d}",
    ):
        notes = read(f"## {words} Title\n\nWords.\n")
        assert not notes.problems, words
        assert [(entry.date, entry.title) for entry in notes.entries] == [(day, "Title")]


@given(TEXTS)
@settings(max_examples=600)
def test_a_plain_item_is_taken_as_any_other(text: str) -> None:
    """The short way for items at the margin comes to the same as the way that looks for everything."""
    with pytest.MonkeyPatch.context() as patch:
        short = scan("diary.md", text)
        patch.setattr(
            entries._Scanner,
            "_add_plain_item",
            lambda scanner, line, number: scanner._marked(line, line, number),
        )
        assert scan("diary.md", text) == short


@given(st.text(st.characters(max_codepoint=0x2FF), max_size=6))
def test_signs_that_no_page_may_hold_are_found_in_any_text(text: str) -> None:
    """XML 1.0 forbids most controls; HTML those from 0x7F to 0x9F too.  Tab and line ends may stand."""
    forbidden = [sign for sign in text if unicodedata.category(sign) == "Cc" and sign not in "\t\n\r"]
    assert holds_forbidden(text) == bool(forbidden)


QUANTITIES = (
    "2 lb", "1.5 kg", "about 2 lb", "1 1/2 cups", "3", "2 lb 3 oz", "0 g", "9999 kg", "20000 kg", "2 stone",
)  # fmt: skip
BEHIND = (
    "coffee grounds to Cellar Bin", "of coffee grounds to Cellar Bin", "coffee grounds from Larch House",
    "banana peels, 2 cups coffee grounds and 3 eggshells to Cellar Bin", "banana peels to Nowhere",
    "banana peels (soft) to Cellar Bin, on 2026-03-12", "banana peels to Cellar Bin. It was wet",
    "stone fruit pits to Cellar Bin", "fruit pits to Cellar Bin", "a mystery out of Cellar Bin",
    "castings on Quince", "coffee grounds", "cofee grounds to Cellar Bin", "",
    "banana peels to Cellar Bin, 3 lb bread", "banana peels to Cellar Bin, 3 lb to Tub",
    "coffee grounds, very dry from Larch House", "coffee grounds for $2, $3 for the sack",
    "banana peels to Cellar Bin, 2026-03-12", "banana peels to Cellar Bin, fed 1 lb bred to Tub",
)  # fmt: skip
ITEMS = (
    "68 F", "pH 6", "pH 6,5", "moisture 80%", "80 to 85% moist", "72F", "temp 20 C", "mites", "65 F on top",
    "7", "pH 99", "5 mites", "-3 C", "about 20 C", "smells of rain", "70", "(70 F)", "80", "pH 6,7", "pH 7",
    "40 F outside", "68 F 80% pH 6", "the bedding was 68 F", "it was 70 F", "2026-03-12",
    "fed 1 lb bread to Tub",
)  # fmt: skip
LINES = st.one_of(
    st.tuples(
        st.sampled_from(["took in", "fed", "spread", "bought", "threw out", "gave", "picked", "bedded"]),
        st.sampled_from(QUANTITIES),
        st.sampled_from(BEHIND),
    ).map(" ".join),
    st.lists(st.sampled_from(ITEMS), min_size=1, max_size=4).map(
        lambda items: f"checked Cellar Bin: {', '.join(items)}"
    ),
)


@cache
def known_of(household: str, _which: str) -> Known:
    """The names that the cases' lines may use; each of the two has read other lines before."""
    notes = read_notes({}, keys_of(household), catalogue())
    return know(notes.household, notes.catalogue, {})


def outcome(known: Known, line: str) -> object:
    """What a line says, or what is wrong with it."""
    try:
        return read_sentence(known, line)
    except Unread as wrong:
        return wrong.fault, wrong.start, wrong.words, wrong.blanks


@pytest.mark.parametrize("household", ["household.yaml", "household_comma.yaml"])
@given(lines=st.lists(LINES, min_size=2, max_size=30))
@settings(max_examples=150)
def test_what_was_read_before_changes_nothing(household: str, lines: list[str]) -> None:
    """A line says the same, or is refused with the same words, whatever lines were read before it."""
    well_read, fresh = known_of(household, "well read"), known_of(household, "fresh")
    for line in lines:
        for kept in (fresh.sentences, fresh.alike, fresh.readings, fresh.quantities):
            kept.clear()
        assert outcome(well_read, line) == outcome(fresh, line)


@given(st.dates(dt.date(1, 1, 1)), st.integers(1, 6))
def test_a_wrong_weekday_is_always_found(day: dt.date, off: int) -> None:
    """A weekday that is not the date's is a problem that names the right one; the entry keeps its date."""
    names = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday".split()
    wrong = names[(day.weekday() + off) % 7]
    notes = read(f"## {wrong} {day.isoformat()}\n")
    assert [found.sentence for found in notes.problems] == [
        f"{day.isoformat()} is a {names[day.weekday()]}, not a {wrong}"
    ]
    assert [entry.date for entry in notes.entries] == [day]


@given(st.integers(0, 10001), st.integers(0, 13), st.integers(0, 32))
def test_a_day_that_does_not_exist_is_refused(year: int, month: int, day: int) -> None:
    """What datetime refuses is a problem here, and nothing else is."""
    try:
        dt.date(year, month, day)
    except ValueError:
        exists = False
    else:
        exists = True
    notes = read(f"## {year:04d}-{month:02d}-{day:02d}\n")
    assert bool(notes.problems) == (not exists)
    assert len(notes.entries) == exists


def test_iso_weeks_are_no_dates() -> None:
    """Week 53 and other ISO 8601 forms without month and day are headings like any other."""
    assert not read("## 2026-W53\n\nWords.\n").entries
    assert re.match(r"2020-W53", dt.date(2020, 12, 31).strftime("%G-W%V"))

"""What is private stays private: secrets are planted everywhere, and the whole site is searched for them."""

from __future__ import annotations

import io
import itertools
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from journal.notes.household import Giver, Household, Sharing
from journal.notes.names import Names, fold, spellings
from journal.site.discretion import Discretion
from tests.sites import published_from, words

HOUSEHOLD = """\
household: {name: Test house, people: 2, web address: "https://example.org/"}
bins:
  Lower Bin: {worms: red wigglers}
  Quillfeather's bin: {worms: red wigglers}
  HUSHSECRET box: {worms: red wigglers, kept in: CORNERSECRET, started: 2025-12-01}
givers:
  Zebediah Quillfeather: {shown as: a friend}
  The Quince & Marrow: {otherwise: landfill}
plantings: {Plum: {kind: fruit tree}, HEDGESECRET: {kind: KINDSECRET}}
measures: {bag of shredded paper: {weighed: [2.4 lb, 2.9 lb]}}
materials: {moonpulp: {stream: food scraps, waste: yes}, moonfruit: {stream: food scraps, waste: no}}
"""
ENTRIES = """\
## 2026-01-03 Zebediah Quillfeather came by

Zebediah  Quillfeather; *Zebediah* **Quillfeather**; ZEBEDIAH QUILLFEATHER's van; zebediah_quillfeather;
[Zebediah](https://example.org) `Quill`feather; Zebediah
Quillfeather; Zeb&#101;diah Quillfeather; the Quince &amp; Marrow; Quince & Marrow.

![Zebediah Quillfeather at the door](photos/shown.jpg "Zebediah Quillfeather waves")

<!-- COMMENTSECRET -->

```
FENCESECRET
```

- took in 3 lb newspaper from Zebediah Quillfeather (Zebediah Quillfeather said so)
- took in 1 bag of shredded paper from the Quince & Marrow
- checked Lower Bin: 66 F, smells of Zebediah Quillfeather
- gave 1 oz worms to Zebediah Quillfeather

## 2026-01-04 TITLESECRET (private)

PROSESECRET ![ALTSECRET](photos/kept.jpg)

- took in 4 lb newspaper from Zebediah Quillfeather (REMARKSECRET)
- fed 2 lb moonpulp to Lower Bin
- picked 1 lb moonfruit from Plum
- mixed bedding BATCHSECRET: 1 lb shredded paper, 3 lb water
- bedded Lower Bin with 1 lb BATCHSECRET
- spread 1 lb BATCHSECRET on Plum
- fed 1 lb banana peels to HUSHSECRET box
- checked HUSHSECRET box: 51 F, moisture 60%
- harvested 1 lb castings from HUSHSECRET box
- spread 4 oz castings on HEDGESECRET
- spent $4 on MONEYSECRET
- bought 1 lb coir for $3 from SHOPSECRET
- checked Lower Bin: 67 F, moisture 80%, SIGHTSECRET
- threw out 1 lb trash (TRASHSECRET)
"""
SECRETS = tuple(
    "Zebediah Quillfeather Quince Marrow COMMENTSECRET FENCESECRET TITLESECRET PROSESECRET ALTSECRET "
    "REMARKSECRET HUSHSECRET CORNERSECRET HEDGESECRET KINDSECRET BATCHSECRET MONEYSECRET SHOPSECRET "
    "SIGHTSECRET TRASHSECRET EXIFSECRET JPEGSECRET moonpulp moonfruit".split()
)


def photograph(colour: str) -> bytes:
    """A picture whose file says more than it shows: owner, place and a comment."""
    image = Image.new("RGB", (1200, 800), colour)
    exif = image.getexif()
    exif[270] = "EXIFSECRET description"
    exif[315] = "EXIFSECRET artist"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, comment=b"JPEGSECRET")
    return out.getvalue()


def lay_out(folder: Path, household: str, entries: str = ENTRIES) -> Path:
    """A journal with two pictures."""
    (folder / "entries" / "photos").mkdir(parents=True)
    (folder / "entries" / "household.yaml").write_text(household, encoding="utf-8")
    (folder / "entries" / "book.md").write_text(entries, encoding="utf-8")
    (folder / "entries" / "photos" / "shown.jpg").write_bytes(photograph("red"))
    (folder / "entries" / "photos" / "kept.jpg").write_bytes(photograph("blue"))
    return folder


def found_in(site: dict[str, bytes], secrets: tuple[str, ...]) -> list[str]:
    """Which secret stands in which file or file name, whatever its case."""
    return [
        f"{secret} in {name}"
        for name, data in site.items()
        for secret in secrets
        if secret.lower().encode() in data.lower() or secret.lower() in name.lower()
    ]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The site of a journal full of secrets."""
    household = HOUSEHOLD.replace("Quillfeather's bin", "Zebediah Quillfeather's bin")
    return published_from(lay_out(tmp_path_factory.mktemp("secrets"), household))


def test_no_secret_is_in_any_file_or_file_name(site: dict[str, bytes]) -> None:
    """Private words, own names, comments, fences and what pictures say of themselves reach no file."""
    assert not found_in(site, SECRETS)


def test_private_lines_still_count(site: dict[str, bytes]) -> None:
    """The amount, date and stream of a private line stand where its figure is told, its words do not."""
    month = words(site, "2026-01.html")
    assert "a private line: paper 4.00 lb (1.81 kg)" in month
    assert "4 January" in month
    assert b"2026-01-04" in site["data/movements.csv"]


def test_names_are_given_in_their_shown_form(site: dict[str, bytes]) -> None:
    """Everywhere a giver stands under the name agreed to, else as a neighbour."""
    month = words(site, "2026-01.html")
    assert "A friend came by" in month
    assert "took in 3 lb newspaper from a friend" in month
    assert "took in 1 bag of shredded paper from a neighbour 2" in month
    assert 'alt="A friend at the door"' in site["2026-01.html"].decode()


def test_no_words_of_the_household_file_tell_a_givers_name(tmp_path: Path) -> None:
    """Wherever in household.yaml a giver's name stands in words, no file of the site holds it."""
    household = """\
household: {name: Ottoline's friends, people: 2, place: beside Ottoline}
bins: {Ottoline's bin: {worms: red wigglers from Ottoline, kept in: shed of Ottoline}}
givers: {Ottoline: {shown as: a friend, otherwise: landfill}}
plantings: {Plum of Ottoline: {kind: plum of Ottoline from Kent}}
measures: {Ottoline bag: {weighed: [2.4 lb, 2.9 lb]}, Ottoline's box: {holds: 5 gal}}
materials: {peels of Ottoline: {stream: food scraps, waste: yes, density: 20 to 30 lb/cu ft}}
equivalents: {barrel of Ottoline: 20 lb}
"""
    entries = """\
## 2026-01-03 A day

- took in 1 Ottoline bag of newspaper from Ottoline
- fed 1 Ottoline's box of peels of Ottoline to Ottoline's bin
- mixed bedding Heap of Ottoline: 1 lb shredded paper, 3 lb water
- bedded Ottoline's bin with 1 lb Heap of Ottoline
- harvested 3 lb castings from Ottoline's bin
- spread 1 lb castings on Plum of Ottoline
"""
    site = published_from(lay_out(tmp_path, household, entries))
    assert not found_in(site, ("Ottoline",))
    assert "A friend's friends" in site["data/datapackage.json"].decode()
    assert "Plum of a friend from Kent." in words(site, "garden.html")


def test_the_picture_of_a_private_entry_is_not_published(site: dict[str, bytes]) -> None:
    """Only the picture of the open entry is among the files."""
    names = {name.rpartition("-")[0] for name in site if name.startswith("pictures/")}
    assert len(names) == 1


@pytest.mark.parametrize(
    ("sharing", "gone", "there"),
    [
        ("{entries: summary}", ("came by", "waves"), ("took in 3 lb newspaper",)),
        (
            "{entries: no}",
            ("came by", "newspaper from", "took in 3 lb", "Lower Bin", "Plum"),
            ("a private line: paper",),
        ),
        ("{givers: hidden}", ("a friend", "neighbour 2"), ("took in 3 lb newspaper from a neighbour",)),
        ("{givers: initials}", ("a friend",), ("took in 3 lb newspaper from AF",)),
    ],
)
def test_sharing_is_obeyed_in_every_file(
    tmp_path: Path, sharing: str, gone: tuple[str, ...], there: tuple[str, ...]
) -> None:
    """What is not to be shared is in no file of the site; what is, still is."""
    site = published_from(lay_out(tmp_path, f"{HOUSEHOLD}sharing: {sharing}\n"))
    assert not found_in(site, gone)
    month = words(site, "2026-01.html")
    assert all(wanted in month for wanted in there)


def test_without_shared_pictures_none_is_published(tmp_path: Path) -> None:
    """``pictures: no`` leaves no picture and no trace of one."""
    site = published_from(lay_out(tmp_path, f"{HOUSEHOLD}sharing: {{pictures: no}}\n"))
    assert not [name for name in site if name.startswith("pictures/")]
    assert "<img" not in site["2026-01.html"].decode()


NAMES = st.lists(
    st.text(alphabet="bcdfgknprst", min_size=3, max_size=9).map(str.capitalize), min_size=1, max_size=3
).map(" ".join)


AROUND = ("{}", "the {}", "*{}*", "{}'s", "_{}_ and", "<!-- {} -->", "x\n{}", "({})", "“{}”", "{}.")


@given(NAMES, st.sampled_from(AROUND))
def test_no_name_survives_in_words(name: str, around: str) -> None:
    """Whatever stands around it, a giver's own name is gone from published words."""
    household = Household(givers={name: Giver(name, 1, "a friend")})
    text = f"before {around.format(name)} after"
    assert name not in Discretion(household).words(text)
    assert name not in Discretion(household).words(text.replace(" ", "\n"))


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("Familie Weiß", "Familie Weiß"),
        ("Familie Weiß", "FAMILIE WEISS"),
        ("Familie Weiß", "familie *Weiß*"),
        ("Familie Weiß", "Familie Wei&szlig;"),
        ("Işıl Ak", "Işıl Ak"),
        ("Işıl Ak", "IŞIL AK"),
        ("Işıl Ak", "ışıl ak"),
        ("İpek", "İpek"),
        ("Zoë", "Zoe\u0308"),
        ("Zoe\u0308", "Zoë"),
        ("Łucja Żak", "ŁUCJA ŻAK"),
        ("Σοφία Νικολάου", "ΣΟΦΊΑ ΝΙΚΟΛΆΟΥ"),
        ("Ольга", "ОЛЬГИ и Ольга"),
    ],
)
def test_names_of_other_scripts_and_cases_are_replaced_too(name: str, written: str) -> None:
    """Beyond ASCII a name's small and large letters, and its two normal forms (UAX 15), are other signs."""
    household = Household(givers={name: Giver(name, 1, "a friend")})
    told = Discretion(household).words(f"a bag from {written}, before rain")
    assert "a friend" in told
    assert unicodedata.normalize("NFC", name).casefold() not in unicodedata.normalize("NFC", told).casefold()


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("D'Arcy", "D’Arcy"),
        ("D’Arcy", "D'Arcy"),
        ("D'Arcy", "D&rsquo;Arcy"),
        ("Potters", "Potter"),
        ("Potter", "the Potters"),
        ("Cherry", "the Cherries"),
        ("Cherries", "*Cherry*"),
        ("Foxes' Den", "Fox' Den"),
        ("Knives & Forks", "Knife & Fork"),
        ("Nell & Ivo", "Nell&Ivo"),
        ("Nell&Ivo", "Nell &amp; Ivo"),
        ("No. 5 + 7", "No.5+7"),
        ("Thorn House", "Thorn\u200b House"),
        ("Thorn House", "Thorn\u2060House"),
        ("Thorn House", "Tho\u00adrn Ho\u00aduse"),
        ("Thorn House", "Tho&shy;rn *House*"),
        ("Th\u200bora", "Thora"),
        ("Our Garden Circle", "some Garden Circles"),
        ("Griffin", "Gri\ufb03n"),
        ("Preuß", "PREUSSE"),
        ("Tess!", "Tess"),
    ],
)
def test_a_name_is_replaced_however_a_line_may_spell_it(name: str, written: str) -> None:
    """Apostrophes, plurals, spaces around signs, unseen marks and ligatures make no other name."""
    household = Household(givers={name: Giver(name, 1, "a friend")})
    told = Discretion(household).words(f"took in 1 lb newspaper from {written}, before rain")
    assert told.replace("*", "") == "took in 1 lb newspaper from a friend, before rain"


def test_a_shown_form_that_holds_a_name_is_left_alone() -> None:
    """Whoever agreed to be shown by a longer name is not shown by one longer still."""
    givers = {"Ash": Giver("Ash", 1, "the Ash family"), "Elm": Giver("Elm", 2, "friends of Ash")}
    told = Discretion(Household(givers=givers)).words("*rain*, then Ash & Elm; gr\ufb03")
    assert told == "*rain*, then the Ash family & friends of Ash; gr\ufb03"


WORDS = st.text(alphabet="abelnorsxyß", min_size=1, max_size=7).map(str.capitalize)
SIGNS = st.sampled_from((" ", " & ", "&", "'", "’", "-", " + ", ". ", "/"))
ROWS = st.lists(st.tuples(WORDS, SIGNS), min_size=1, max_size=3)
CASES: tuple[Callable[[str], str], ...] = (str, str.upper, str.lower, str.title)
MARKS = st.sampled_from(("", "", "\u00ad", "\u200b", "\u2060", "\ufe0f"))


@st.composite
def names_and_spellings(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """Make up givers' names, and for each a spelling that a line may have."""
    names, spelt = [], []
    for row in draw(st.lists(ROWS, min_size=1, max_size=3)):
        names.append("".join(word + sign for word, sign in row[:-1]) + row[-1][0])
        told = ""
        for word, sign in row:
            other = draw(st.sampled_from(CASES))(draw(st.sampled_from([word, *spellings(word)])))
            at = draw(st.integers(0, len(other)))
            told += other[:at] + draw(MARKS) + other[at:]
            told += draw(st.sampled_from([sign, sign.replace("'", "’"), sign.strip() or sign, f" {sign} "]))
        spelt.append(draw(st.sampled_from(("", "the ", "Our ", "some "))) + told)
    return names, spelt


@given(names_and_spellings(), st.sampled_from(("from {}", "{}, {}", "x ({})!", "*{}* & y", "{}é")))
def test_no_name_that_a_line_would_be_read_with_is_left(
    made: tuple[list[str], list[str]], around: str
) -> None:
    """Whatever is read as a giver in words of the keeper is not read in the words published."""
    names, spelt = made
    household = Household(givers={name: Giver(name, at, "0") for at, name in enumerate(names, 1)})
    told = Discretion(household).words(" ; ".join(around.replace("{}", one) for one in spelt))
    assert not list(Names((name, name) for name in names).within(told))


def test_every_spelling_of_a_word_is_known() -> None:
    """All short words that compare as another does are among its spellings."""
    ends = ["".join(signs) for size in range(1, 6) for signs in itertools.product("esiyxo", repeat=size)]
    words = [*ends, *(f"ba{end}" for end in ends if len(end) < 5)]
    by_form: dict[str, set[str]] = {}
    for word in words:
        by_form.setdefault(fold(word), set()).add(word)
    assert all(found <= set(spellings(word)) for found in by_form.values() for word in sorted(found)[:2])


def test_a_name_without_a_letter_replaces_nothing() -> None:
    """A giver called "..." has no name that could be read anywhere."""
    household = Household(givers={"...": Giver("...", 1, "a friend")})
    assert Discretion(household).words("Rain ... and sun.") == "Rain ... and sun."


def test_only_whole_names_are_replaced() -> None:
    """A giver called Art does not change what is said of art history's Arthur."""
    household = Household(givers={"Art": Giver("Art", 1, "a friend")})
    assert Discretion(household).words("Arthur starts, said Art.") == "Arthur starts, said a friend."


def test_the_longest_name_wins() -> None:
    """A name within another name is not replaced inside it."""
    household = Household(
        givers={"Elm": Giver("Elm", 1, "one"), "Elm House": Giver("Elm House", 2, "two")}, sharing=Sharing()
    )
    assert Discretion(household).words("from Elm House and Elm") == "from two and one"


GIVERS = (
    "Elm House",
    "The Quince & Marrow",
    "O'Neil-Ray",
    "Art",
    "Straße 9",
    "Zoë",
    "ıvo",
    "Ivo",
    "...",
    "a.b",
    "Cherries",
    "Knife & Nell",
    "Our Circle",
)
PIECES = [
    *(word for name in GIVERS for word in name.split(" ")),
    *(
        "ELM",
        "house",
        "elm-house",
        "Elm_House",
        "ELMS",
        "o'neil",
        "STRASSE 9",
        "cherry",
        "Cherrys",
        "O’Neil Ray",
        "knives&nell",
        "circles",
        "&shy;",
        "Ivo",
        "İvo",
        "\u212a",
        "Rain",
    ),
    *(
        "the ",
        "our ",
        "*",
        "`",
        "[",
        "](x)",
        "&#69;lm",
        "&#305;vo",
        "&#x212a;",
        "\\",
        " ",
        "  ",
        "\n",
        "-",
        ".",
        "x",
        "Rain",
    ),
]


ASCII_GIVERS = [name for name in GIVERS if name.isascii()]


@given(
    st.sampled_from((GIVERS, ASCII_GIVERS)).flatmap(
        lambda names: st.lists(st.sampled_from(names), unique=True, max_size=4)
    ),
    st.lists(st.sampled_from(PIECES), max_size=12).map("".join),
)
def test_the_quick_look_for_names_passes_none_over(names: list[str], text: str) -> None:
    """What is said of a text without looking at it closely is what the close look says."""
    household = Household(givers={name: Giver(name, at, "a friend") for at, name in enumerate(names, 1)})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Discretion, "_stays", lambda *_: False)
        closely = Discretion(household).words(text)
    assert Discretion(household).words(text) == closely

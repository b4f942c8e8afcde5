"""Names of right-to-left letters stand in sentences without turning what is around them."""

from __future__ import annotations

import unicodedata

import pytest

from journal.site.wording import isolated, names_within, with_isolated
from tests.sites import Site, pages, published, soup, words

BIN, GIVER, CROP = "קופסה 2", "جارتنا", "عنب"
HOUSEHOLD = f"""\
household: {{name: Test house}}
bins: {{{BIN}: {{worms: red wigglers}}, Shelf: {{worms: red wigglers}}}}
givers: {{Samira: {{shown as: {GIVER}, otherwise: landfill}}}}
plantings: {{Arbour: {{kind: fruit tree}}}}
materials: {{{CROP}: {{stream: garden}}}}
otherwise: {{food scraps: landfill}}
"""
ENTRIES = f"""\
## 2026-02-10 {GIVER}

- fed 3 lb apple cores from Samira to {BIN}
- fed 1 lb apple cores from Samira to Shelf
- checked {BIN}: 66 F, moisture 80%
- mixed bedding One
    - 2 lb {CROP}
    - 3 lb water
- bedded {BIN} with 1 lb One
"""


def apart(name: str) -> str:
    """A name between the two signs that set it apart (Unicode Standard Annex 9: FSI and PDI)."""
    return f"\u2068{name}\u2069"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """The site of a household whose bin and giver bear such names."""
    return published(tmp_path_factory.mktemp("turned"), ENTRIES, HOUSEHOLD)


def test_the_way_of_a_line_leads_from_left_to_right(site: Site) -> None:
    """Both names are set apart, and the arrow is outside of them."""
    paths = [path.get_text() for path in soup(site, "2026-02.html").select(".lines .path")]
    assert f"{apart(GIVER)} → {apart(BIN)}" in paths
    assert f"{apart(GIVER)} → Shelf" in paths


def test_a_line_keeps_its_order_beside_a_name(site: Site) -> None:
    """What follows a name in a keeper's line stays behind it, a number in the name stays in it."""
    lines = [line.get_text() for line in soup(site, "2026-02.html").select(".lines li > span:first-child")]
    assert f"checked {apart(BIN)}: 66 F, moisture 80%" in lines
    assert f"fed 3 lb apple cores from {apart(GIVER)} to {apart(BIN)}" in lines


def test_a_share_stands_behind_the_name_it_is_of(site: Site) -> None:
    """Where a giver's waste went is a list of names, each with its share."""
    assert f"Where it went: {apart(BIN)} 75 % and Shelf 25 %." in words(site, "givers.html")


def test_a_material_of_a_recipe_is_set_apart(site: Site) -> None:
    """Amounts follow one another in the order written: 2 lb of the first, 3 lb of the second."""
    assert f"2 lb {apart(CROP)} (0.907 kg) and 3 lb water (1.36 kg): " in words(site, "2026-02.html")


def test_the_feed_keeps_title_and_date_apart(site: Site) -> None:
    """A feed reader shows plain text."""
    assert f"<title>{apart(GIVER)} · 10 February 2026</title>" in site["feed.xml"].decode()


def test_no_open_data_holds_such_a_sign(site: Site) -> None:
    """The signs are for the eye: names in the data files are the names."""
    for name, data in site.items():
        if name.startswith("data/"):
            assert "\u2068" not in data.decode(), name


def test_other_sites_bear_no_such_sign(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Names of other letters are written as ever, accents or not."""
    plain = HOUSEHOLD.replace(BIN, "Éva’s Kiste").replace(GIVER, "наш сосед").replace(CROP, "ブドウ")
    entries = ENTRIES.replace(BIN, "Éva’s Kiste").replace(GIVER, "наш сосед").replace(CROP, "ブドウ")
    site = published(tmp_path_factory.mktemp("plain"), entries, plain)
    assert not [name for name in pages(site) if "\u2068" in site[name].decode()]


def test_every_right_to_left_letter_is_known_as_one() -> None:
    """The judge is Python's copy of the Unicode Character Database (Bidi_Class R and AL)."""
    marks = {"\u200f"}  # the right-to-left mark is no letter
    for number in range(0x110000):
        letter = chr(number)
        if unicodedata.bidirectional(letter) in {"R", "AL"} and letter not in marks:
            assert isolated(letter) == apart(letter), hex(number)
        elif unicodedata.bidirectional(letter) == "L":
            assert isolated(letter) == letter, hex(number)


def test_what_is_apart_stays_as_it_is() -> None:
    """No name is set apart twice."""
    assert isolated(apart(GIVER)) == apart(GIVER)
    assert isolated(f"{apart(CROP)} on hand") == f"{apart(CROP)} on hand"


def test_words_that_are_no_name_are_set_apart_too() -> None:
    """Two stretches with an English word between them are two; spaces between words belong to one."""
    names = names_within([BIN, "Shelf"])
    told = with_isolated(f"took in 2 lb ענבים ירוקים from {GIVER}, 3 lb more for {BIN}", names)
    assert told == f"took in 2 lb {apart('ענבים ירוקים')} from {apart(GIVER)}, 3 lb more for {apart(BIN)}"

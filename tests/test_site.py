"""The site as a publication: its files, its links, the same bytes everywhere, the keeper's own templates."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from journal.commands.console import Refusal
from journal.reckoning.spans import Span
from journal.site.memory import Recollection
from journal.site.views.tables import share_words
from tests.conftest import CHECKOUT
from tests.journals import HOUSEHOLD, lay_out
from tests.sites import pages, published, published_from, soup, words

ENTRIES = """\
## 2025-12-30 Before the year turned

A cold one.

- took in 4 lb newspaper from Elm House
- fed 2 lb banana peels to Lower Bin
- checked Lower Bin: 60 F, moisture 75%

## 2026-01-02

- took in 3 lb newspaper from Nora Quist
- mixed bedding One
    - 2 lb shredded paper
    - 3 lb water
- fed about 1 lb banana peels to Lower Bin

## 2026-02-10 Sifted

- harvested 5 lb castings from Lower Bin
- spread 2 lb castings on Plum
- threw out 0.5 lb plastic windows
- checked Lower Bin: 64 F, moisture 80%
"""
ADDRESS = HOUSEHOLD.replace("units: us", 'units: us, web address: "https://example.org/worms"')


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A small site with an address."""
    return published(tmp_path_factory.mktemp("site"), ENTRIES, ADDRESS)


def test_the_site_has_the_files_it_is_known_by(site: dict[str, bytes]) -> None:
    """Home, a page a year and a month, givers, bins, bedding, garden, reckoning, side files and cards."""
    expected = {
        "index.html", "year-2025.html", "year-2026.html", "2025-12.html", "2026-01.html", "2026-02.html",
        "givers.html", "bins.html", "bin-lower-bin.html", "bin-upper-bin.html", "bedding.html", "garden.html",
        "reckoning.html", "sheet-2025.html", "sheet-2026.html", "feed.xml", "sitemap.xml", "favicon.svg",
        "data/movements.csv", "data/datapackage.json", "cards/2025.png", "cards/2026.png",
    }  # fmt: skip
    assert expected <= site.keys()


def test_every_link_within_the_site_leads_to_a_file_and_a_place_in_it(site: dict[str, bytes]) -> None:
    """No page names a file or an anchor that is not there."""
    anchors = {name: {str(tag["id"]) for tag in soup(site, name).select("[id]")} for name in pages(site)}
    broken = []
    for name in pages(site):
        for tag in soup(site, name).select("a[href]"):
            parts = urlsplit(str(tag["href"]))
            if parts.scheme:
                continue
            target = parts.path or name
            if target not in site or (parts.fragment and parts.fragment not in anchors.get(target, set())):
                broken.append(f"{name}: {tag['href']}")
    assert not broken


def test_links_are_relative_so_that_any_folder_will_do(site: dict[str, bytes]) -> None:
    """No page names a file by the root of a host: it works from a sub-folder and from a disk."""
    for name in pages(site):
        for tag in soup(site, name).select("[href], [src]"):
            target = str(tag.get("href") or tag.get("src"))
            assert not target.startswith("/"), f"{name}: {target}"


def test_ids_stand_once_on_a_page(site: dict[str, bytes]) -> None:
    """An anchor means one place."""
    for name in pages(site):
        ids = [str(tag["id"]) for tag in soup(site, name).select("[id]")]
        assert len(ids) == len(set(ids)), name


def test_no_page_runs_a_script(site: dict[str, bytes]) -> None:
    """The only script element is the description for machines, and no element has a handler."""
    for name in pages(site):
        page = soup(site, name)
        assert all(tag.get("type") == "application/ld+json" for tag in page.find_all("script")), name
        handlers = [
            attribute for tag in page.find_all() for attribute in tag.attrs if attribute.startswith("on")
        ]
        assert not handlers, name


def test_the_address_is_told_only_where_there_is_one(tmp_path: Path, site: dict[str, bytes]) -> None:
    """Canonical links, link previews, the sitemap and the code on the sheet need the household's address."""
    assert 'rel="canonical" href="https://example.org/worms/2026-01.html"' in site["2026-01.html"].decode()
    assert b"<loc>https://example.org/worms/2026-01.html</loc>" in site["sitemap.xml"]
    without = published(tmp_path, ENTRIES)
    assert "sitemap.xml" not in without
    text = without["year-2026.html"].decode()
    assert "canonical" not in text
    assert "og:" not in text
    assert "QR code" not in text


def test_the_map_of_the_site_names_every_page_that_people_read(site: dict[str, bytes]) -> None:
    """All pages once, the first page under the site's own address; sheets are for mailing only."""
    told = re.findall(rb"<loc>https://example.org/worms/([^<]*)</loc>", site["sitemap.xml"])
    read = {name for name in pages(site) if not name.startswith("sheet-")}
    assert sorted(told) == sorted(b"" if name == "index.html" else name.encode() for name in read)


def test_a_page_stays_light(site: dict[str, bytes]) -> None:
    """Home with everything it needs is at most 150 kB, any page at most 300 kB."""
    assert len(site["index.html"]) <= 150_000
    assert all(len(site[name]) <= 300_000 for name in pages(site))


def test_a_long_journal_keeps_its_pages_light(tmp_path: Path) -> None:
    """Eight years of daily lines: home at most 150 kB, any page at most 300 kB, no chart of many marks."""
    lines = (
        "- took in 2 lb newspaper from Elm House\n- fed 1 lb banana peels to Lower Bin\n"
        "- checked Lower Bin: 66 F\n"
    )
    days = [
        f"## {year}-{month:02d}-{day:02d}\n\n{lines}"
        for year in range(2018, 2026)
        for month in range(1, 13)
        for day in range(1, 29)
    ]
    long = published(tmp_path, "\n".join(days))
    assert len(long["index.html"]) <= 150_000
    assert all(len(long[name]) <= 300_000 for name in pages(long))
    for name in ("index.html", "bin-lower-bin.html"):
        for drawing in soup(long, name).select("figure > svg"):
            assert len(drawing.find_all(["path", "line", "rect", "text"])) <= 250, name


def test_the_journal_alone_decides_the_bytes(tmp_path: Path) -> None:
    """Another folder, hash seed, time zone and locale, files laid down in another order: the same bytes."""
    first = {"a.md": ENTRIES[: ENTRIES.index("## 2026-02")], "b.md": ENTRIES[ENTRIES.index("## 2026-02") :]}
    sums = []
    surroundings = (("0", "UTC", "C.UTF-8"), ("4711", "Asia/Kathmandu", "C"))
    for at, (seed, zone, locale) in enumerate(surroundings):
        folder = tmp_path / f"place {at}"
        (folder / "entries").mkdir(parents=True)
        for name in sorted(first, reverse=bool(at)):
            (folder / "entries" / name).write_text(first[name], encoding="utf-8")
        (folder / "entries" / "household.yaml").write_text(ADDRESS, encoding="utf-8")
        program = (
            "import sys, hashlib; from pathlib import Path; from tests.sites import published_from\n"
            "for name, data in published_from(Path(sys.argv[1])).items():"
            " print(hashlib.sha256(data).hexdigest(), name)"
        )
        done = subprocess.run(
            [sys.executable, "-c", program, str(folder)],
            env={
                **os.environ, "PYTHONPATH": str(CHECKOUT), "PYTHONHASHSEED": seed,
                "TZ": zone, "LC_ALL": locale, "PYTHONUTF8": "1",
            },
            capture_output=True, encoding="utf-8", check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        sums.append(done.stdout)
    assert sums[0] == sums[1]


def test_a_remembered_site_is_the_same_site(tmp_path: Path) -> None:
    """With all remembered from an earlier run, and after a changed line, the bytes are a cold run's."""
    memory = Recollection()
    for entries in (ENTRIES, ENTRIES, ENTRIES.replace("3 lb newspaper", "3.5 lb newspaper")):
        folder = lay_out(tmp_path, entries)
        warm = published_from(folder, memory=memory)
        assert warm == published_from(folder)


def test_nothing_is_remembered_under_a_key_that_leaves_something_out(tmp_path: Path) -> None:
    """Changed units change every page that shows a weight, though the entries are the same."""
    memory = Recollection()
    for household in (HOUSEHOLD, HOUSEHOLD.replace("units: us", "units: metric")):
        folder = lay_out(tmp_path, ENTRIES, household)
        warm = published_from(folder, memory=memory)
        assert warm == published_from(folder)


def test_a_place_is_shown_where_the_keeper_wrote_one(tmp_path: Path, site: dict[str, bytes]) -> None:
    """What household.yaml says of the place stands on the first page and the yearly sheet, without names."""
    household = HOUSEHOLD.replace("units: us", "units: us, place: a lane behind Nora Quist’s")
    placed = published(tmp_path, ENTRIES, household)
    assert "Where we are: a lane behind a friend’s." in words(placed, "index.html")
    assert "Test house, a lane behind a friend’s: what stayed out" in words(placed, "sheet-2026.html")
    assert "Where we are" not in words(site, "index.html")
    assert "Test house: what stayed out" in words(site, "sheet-2026.html")


def test_a_range_that_rounds_to_its_own_value_is_not_shown() -> None:
    """A share is followed by its range only where the range says something."""
    assert share_words(Span(0.258, 0.26, 0.262)) == "26\u00a0%"
    assert share_words(Span(0.22, 0.26, 0.31)) == "26\u00a0% (22\u00a0% to 31\u00a0%)"


def test_no_line_ends_between_a_figure_and_its_unit(site: dict[str, bytes]) -> None:
    """Readings and ranges keep a number, or the bracket behind it, and its unit together as weights do."""
    bin_page, bedding = soup(site, "bin-lower-bin.html"), soup(site, "bedding.html")
    figures = [figure.get_text() for figure in bin_page.select("figure.chart")]
    told = " ".join([*figures, *(fact.get_text() for fact in bedding.select("dl.plain dd, td"))])
    assert {"°F", "%"} <= set(re.findall(r"[\d)]\u00a0(°F|%)", told))
    assert not re.findall(r"[\d)] (?:°F|%|lb)(?!\w)", told)


def test_the_first_page_gives_no_licence(site: dict[str, bytes]) -> None:
    """Whether the numbers may be copied is the household's to say; the page says how they can be checked."""
    told = words(site, "index.html")
    assert "may be copied" not in told
    assert "how they were worked out are there to be checked" in told


def test_an_empty_journal_has_a_site(tmp_path: Path) -> None:
    """Before the first entry there is a site that says so."""
    site = published(tmp_path, "")
    assert "Nothing is written yet" in words(site, "index.html")


def test_years_at_the_ends_of_the_calendar_are_published(tmp_path: Path) -> None:
    """The years 1 and 9999 have their pages."""
    entries = "## 0001-01-01\n\n- fed 1 lb banana peels to Lower Bin\n\n## 9999-12-31 End\n\nLast.\n"
    site = published(tmp_path, entries)
    assert {"year-0001.html", "0001-01.html", "year-9999.html", "9999-12.html"} <= site.keys()


def test_a_keepers_template_comes_first_and_can_extend_the_shipped_one(tmp_path: Path) -> None:
    """A template of the journal's own is used, and reaches the program's under ``shipped/``."""
    own = tmp_path / "site_templates"
    own.mkdir()
    (own / "givers.html").write_text(
        '{% extends "shipped/givers.html" %}{% block colophon %}MY OWN END{% endblock %}', encoding="utf-8"
    )
    site = published(tmp_path, ENTRIES)
    assert "MY OWN END" in words(site, "givers.html")
    assert "a house nearby" in words(site, "givers.html")
    assert "MY OWN END" not in words(site, "bins.html")


@pytest.mark.parametrize(
    ("template", "said"),
    [
        ("{% if %}", r"givers\.html:1: the template cannot be read"),
        (
            "one\n{{ nobody_knows_this }}",
            r"givers\.html:2: the template cannot be filled: .*nobody_knows_this",
        ),
        ('{% extends "gone.html" %}', r"there is no template gone\.html"),
        ("{{ 1 / 0 }}", r"givers\.html:1: the template cannot be filled"),
        ('\n{% include ".parts/end.html" %}', r"givers\.html:2: .*hidden files are not used.*without a dot"),
    ],
    ids=["not a template", "an unknown name", "a lost parent", "a fault of its own", "a hidden part"],
)
def test_a_template_with_a_fault_is_told_by_file_and_line(tmp_path: Path, template: str, said: str) -> None:
    """What is wrong with a keeper's template comes as one sentence with its place, remembered or not."""
    own = tmp_path / "site_templates"
    own.mkdir()
    (own / "givers.html").write_text(template, encoding="utf-8")
    memory = Recollection()
    for _ in range(2):
        with pytest.raises(Refusal, match=said):
            published_from(lay_out(tmp_path, ENTRIES), memory=memory)


def test_names_of_the_household_are_text_wherever_they_stand(tmp_path: Path) -> None:
    """Markup in a name is shown as the letters it is, on every page and in the feed."""
    evil = "<script>alert('x')</script>"
    household = (
        f'household: {{name: "{evil}", people: 2}}\nbins: {{"{evil}": {{worms: red wigglers}}}}\n'
        f'givers: {{Ann: {{shown as: "{evil}"}}}}\nplantings: {{"{evil} tree": {{kind: fruit tree}}}}\n'
    )
    site = published(tmp_path, "## 2026-01-01\n\n- took in 1 lb newspaper from Ann\n", household)
    for name in [*pages(site), "feed.xml", "favicon.svg"]:
        assert "<script>alert" not in site[name].decode(), name
    assert evil in words(site, "index.html")


def test_what_could_not_be_read_is_counted_on_the_site(tmp_path: Path) -> None:
    """Published without its unreadable lines, the site says how many there are."""
    folder = lay_out(tmp_path, ENTRIES + "\n- fed 1 lb moonbeams to Lower Bin\n")
    site = published_from(folder, problems=1)
    assert "1 line of the diary could not be read and is not counted." in words(site, "index.html")


def test_the_style_needs_no_other_file(site: dict[str, bytes]) -> None:
    """Style sheet and charts stand in the page; fonts and pictures of other hosts are never asked for."""
    for name in pages(site):
        text = site[name].decode()
        assert "@import" not in text, name
        assert not re.search(r"url\((?!#)", text), name
        assert not soup(site, name).select('link[rel="stylesheet"]'), name


def test_an_address_too_long_for_a_code_has_none(tmp_path: Path) -> None:
    """The largest code of ISO/IEC 18004 holds 2,331 bytes at level M; beyond, the sheet goes without."""
    household = (
        f'household: {{name: A, web address: "https://example.org/{"a" * 2400}/"}}\nbins: {{Tub: {{}}}}\n'
    )
    site = published(tmp_path, "## 2026-01-02\n- fed 1 lb bread to Tub\n", household)
    assert "QR code" not in site["year-2026.html"].decode()


def test_each_bin_has_a_page_of_its_own_whatever_the_names_have_in_common(tmp_path: Path) -> None:
    """Names that differ in signs only, or that look like a numbered one, never share a file."""
    household = "household: {name: A}\nbins: {Bin A: {}, Bin A 3: {}, Bin Á: {}}\n"
    site = published(tmp_path, "## 2026-01-02\n- fed 1 lb bread to Bin A\n", household)
    heads = [
        re.findall(r"<h1>(.*?)</h1>", page.decode())[0]
        for name, page in site.items()
        if name.startswith("bin-")
    ]
    assert sorted(heads) == ["Bin A", "Bin A 3", "Bin Á"]

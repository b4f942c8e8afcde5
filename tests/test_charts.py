"""Charts: what they show adds up, they stay small, and a page can give them its colours and its letters."""

from __future__ import annotations

import re
import threading
from itertools import pairwise
from pathlib import Path
from typing import Any

import altair
import jsonschema
import pytest
from bs4 import BeautifulSoup, Tag
from hypothesis import given
from hypothesis import strategies as st

from journal.site import charts, drawing
from journal.site.chart_lines import steps_between
from journal.site.chart_parts import LINE, nudged, scale_of, ticks
from journal.site.draughtsman import NO_FONTS, Draughtsman
from journal.site.draughtsman import drawn as drawn_here
from journal.site.views.drawn import Charts
from tests.sites import published, soup

MONTHS: dict[str, Any] = {
    "kind": "stacked",
    "data": {
        "periods": list("JFM"),
        "streams": ["paper", "food scraps"],
        "rows": [
            {"at": 0, "stream": "paper", "low": 0, "high": 5, "guess": False},
            {"at": 0, "stream": "food scraps", "low": 5, "high": 7, "guess": True},
            {"at": 2, "stream": "food scraps", "low": 0, "high": 4, "guess": False},
        ],
        "whiskers": [{"at": 0, "low": 6, "high": 8}, {"at": 2, "low": 3.99, "high": 4.01}],
        "labels": [{"stream": "food scraps", "value": 2, "edge": 1.0}],
        "right": 104,
    },
}
COURSE: dict[str, Any] = {
    "kind": "readings",
    "data": {
        "rows": [{"day": day, "value": 60 + day / 10, "low": 60, "high": 70} for day in range(0, 90, 9)],
        "days": 90,
        "marks": [{"day": 0, "words": "2026"}, {"day": 31, "words": "Feb"}],
        "bands": [{"low": 59, "high": 77, "words": "good: 59 to 77 °F", "below": False}],
        "low": 50,
        "high": 86,
    },
}
BARS: dict[str, Any] = {
    "kind": "bars",
    "data": {
        "rows": [
            {
                "words": f"giver {at}", "value": 9 - at, "low": 8 - at, "high": 10 - at,
                "text": "2.125 ± 0.036 lb", "guess": at == 1,
            }
            for at in range(3)
        ],
        "left": 2, "right": 4, "bottom": 4,
    },
}  # fmt: skip
CASTINGS: dict[str, Any] = {
    "kind": "in and out",
    "data": {
        "periods": ["J", "F"],
        "rows": [{"at": 0, "in": 5.0, "out": 0.0}, {"at": 1, "in": 0.0, "out": 3.5}],
        "in_label": "harvested",
        "out_label": "spread",
    },
}
TOTALS: dict[str, Any] = {
    "kind": "cumulative",
    "data": {
        "this": {
            "label": "2026",
            "rows": [{"day": 7 * at, "value": 3 * at, "low": 2 * at, "high": 4 * at} for at in range(1, 20)],
        },
        "earlier": [
            {"label": str(year), "rows": [{"day": 1, "value": 0}, {"day": 366, "value": 100 + year % 2}]}
            for year in (2025, 2024, 2023)
        ],
        "range": {
            "label": "2020 to 2022",
            "rows": [{"day": 1, "low": 0, "high": 1}, {"day": 366, "low": 40, "high": 90}],
        },
        "goal": 110,
        "goal_label": "goal 110 lb",
        "right": 54,
    },
}
ALL = [TOTALS, MONTHS, BARS, COURSE, CASTINGS]


def drawn(chart: dict[str, Any], identity: str = "c") -> Tag:
    """A chart's SVG as a tree."""
    specification = charts.specification(chart["kind"], chart["data"])
    page = BeautifulSoup(drawing.draw(specification, identity, "A <title>", "What it shows"), "html.parser")
    assert page.svg is not None
    return page.svg


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_a_chart_is_one_picture_to_a_screen_reader(chart: dict[str, Any]) -> None:
    """Role, title and description on the root, and no role or label on a mark (WAI-ARIA Graphics Module)."""
    svg = drawn(chart)
    assert svg["role"] == "img"
    named = str(svg["aria-labelledby"]).split()
    assert [svg.find(id=name).get_text() for name in named] == ["A <title>", "What it shows"]  # type: ignore[union-attr]
    inside = [
        tag for tag in svg.find_all() if any(name == "role" or name.startswith("aria-") for name in tag.attrs)
    ]
    assert not inside


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_a_chart_is_written_as_vega_lite_defines(chart: dict[str, Any]) -> None:
    """Source: the JSON schema of Vega-Lite 6, as it comes with Altair."""
    specification = charts.specification(chart["kind"], chart["data"])
    altair.LayerChart.from_dict(specification, validate=True)
    with pytest.raises(jsonschema.ValidationError, match="bogus"):
        altair.LayerChart.from_dict({**specification, "bogus": 1}, validate=True)


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_the_second_process_draws_a_chart_without_any_font_and_all_the_same(chart: dict[str, Any]) -> None:
    """Letters are the page's: whether the machine that draws has fonts changes no byte."""
    assert "/nonexistent" in NO_FONTS.read_text(encoding="utf-8")
    asked = {**chart, "id": "c", "title": "A <title>", "summary": "What it shows"}
    with Draughtsman() as draughtsman:
        draughtsman.begin()
        draughtsman.ask("any", asked)
        elsewhere = draughtsman.take("any", asked)
    assert elsewhere == drawn_here(asked)


def test_where_no_thread_can_be_had_charts_are_drawn_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine that refuses threads has every chart drawn all the same, in the first process."""

    def refuse(_thread: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    asked = {**BARS, "id": "c", "title": "A <title>", "summary": "What it shows"}
    monkeypatch.setattr(threading.Thread, "start", refuse)
    with Draughtsman() as draughtsman:
        draughtsman.begin()
        draughtsman.ask("any", asked)
        assert draughtsman.take("any", asked) == drawn_here(asked)


@pytest.mark.parametrize("dead", [0, 1], ids=["who draws", "who specifies"])
def test_what_a_process_that_dies_left_undone_is_drawn_here(dead: int) -> None:
    """Whichever of the two is killed, before or after it was asked, no chart is missing and nobody waits."""
    first = {**BARS, "id": "c", "title": "A <title>", "summary": "What it shows"}
    second = {**first, "id": "d"}
    with Draughtsman() as draughtsman:
        draughtsman.begin()
        draughtsman.ask("first", first)
        draughtsman._processes[dead].kill()
        draughtsman.ask("second", second)
        assert draughtsman.take("first", first) == drawn_here(first)
        assert draughtsman.take("second", second) == drawn_here(second)


def test_a_chart_that_cannot_be_specified_keeps_no_other_from_being_drawn() -> None:
    """The first process tells what is wrong with it, as if there were no other."""
    wrong = {"kind": "no such kind", "data": {}, "id": "c", "title": "", "summary": ""}
    right = {**BARS, "id": "d", "title": "", "summary": ""}
    with Draughtsman() as draughtsman:
        draughtsman.begin()
        draughtsman.ask("wrong", wrong)
        draughtsman.ask("right", right)
        assert draughtsman.take("right", right) == drawn_here(right)
        assert draughtsman._drawn.keys() == {"right"}
        with pytest.raises(KeyError, match="no such kind"):
            draughtsman.take("wrong", wrong)


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_a_chart_takes_its_colours_and_letters_from_the_page(chart: dict[str, Any]) -> None:
    """Fills and strokes are custom properties, patterns of the chart's own, or none; no font is named."""
    svg = drawn(chart)
    for tag in svg.find_all():
        for name in ("fill", "stroke"):
            value = str(tag.get(name, "none"))
            assert re.fullmatch(r"none|transparent|var\(--[a-z0-9-]+\)|url\(#c-hatch-[a-z0-9-]+\)", value), (
                tag
            )
        assert "font-family" not in tag.attrs
        assert "style" not in tag.attrs


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_every_pattern_asked_for_is_there_under_a_name_of_the_charts_own(chart: dict[str, Any]) -> None:
    """Two charts on one page share no id, and each finds its own hatching."""
    one, other = drawn(chart, "one"), drawn(chart, "two")
    ids = [str(tag["id"]) for svg in (one, other) for tag in svg.select("[id]")]
    assert len(ids) == len(set(ids))
    for asked in re.findall(r"url\(#([^)]+)\)", str(one)):
        assert one.find(id=asked) is not None


@pytest.mark.parametrize("chart", ALL, ids=lambda chart: chart["kind"])
def test_a_chart_is_drawn_the_same_each_time_and_light(chart: dict[str, Any]) -> None:
    """The same data give the same bytes, one decimal at most, no empty shapes."""
    svg = str(drawn(chart))
    assert svg == str(drawn(chart))
    assert len(svg) < 12_000
    assert not re.search(r'd=""|<g></g>', svg)
    for tag in re.findall(r"<[^>]+>", svg):
        assert not re.search(r"\d\.\d{2,}", re.sub(r'opacity="[^"]*"', "", tag)), tag


def test_words_in_a_chart_keep_their_digits() -> None:
    """Coordinates are rounded; what is written is not."""
    assert "2.125 ± 0.036 lb" in drawn(BARS).get_text()


def test_whiskers_are_drawn_where_the_doubt_can_be_seen() -> None:
    """A doubt of a fraction of a chart unit has no whisker, a larger one has (3 units: our own choice)."""
    seen = str(drawn(MONTHS))
    nothing = {**MONTHS, "data": {**MONTHS["data"], "whiskers": []}}
    small = {**MONTHS, "data": {**MONTHS["data"], "whiskers": MONTHS["data"]["whiskers"][1:]}}
    assert str(drawn(small)) == str(drawn(nothing))
    assert len(seen) > len(str(drawn(small)))


def test_estimated_parts_differ_by_more_than_colour() -> None:
    """What was estimated is hatched, so that it holds in greyscale (WCAG 2.2, 1.4.1)."""
    assert drawn(MONTHS).select('[fill^="url(#c-hatch-stream-2"]')
    assert len(drawn(MONTHS).select('path[fill="var(--stream-2)"]')) == 1


@pytest.mark.parametrize(
    ("chart", "labels"),
    [
        (MONTHS, "JFM"),
        (CASTINGS, "JF"),
        (TOTALS, "JFMAMJJASOND"),
        ({**MONTHS, "data": {**MONTHS["data"], "periods": list("NDJFMAMJJASON")}}, "NDJFMAMJJASON"),
    ],
    ids=["months", "castings", "totals", "thirteen months"],
)
def test_no_mark_of_an_axis_is_dropped(chart: dict[str, Any], labels: str) -> None:
    """Every period has its mark: neither the letters of the machine that draws nor their number decide."""
    written = [text.get_text() for text in drawn(chart).find_all("text")]
    assert [word for word in written if word in labels] == list(labels)


@given(st.lists(st.floats(0, 250), min_size=1, max_size=9).map(sorted))
def test_labels_never_run_into_one_another(wanted: list[float]) -> None:
    """Moved labels keep their order and their distance, as far as there is room for all."""
    placed = nudged(wanted, 6, 244)
    assert all(after - before >= LINE - 1e-6 for before, after in pairwise(placed))
    assert placed[-1] <= 244 + 1e-6


@given(st.floats(1e-4, 1e7))
def test_scales_reach_the_highest_value_in_few_round_steps(highest: float) -> None:
    """Steps begin at nought, are evenly spaced, at most six, and the scale holds the highest value."""
    steps = ticks(highest)
    assert steps[0] == 0
    assert 2 <= len(steps) <= 7
    assert steps[-1] >= highest * (1 - 1e-6) or steps[-1] == pytest.approx(highest, abs=1e-6)
    shown, top = scale_of(highest)
    assert top >= highest * (1 - 1e-6) or top == pytest.approx(highest, abs=1e-6)
    assert shown[-1] <= top + 1e-9


@given(st.floats(-1e5, 1e5), st.floats(0.2, 1e5))
def test_readings_are_ruled_in_few_round_steps(low: float, span: float) -> None:
    """However far a reading lies out, there are between two and eight lines within the scale."""
    steps = steps_between(low, low + span)
    assert 2 <= len(steps) <= 8
    assert all(low - 1e-3 <= step <= low + span + 1e-3 for step in steps)


ENTRIES = """\
## 2025-06-01

- took in 10 lb newspaper from Elm House
- fed 3 lb banana peels to Lower Bin

## 2026-06-01

- took in 12 lb newspaper from Nora Quist
- bedded Lower Bin with 9 lb newspaper
- fed about 4 lb banana peels to Lower Bin
- harvested 5 lb castings from Lower Bin
- spread 2 lb castings on Plum
- checked Lower Bin: 60 F, moisture 70%

## 2026-06-20

- checked Lower Bin: 70 F, moisture 80%
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A site with every kind of chart."""
    return published(tmp_path_factory.mktemp("charts"), ENTRIES)


@pytest.mark.parametrize(
    ("page", "identity"),
    [
        ("index.html", "running"), ("index.html", "months"), ("year-2026.html", "months"),
        ("givers.html", "givers"), ("givers.html", "paper"), ("bins.html", "castings"),
        ("bin-lower-bin.html", "temperature"), ("bin-lower-bin.html", "moisture"),
    ],
)  # fmt: skip
def test_each_chart_stands_with_title_sentence_and_numbers(
    site: dict[str, bytes], page: str, identity: str
) -> None:
    """A heading that says what is shown, one sentence, and the table of its numbers."""
    figure = soup(site, page).select_one(f"figure#{identity}")
    assert figure is not None
    caption = figure.figcaption
    assert caption is not None
    assert caption.h3 is not None
    assert caption.p is not None
    assert caption.p.get_text().endswith(".")
    assert figure.select_one("details table") is not None


def test_a_charts_numbers_are_the_tallys(tmp_path: Path) -> None:
    """The segments of a month add up to the month's figure, in the household's unit."""
    from journal.commands.shipped import references
    from journal.site.edition import Edition
    from tests.journals import tally_of

    tally = tally_of(tmp_path, ENTRIES)
    chart = Charts(Edition(tally, references())).months_by_stream(["2026-05", "2026-06"], "m", "title")
    assert chart is not None
    rows = [row for row in chart["data"]["rows"] if row["at"] == 1]
    kept = tally.months["2026-06"].kept_out_of_landfill
    assert max(row["high"] for row in rows) == pytest.approx(kept.value / 0.45359237, rel=1e-3)
    guessed = sum(row["high"] - row["low"] for row in rows if row["guess"])
    assert guessed == pytest.approx(4.0, rel=1e-3)


def test_who_is_let_go_before_anybody_listens_ends_without_a_word() -> None:
    """Ctrl-C may come just then: a thread that begins to listen when the pipe is closed hears nothing."""
    one = Draughtsman()
    one.begin()
    answers = one._processes[0].stdout
    assert answers is not None
    one.close()
    one._read(answers)

"""What charts say in numbers and words: dates, decimal marks, and room for every label."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from journal.commands.shipped import references
from journal.site import charts
from journal.site.chart_parts import LETTERS, ticks
from journal.site.draughtsman import drawn
from journal.site.edition import Edition
from journal.site.views.drawn import Charts
from tests.journals import tally_of


def running_totals(tmp_path: Path, entries: str, household: str = "") -> dict[str, Any]:
    """The chart of running totals of a journal that weighs in kilograms."""
    told = f"household: {{name: A, units: metric{household}}}\nbins: {{Tub: {{}}}}\n"
    chart = Charts(Edition(tally_of(tmp_path, entries, told), references())).cumulative()
    assert chart is not None
    return chart


def by_month(chart: dict[str, Any]) -> dict[str, list[str]]:
    """The cells of a chart's table by their month."""
    return {row["cells"][0]: row["cells"][1:] for row in chart["table"]["rows"]}


def test_a_month_ends_with_its_last_day(tmp_path: Path) -> None:
    """What was kept on the second of March is not told as February's, in any year."""
    told = "".join(
        f"## {year}-02-{last}\n- fed 1 kg peels to Tub\n## {year}-03-01\n- fed 2 kg peels to Tub\n"
        f"## {year}-11-30\n- fed 4 kg peels to Tub\n## {year}-12-01\n- fed 8 kg peels to Tub\n"
        for year, last in ((2024, 29), (2025, 28))
    )
    found = by_month(running_totals(tmp_path, told))
    assert found["February"] == ["1.00", "1.00"]
    assert found["March"] == ["3.00", "3.00"]
    assert found["November"] == ["7.00", "7.00"]
    assert found["December"] == ["15.0", "15.0"]


def test_no_month_before_the_journal_began_is_told(tmp_path: Path) -> None:
    """A journal that began in May knows nothing of April, and says nothing of it."""
    told = "## 2025-05-20\n- fed 1 kg peels to Tub\n## 2025-07-01\n- fed 2 kg peels to Tub\n"
    found = by_month(running_totals(tmp_path, told))
    assert [found[month] for month in ("April", "May", "June", "July", "August")] == [
        [""], ["1.00"], ["1.00"], ["3.00"], [""],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "last", "then"),
    [
        ("2024-11-20", "2025-11-20", "5.00"),
        ("2023-11-21", "2024-11-20", "0"),
        ("2024-02-29", "2025-02-28", "0"),
        ("2023-02-28", "2024-02-29", "5.00"),
    ],
)
def test_the_same_day_of_a_leap_year_is_the_day_of_the_same_date(
    tmp_path: Path, before: str, last: str, then: str
) -> None:
    """After 29 February a leap year's days have other numbers; the date is what people mean."""
    told = f"## {before}\n- fed 5 kg peels to Tub\n## {last}\n- fed 1 kg peels to Tub\n"
    words = running_totals(tmp_path, told)["summary"]
    assert f"on the same day of {before[:4]} it was {then}\u00a0kg" in words


def test_a_decimal_comma_is_kept_in_charts_and_their_words(tmp_path: Path) -> None:
    """To who reads commas as marks 1,234 is a thousand times less; and no number is told by its powers."""
    first = "## 2025-02-10\n- fed 9999 kg peels to Tub\n- fed 2346 kg bread to Tub\n"
    chart = running_totals(
        tmp_path, f"{first}## 2026-02-10\n- fed 1234,5 kg peels to Tub\n", ", decimal: comma"
    )
    assert "2025 it was 12\u202f345\u00a0kg" in chart["summary"]
    assert by_month(chart)["February"] == ["1\u202f234", "12\u202f345"]
    picture = drawn(chart).decode()
    assert "5\u202f000" in picture
    assert "5,000" not in picture


def test_the_band_of_doubt_stays_inside_the_chart() -> None:
    """What may be higher than the line is room that the scale must have."""
    rows = [{"day": 1, "value": 0, "low": 0, "high": 0}, {"day": 80, "value": 10.0, "low": 4.0, "high": 19.0}]
    data: dict[str, Any] = {
        "this": {"label": "2026", "rows": rows},
        "earlier": [],
        "range": None,
        "goal": None,
        "right": 54,
    }
    specification = charts.specification("cumulative", data)
    assert highest_of_scales(specification) >= 19.0


def highest_of_scales(specification: dict[str, Any]) -> float:
    """The end of the highest upright scale."""
    scales = [layer["encoding"]["y"].get("scale") for layer in specification["layer"]]
    return max(float(scale["domain"][1]) for scale in scales if scale)


def test_labels_of_castings_stand_beside_the_bars() -> None:
    """Ink on a dark bar cannot be read: above the highest and below the lowest there is room for a line."""
    rows = [{"at": 0, "in": 9.0, "out": 6.0}, {"at": 1, "in": 4.0, "out": 0.0}]
    data = {"periods": ["J", "F"], "rows": rows, "in_label": "in", "out_label": "out"}
    specification = charts.specification("in and out", data)
    low, high = specification["layer"][0]["encoding"]["y"]["scale"]["domain"]
    line = (high - low) / specification["height"] * LETTERS
    assert high - line >= 9.0
    assert low + line <= -6.0


def test_a_long_name_is_cut_off_before_its_figure() -> None:
    """Name and figure stand on one line; the table below has the name whole."""
    name = "the family with the very long name from the house at the far corner"
    rows = [{"words": name, "value": 2.0, "low": 1.0, "high": 3.0, "text": "2.00 ± 0.58 kg", "guess": False}]
    data = {"rows": rows * 2, "left": 2, "right": 4, "bottom": 4}
    picture = drawn({"kind": "bars", "id": "c", "title": "", "summary": "", "data": data}).decode()
    assert name not in re.sub(r"<desc.*?</desc>|<title.*?</title>", "", picture)
    assert "the family with the very long name" in picture
    assert "…</text>" in picture


def test_the_smallest_of_weights_has_a_scale() -> None:
    """A tenth of a milligram in pounds is drawn on steps of its own size."""
    steps = ticks(2.2e-7)
    assert steps[0] == 0
    assert steps[-1] >= 2.2e-7
    assert len(set(steps)) == len(steps)

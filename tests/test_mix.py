"""The command mix: its contract, its goals, and what it says when something cannot be."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Program
from tests.journals import lay_out

HOUSEHOLD = """\
household: {name: Test house, units: metric}
materials:
  plain grass:   {stream: garden, waste: yes, moisture: 77%, nitrogen: 2.4%, carbon: 45%, density: 0.4 kg/L}
  plain leaves:  {stream: garden, waste: yes, moisture: 35%, nitrogen: 0.75%, carbon: 50%, density: 0.1 kg/L}
"""


@pytest.fixture(scope="module")
def journal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A journal with two materials of the worked examples and one batch."""
    return lay_out(
        tmp_path_factory.mktemp("mix"),
        "## 2026-03-01\n- mixed bedding Old Mix: 2 kg plain leaves, 3 kg water\n",
        HOUSEHOLD,
    )


def figures(program: Program, journal: Path, *words: str) -> dict[str, Any]:
    """What ``mix --json`` gives."""
    done = program("--journal", journal, "mix", *words, "--json")
    assert done.returncode == 0, done.stderr
    read: dict[str, Any] = json.loads(done.stdout)
    return read


def test_the_document_keeps_its_contract(program: Program, journal: Path) -> None:
    """The keys of mix --json are those agreed, and each range is in its order of size."""
    found = figures(program, journal, "10 kg plain grass, 4 kg plain leaves")
    assert set(found) == {
        "carbon_nitrogen",
        "moisture_percent",
        "water_to_add_kg",
        "mass_kg",
        "volume_l",
        "to_add",
    }
    for key in ("carbon_nitrogen", "moisture_percent", "water_to_add_kg", "volume_l"):
        assert list(found[key]) == ["high", "low", "typical"]
        assert found[key]["low"] <= found[key]["typical"] <= found[key]["high"]
    assert found["mass_kg"]["value"] == pytest.approx(14)
    assert found["mass_kg"]["lines"] == 2
    assert found["to_add"] is None
    assert found["volume_l"]["typical"] == pytest.approx(10 / 0.4 + 4 / 0.1)


def test_the_handbooks_leaves_reach_thirty_to_one(program: Program, journal: Path) -> None:
    """Ten kilograms of grass need 3.5 kg of leaves: Richard and Trautmann's example, by the command."""
    words = ("10 kg plain grass", "--carbon-nitrogen", "30", "--with", "plain leaves")
    added = figures(program, journal, *words)["to_add"]
    assert (added["material"], added["reaches"]) == ("plain leaves", "carbon_nitrogen")
    assert f"{added['mass_kg']['typical']:.1f}" == "3.5"


def test_the_handbooks_leaves_reach_sixty_percent(program: Program, journal: Path) -> None:
    """Ten kilograms of grass need 6.8 kg of leaves for 60 %: Cornell's example, by the command."""
    added = figures(program, journal, "10 kg plain grass", "--moisture", "60%", "--with", "plain leaves")[
        "to_add"
    ]
    assert f"{added['mass_kg']['typical']:.1f}" == "6.8"
    assert added["reaches"] == "moisture"


def test_water_serves_where_nothing_else_is_named(program: Program, journal: Path) -> None:
    """A moisture goal alone is reached with water, as much as the formula says."""
    found = figures(program, journal, "4 kg plain leaves", "--moisture", "70")
    expected = (70 * 4 - 4 * 35) / 30
    assert found["water_to_add_kg"]["typical"] == pytest.approx(expected)
    assert found["to_add"]["material"] == "water"
    assert found["to_add"]["mass_kg"]["typical"] == pytest.approx(expected)


def test_a_plan_is_exact_and_an_estimate_is_not(program: Program, journal: Path) -> None:
    """Two known materials to the pound leave nothing open; about and a range do, with the mass's doubt."""
    exact = figures(program, journal, "2 lb plain grass, 1 lb plain leaves")
    assert exact["mass_kg"]["doubt"] == 0
    for key in ("carbon_nitrogen", "moisture_percent", "water_to_add_kg"):
        assert exact[key]["low"] == pytest.approx(exact[key]["high"])
    for words in ("about 2 lb plain grass, 1 lb plain leaves", "1-3 lb plain grass, 1 lb plain leaves"):
        open_ = figures(program, journal, words)
        assert open_["mass_kg"]["doubt"] > 0.1
        assert open_["moisture_percent"]["low"] < open_["moisture_percent"]["high"]


def test_the_water_is_said_once(program: Program, journal: Path) -> None:
    """With a moisture goal alone the terminal names the water to add in one line, not in two."""
    told = program("--journal", journal, "mix", "4 kg plain leaves", "--moisture", "70").stdout
    assert [line.split("  ")[0] for line in told.splitlines() if "4.67 kg" in line] == ["water to add"]


def test_without_a_goal_water_is_for_worm_bedding(program: Program, journal: Path) -> None:
    """Unless told otherwise the water to add brings bedding to 80 %, and the terminal says so."""
    found = figures(program, journal, "4 kg plain leaves")
    assert found["water_to_add_kg"]["typical"] == pytest.approx((80 * 4 - 4 * 35) / 20)
    told = program("--journal", journal, "mix", "4 kg plain leaves").stdout
    assert "for 80 %, usual for worm bedding" in told


def test_a_goal_out_of_reach_is_said_in_words(program: Program, journal: Path) -> None:
    """Leaves cannot wet grass: to_add is null, and a sentence on standard error says why."""
    done = program(
        "--journal",
        journal,
        "mix",
        "10 kg plain grass",
        "--moisture",
        "90",
        "--with",
        "plain leaves",
        "--json",
    )
    assert done.returncode == 0
    assert json.loads(done.stdout)["to_add"] is None
    assert "cannot be reached with plain leaves" in done.stderr


def test_a_batch_of_the_journal_is_an_ingredient(program: Program, journal: Path) -> None:
    """Half of a batch brings half of its leaves and water."""
    found = figures(program, journal, "2.5 kg Old Mix")
    assert found["moisture_percent"]["typical"] == pytest.approx((2 * 35 + 3 * 100) / 5)


def test_without_a_journal_the_catalogue_serves(program: Program, tmp_path: Path) -> None:
    """In a folder that is no journal, mix knows the materials of the catalogue."""
    done = program("mix", "3.5 lb shredded paper, 1 1/2 L coir, 7 L water", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["carbon_nitrogen"]["low"] > 50
    assert 70 < found["moisture_percent"]["typical"] < 90


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("10 kg plain gras",), 'did you mean "plain grass"'),
        (("some grass",), "amount"),
        (("1 kg plain grass", "--moisture", "110"), "--moisture is to be a number"),
        (("1 kg plain grass", "--moisture", "wet"), "--moisture is to be a number"),
        (("1 kg plain grass", "--carbon-nitrogen", "30"), "--with MATERIAL"),
        (("1 kg plain grass", "--with", "plain leaves"), "--with needs a goal"),
        (("1 kg plain grass", "--moisture", "60", "--with", "plain leeves"), 'did you mean "plain leaves"'),
        ((), "AMOUNTS"),
    ],
)
def test_wrong_use_is_a_sentence_and_status_two(
    program: Program, journal: Path, words: tuple[str, ...], sentence: str
) -> None:
    """What cannot be understood is said with the nearest name, on standard error, with status 2."""
    done = program("--journal", journal, "mix", *words)
    assert done.returncode == 2
    assert done.stdout == ""
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr

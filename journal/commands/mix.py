"""``mix``: what a blend comes to before it is made, and what brings it to a goal."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

import click

from journal.commands.console import FOLDER, Refusal, journal_folder, machine, remark, say, table

if TYPE_CHECKING:
    from journal.notes.amounts import Unread
    from journal.notes.known import Known
    from journal.notes.materials import Material
    from journal.notes.records import Amount, Notes
    from journal.reckoning.mixing import Blend, Ingredient
    from journal.reckoning.reaching import Reach
    from journal.reckoning.spans import Span

POUND = 0.45359237  # kg, exact: NIST Handbook 44, Appendix C
QUART = 0.946352946  # L, exact: the same
GALLON = 4 * QUART
WATER = "water"


@click.command(
    epilog="""\b
Examples:
  middenbook mix "3.5 lb shredded paper, 1 1/2 L coir, 7 L water"
  middenbook mix "3.5 lb shredded paper, 1 1/2 L coir" --moisture 75
  middenbook mix "4 lb leaves, 1 lb grass clippings" --carbon-nitrogen 30 --with "coffee grounds" """
)
@click.argument("amounts", nargs=-1, required=True, metavar='"AMOUNTS"')
@click.option(
    "--moisture", metavar="%", help="The moisture aimed at, in % of wet mass (default for water: 80)."
)
@click.option("--carbon-nitrogen", metavar="RATIO", help="The carbon-to-nitrogen ratio aimed at.")
@click.option("--with", "material", metavar="MATERIAL", help="What to add until the goal is reached.")
@click.option("--json", "as_json", is_flag=True, help="The figures as JSON, in kilograms and litres.")
def command(
    amounts: tuple[str, ...],
    moisture: str | None,
    carbon_nitrogen: str | None,
    material: str | None,
    as_json: bool,  # noqa: FBT001 - click hands flags over so
) -> int:
    """Work out a blend: carbon to nitrogen, moisture, water to add, mass and volume, each as a range.

    AMOUNTS are written as in an entry. Materials, measures and batches are those of the journal, or of the
    catalogue alone where there is no journal. Nothing is written.
    """
    from journal.notes.known import Known
    from journal.reckoning.mixing import BEDDING_MOISTURE, blend, water_to_add

    wet = _goal(moisture, "--moisture", 0, 100)
    ratio = _goal(carbon_nitrogen, "--carbon-nitrogen", 0, math.inf)
    if material is not None and wet is None and ratio is None:
        raise click.UsageError("--with needs a goal: --moisture or --carbon-nitrogen")
    if ratio is not None and material is None:
        raise click.UsageError("--carbon-nitrogen needs what to add: --with MATERIAL")
    notes = _notes()
    known = Known(notes.household, notes.catalogue, notes.batches)
    told = _read(known, ", ".join(amounts))
    mixed = blend(_ingredients(notes, told))
    goal = BEDDING_MOISTURE.typical if wet is None else wet
    water = water_to_add(mixed, goal)
    reach = _reach(notes, mixed, wet, ratio, material)
    if as_json:
        machine(
            json.dumps(document(mixed, water, reach, len(told)), ensure_ascii=False, indent=1, sort_keys=True)
            + "\n"
        )
        if reach is not None and reach.mass is None:
            remark(reach.reason)
    else:
        for line in lines(notes, mixed, (water, goal, wet is None), reach):
            say(line)
    return 0


def document(mixed: Blend, water: Span, reach: Reach | None, count: int) -> dict[str, object]:
    """Give the figures as plain values in kg and L: the contract of ``mix --json``; null is not known."""
    mass = mixed.mass
    to_add = None
    if reach is not None and reach.mass is not None:
        to_add = {"material": reach.material, "mass_kg": _three(reach.mass), "reaches": reach.reaches}
    return {
        "carbon_nitrogen": _three(mixed.carbon_nitrogen),
        "moisture_percent": _three(mixed.moisture),
        "water_to_add_kg": _three(water),
        "mass_kg": {"value": mass.value, "doubt": mass.expanded, "lines": count},
        "volume_l": _three(mixed.volume),
        "to_add": to_add,
    }


def lines(notes: Notes, mixed: Blend, wanted: tuple[Span, float, bool], reach: Reach | None) -> list[str]:
    """Say what the blend comes to, in the household's own units."""
    from journal.measures.doubt import rounded

    us = notes.household.units == "us"
    unit, size = ("lb", POUND) if us else ("kg", 1.0)
    value, doubt = rounded(mixed.mass.value / size, mixed.mass.expanded / size)
    names = ", ".join(part.material.name for part in mixed.ingredients)
    rows = [("mass", f"{value} {unit}" + (f" ± {doubt}" if doubt != "0" else ""), "", names)]
    for title, what, figure, sign in (
        ("carbon to nitrogen", "carbon_nitrogen", mixed.carbon_nitrogen, " to 1"),
        ("moisture", "moisture", mixed.moisture, " %"),
    ):
        dominant = mixed.dominant(what)
        why = f"the range is mostly due to {dominant}" if dominant and len(mixed.ingredients) > 1 else ""
        rows.append((title, _shown(figure, sign), _range(figure, ""), why))
    rows.append(_water_row(wanted, us=us))
    rows.append(("volume", *_volume_row(mixed, us=us), "loose parts added up; mixed, they settle into less"))
    told = [line.rstrip() for line in table(rows)]
    told += [f"not known of {', '.join(those)}: {what}, left out" for what, those in mixed.unknown.items()]
    told += _goal_lines(reach, unit, size)
    return [*told, *_source_lines(mixed)]


def _water_row(wanted: tuple[Span, float, bool], *, us: bool) -> tuple[str, str, str, str]:
    water, goal, usual = wanted
    unit, size = ("lb", POUND) if us else ("kg", 1.0)
    litres = f" ({abs(water.typical) / QUART:.2g} qt)" if us else ""
    why = f"for {goal:g} %" + (", usual for worm bedding (70 to 90 %)" if usual else "")
    kg = water.times(1 / size)
    if water.typical >= 0:
        return "water to add", f"{_number(kg.typical)} {unit}{litres}", _range(kg, ""), why
    return "too wet by", f"{_number(-kg.typical)} {unit}{litres} of water", _range(kg.times(-1), ""), why


def _volume_row(mixed: Blend, *, us: bool) -> tuple[str, str]:
    if mixed.volume is None:
        return "unknown", ""
    volume = mixed.volume.times(1 / GALLON if us else 1.0)
    return _shown(volume, " gal" if us else " L"), _range(volume, "")


def _goal_lines(reach: Reach | None, unit: str, size: float) -> list[str]:
    if reach is None:
        return []
    if reach.mass is None:
        return [reach.reason]
    if reach.material == WATER:  # the row of the water has said it
        return []
    goal = f"{reach.goal:g} %" if reach.reaches == "moisture" else f"{reach.goal:g} to 1"
    mass = reach.mass.times(1 / size)
    return [
        f"to reach {goal}: add {_number(mass.typical)} {unit} {reach.material} {_range(mass, unit)}".rstrip()
    ]


def _source_lines(mixed: Blend) -> list[str]:
    """Name the works behind the ranges: the site's reckoning page has the table or page of each."""
    from journal.commands.shipped import sources

    keys: dict[str, None] = {}
    for figure in (mixed.carbon_nitrogen, mixed.moisture):
        keys.update(dict.fromkeys(() if figure is None else figure.sources))
    works = sources()
    named = [works[key].citation if key in works else f"{key}." for key in keys]
    return ["figures from:", *(f"  {words}" for words in named)] if named else []


def _goal(words: str | None, option: str, low: float, high: float) -> float | None:
    """Read a goal as people write it: ``70``, ``70%``, ``30:1``."""
    if words is None:
        return None
    text = words.strip().removesuffix("%").removesuffix(":1").replace("to 1", "").strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low < value < high:
        between = f"above {low:g}" + (f" and below {high:g}" if math.isfinite(high) else "")
        raise click.UsageError(f'{option} is to be a number {between}, not "{words}"')
    return value


def _notes() -> Notes:
    """Read the journal; where none is named and this folder is none, take the catalogue alone."""
    from journal.commands import shipped
    from journal.commands.files import read_journal
    from journal.notes.household import Household
    from journal.notes.records import Notes

    folder = journal_folder(must_exist=FOLDER in click.get_current_context().meta)
    if (folder / "entries").is_dir():
        return read_journal(folder)
    return Notes(Household(), shipped.catalogue(), [], [], [], [])


def _read(known: Known, text: str) -> tuple[Amount, ...]:
    """Read the amounts; Refusal (wrong use) with the words at fault where they cannot be read."""
    from journal.notes.amounts import Unread, phrase_at, read_amounts
    from journal.notes.faults import Fault

    try:
        end, amounts = read_amounts(known, text, 0, []) or (0, ())
    except Unread as wrong:
        raise _refused(wrong) from None
    rest = text[end:].lstrip(" ,;.")
    if rest or not amounts:
        raise _refused(Unread(Fault.NO_AMOUNT, *phrase_at(text, len(text) - len(rest))))
    return amounts


def _refused(wrong: Unread) -> Refusal:
    blanks = {"words": wrong.words, **wrong.blanks}
    return Refusal(wrong.fault.sentence.format(**blanks), wrong.fault.advice.format(**blanks), 2)


def _ingredients(notes: Notes, amounts: tuple[Amount, ...]) -> list[Ingredient]:
    """Give what is planned as ingredients.

    A plan is exact, whatever the scale will show: only "about" and ranges leave an amount open, and what a
    volume, a measure or a piece weighs.
    """
    from journal.measures.doubt import Doubtful
    from journal.reckoning.flows import Brought
    from journal.reckoning.ledger import build_ledger

    batches = build_ledger(notes).batches if any(amount.is_batch for amount in amounts) else {}
    brought = (
        Brought(
            amount.material,
            amount.is_batch,
            Doubtful(amount.kg, amount.own if amount.how == "estimated" else 0.0, amount.shared),
            amount.litres,
        )
        for amount in amounts
    )
    return [part for one in brought for part in one.ingredients(batches, notes.catalogue)]


def _reach(
    notes: Notes, mixed: Blend, wet: float | None, ratio: float | None, words: str | None
) -> Reach | None:
    """Give what reaches the goal; with both goals, the material serves the ratio and water the moisture."""
    from journal.reckoning.reaching import reach_carbon_nitrogen, reach_moisture

    if ratio is not None and words is not None:
        return reach_carbon_nitrogen(mixed, ratio, _material(notes, words))
    if wet is not None:
        return reach_moisture(mixed, wet, _material(notes, words or WATER))
    return None


def _material(notes: Notes, words: str) -> Material:
    found = notes.catalogue.find(words)
    if found is None:
        near = notes.catalogue.nearest(words)
        hint = f'; did you mean "{near}"?' if near else ""
        raise Refusal(f'"{words}" is no material I know{hint}', status=2)
    return found


def _three(figure: Span | None) -> dict[str, float | None]:
    if figure is None:
        return {"low": None, "typical": None, "high": None}
    return {
        name: value + 0.0 if math.isfinite(value := getattr(figure, name)) else None
        for name in ("low", "typical", "high")
    }


def _number(value: float) -> str:
    if not math.isfinite(value):
        return "no limit"
    if value == 0:
        return "0"
    if abs(value) >= 1000:  # noqa: PLR2004 - no powers of ten on a kitchen table
        return f"{value:,.0f}"
    return f"{value:.3g}" if abs(value) >= 0.01 else f"{value:.2f}"  # noqa: PLR2004 - the same


def _shown(figure: Span | None, unit: str) -> str:
    return "unknown" if figure is None else f"{_number(figure.typical)}{unit}"


def _range(figure: Span | None, unit: str) -> str:
    if figure is None or figure.low == figure.high:
        return ""
    top = f"{_number(figure.high)}" if math.isfinite(figure.high) else "no limit"
    return f"({_number(figure.low)} to {top}{' ' + unit if unit else ''})"

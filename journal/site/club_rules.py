"""How a club's figures are worked out and what they rest on; the rules in words stand in the template."""

from __future__ import annotations

from journal.reckoning.club_handovers import NAMED_DAYS, UNNAMED_DAYS
from journal.site.club_edition import ClubEdition
from journal.site.views.avoided import not_claimed_for, nothing_claimed, shown
from journal.site.views.tables import NUMBER, head, link, row, table
from journal.site.wording import View, day_in_words


def reckoning_view(edition: ClubEdition) -> View:
    """Give the page of rules, with the footprint and the packages that the figures rest on."""
    return {
        **edition.frame(
            "reckoning.html", f"Reckoning · {edition.name}", "How the club’s figures are worked out."
        ),
        "days": {"named": NAMED_DAYS, "unnamed": UNNAMED_DAYS},
        "footprint": footprint(edition),
        "packages": packages(edition),
        "left_out": list(edition.club.left_out),
    }


def footprint(edition: ClubEdition) -> View | None:
    """Say what the club may have avoided, with its table and its statements."""
    found = edition.footprint
    if found is None:
        return None
    figure = shown(found)
    words = nothing_claimed(found) or (
        f"{figure[:1].upper()}{figure[1:]}, by US EPA Emission Factors for Greenhouse Gas Inventories, Table "
        f"9, {found.editions[0]}, for all households and years.{not_claimed_for(found)}"
    )
    apart = sum(1 for member in edition.club.members if not member.footprint)
    if apart == 1:
        words += " 1 household wants no footprint and is left out of it."
    elif apart:
        words += f" {apart} households want no footprint and are left out of it."
    rows = [
        row("Landfilled or burned otherwise", edition.writer.weight_span(found.counted_kg, found.counted_kg)),
        row("It would have emitted", edition.writer.span(found.landfill.low, found.landfill.high)),
        row("The bins emit for that part", edition.writer.span(found.bin.low, found.bin.high)),
    ]
    heads = head("What", ("kg CO₂e, except weights", NUMBER))
    stand_ins = [f"{material}: {line}, because {why}" for material, line, why in found.stand_ins]
    return {
        "words": words,
        "table": table("Avoided emissions, estimated", heads, rows),
        "statements": list(found.statements),
        "stand_ins": stand_ins,
    }


def packages(edition: ClubEdition) -> View:
    """Give the packages that were taken in."""
    rows = [
        row(
            link(member.name, edition.page_of(member)),
            "" if member.first is None else day_in_words(member.first),
            "" if member.last is None else day_in_words(member.last),
            f"{member.movements:,}",
        )
        for member in edition.club.members[:250]
    ]
    return table("Whose books these are", head("Household", "From", "To", ("Movements", NUMBER)), rows)

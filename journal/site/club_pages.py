"""The table of pages of a club's site, and what stands on each, as plain values for the templates."""

from __future__ import annotations

from collections.abc import Iterator

from journal.measures.doubt import Sum
from journal.reckoning.diversion import Figure
from journal.reckoning.footprint import Footprint
from journal.reckoning.goals import week_goal, year_goals
from journal.site.club_charts import households_drawn, months_drawn
from journal.site.club_data import club_data
from journal.site.club_edition import HEADLINES, HOME, ClubEdition, heads
from journal.site.club_households import household_pages
from journal.site.club_rules import reckoning_view
from journal.site.club_years import year_pages
from journal.site.memory import Memory, Recollection
from journal.site.templates import Page, Templates
from journal.site.views.avoided import not_claimed_for, nothing_claimed, shown
from journal.site.views.tables import NUMBER, by_stream, head, link, row, table
from journal.site.wording import View, counted, day_in_words, month_in_words, percent

KEPT = "kept_out_of_landfill"
MOST_WEEKS = 600


def pages(edition: ClubEdition) -> Iterator[Page]:
    """Give every page of the club's site, the first page first, its view made when it is reached."""
    addresses = []
    for page in leaves(edition):
        addresses.append(edition.site["address"] + ("" if page.name == HOME else page.name))
        yield page
    if edition.site["address"]:
        newest = edition.as_of.isoformat()
        listed = [{"address": address, "changed": newest} for address in addresses]
        yield Page("sitemap.xml", "sitemap.xml", {"pages": listed})
    yield Page("favicon.svg", "favicon.svg", {})


def leaves(edition: ClubEdition) -> Iterator[Page]:
    """Give the pages that people read."""
    yield Page(HOME, "club-index.html", home(edition))
    yield Page("months.html", "club-months.html", months(edition))
    yield from year_pages(edition)
    yield from household_pages(edition)
    yield Page("reckoning.html", "club-reckoning.html", reckoning_view(edition))


def club_site(
    edition: ClubEdition, templates: Templates, memory: Memory | None = None
) -> Iterator[tuple[str, bytes]]:
    """Give every file of the site, name and bytes.  Raises TemplateProblem where a template is at fault."""
    kept: Memory = Recollection() if memory is None else memory
    for page in pages(edition):
        yield page.name, templates.render(page, kept)
    yield from club_data(edition).items()


def home(edition: ClubEdition) -> View:
    """Give the first page: what the club kept out of landfill, its goals, its charts and its years."""
    club, whole = edition.club, edition.figures.whole
    kept = edition.writer.in_words(whole[KEPT])
    people = f" with {counted(club.people, 'person', 'people')}" if club.people else ""
    under = f"{counted(len(club.members), 'household')}{people}, as of {edition.site['as_of']}."
    description = f"{edition.name}: {kept} kept out of landfill by {counted(len(club.members), 'household')}."
    return {
        **edition.frame(HOME, edition.name, description),
        "under": under,
        "account": edition.account(whole, dict.fromkeys(HEADLINES, "households.html")),
        "goals": goals(edition),
        "charts": [
            chart for chart in (months_drawn(edition), households_drawn(edition)) if chart is not None
        ],
        "years": years(edition),
        "notes": notes(edition),
        "footprint": "" if edition.footprint is None else footprint_words(edition.footprint),
    }


def footprint_words(found: Footprint) -> str:
    """Say in one sentence what the club may have avoided, or why nothing is claimed."""
    return nothing_claimed(found) or (
        f"Estimated against landfilling and burning, the bins’ own taken off: {shown(found)} "
        f"({found.editions[0]} edition of the factors for all households; our comparison, not the agency’s)."
        f"{not_claimed_for(found)}"
    )


def notes(edition: ClubEdition) -> list[str]:
    """Say what a reader should know first: packages left out, totals that differ, what was told twice."""
    club, names = edition.club, {member.number: member.name for member in edition.club.members}
    said = list(club.remarks)
    by_member: dict[int, int] = {}
    for difference in club.differences:
        by_member[difference.member] = by_member.get(difference.member, 0) + 1
    for number, many in by_member.items():
        verb = "differs" if many == 1 else "differ"
        said.append(
            f"{names.get(number, 'A household')} states {counted(many, 'figure')} that {verb} from what its "
            "movements add up to; here the movements count"
        )
    handed = sum(one.kg for one in club.handed_on)
    if handed:
        kg = edition.writer.plain_weight(handed)
        said.append(f"{kg} that one member handed to another count once, where they were taken in")
    said += [f"not counted: {sentence}" for sentence in club.left_out]
    return [f"{sentence[:1].upper()}{sentence[1:]}." for sentence in said]


def goals(edition: ClubEdition) -> list[View]:
    """Say how the club's goals stand."""
    kept = {year: as_figure(totals[KEPT]) for year, totals in edition.figures.years.items()}
    weeks = {week: totals[KEPT].value for week, totals in edition.figures.weeks.items()}
    wanted = edition.imprint.goals
    said = []
    for goal in year_goals(wanted, kept, edition.as_of):
        kg = edition.writer.plain_weight(goal.goal)
        part = f"{percent(goal.progress)} of it" if goal.progress > 0 else "nothing of it"
        words = f"Goal for {goal.year}: {kg}, {part} reached."
        said.append({"words": words, "percent": round(min(1.0, max(0.0, goal.progress)) * 100, 1)})
    found = week_goal(wanted, weeks, edition.as_of)
    if found is not None:
        kg = edition.writer.plain_weight(found.goal)
        words = f"Goal per week: {kg}, reached in {found.met} of {counted(found.weeks, 'full week')}."
        share = found.met / found.weeks if found.weeks else 0.0
        said.append({"words": words, "percent": round(share * 100, 1)})
    return said


def as_figure(total: Sum) -> Figure:
    """Give a total as the reckoning's own kind of figure."""
    figure = Figure()
    figure.merge(total)
    return figure


def years(edition: ClubEdition) -> View:
    """Give the years' table, with all years together below it."""
    rows = []
    for year in reversed(edition.years):
        totals = edition.figures.years[year]
        address = f"year-{year:04d}.html"
        rows.append(
            row(link(str(year), address), *(edition.cell(totals[name], address) for name in HEADLINES))
        )
    whole = edition.figures.whole
    foot = row("All years", *(edition.cell(whole[name], "households.html") for name in HEADLINES))
    return table(f"The club by year, in {edition.writer.unit}", heads("Year"), rows, foot, wide=True)


def months(edition: ClubEdition) -> View:
    """Give months and weeks: what was kept out of landfill, by stream, and how many households took part."""
    figures, unit = edition.figures, edition.writer.unit
    members = len(edition.club.members)
    streams = by_stream({stream for _, stream in figures.month_streams if stream})
    rows = []
    for month in sorted(figures.months, reverse=True):
        address = f"year-{month.year:04d}.html"
        cells = [
            edition.cell(figures.month_streams.get((month, stream), {}).get(KEPT), address)
            for stream in streams
        ]
        took_part = f"{edition.club.participation.months.get(month, 0)} of {members}"
        whole = edition.cell(figures.months[month][KEPT], address)
        rows.append(row(month_in_words(month.isoformat()[:7]), *cells, whole, took_part))
    names = [
        *(f"{stream[:1].upper()}{stream[1:]}, {unit}" for stream in streams),
        f"Together, {unit}",
        "Households",
    ]
    weekly = [
        row(
            day_in_words(week),
            edition.cell(figures.weeks[week][KEPT], f"year-{week.year:04d}.html"),
            f"{edition.club.participation.weeks.get(week, 0)} of {members}",
        )
        for week in sorted(figures.weeks, reverse=True)[:MOST_WEEKS]
    ]
    return {
        **edition.frame(
            "months.html",
            f"Months and weeks · {edition.name}",
            "Kept out of landfill month by month, and who took part.",
        ),
        "months": table(
            "Kept out of landfill by month", head("Month", *((one, NUMBER) for one in names)), rows, wide=True
        ),
        "weeks": table(
            "Kept out of landfill by week, from its Monday",
            head("Week of", (f"Kept out, {unit}", NUMBER), ("Households", NUMBER)),
            weekly,
        ),
    }

"""``club``: several households' published data into one site, with totals that are added up again."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from journal.commands.console import Refusal, progress, remark, say, show_problems

if TYPE_CHECKING:
    from journal.commands.club.roster import Roster
    from journal.reckoning.club import Club
    from journal.reckoning.footprint import Footprint
    from journal.site.club_edition import Lines

MOST_DIFFERENCES = 12


@click.command(
    epilog="""\b
Examples:
  middenbook club ash-house.zip elm-house/ ../mill-cottage --to build/club
  middenbook club sites/*.zip --roster club.yaml --to /srv/www/club --leave-out-unreadable"""
)
@click.argument(
    "packages", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FOLDER_OR_ZIP..."
)
@click.option(
    "--to",
    type=click.Path(file_okay=False, path_type=Path),
    required=True,
    metavar="FOLDER",
    help="Where the site is laid.",
)
@click.option(
    "--roster",
    type=click.Path(dir_okay=False, exists=True, path_type=Path),
    metavar="CLUB.YAML",
    help="The club's name and goals, and which giver of a household is which member.",
)
@click.option(
    "--leave-out-unreadable", is_flag=True, help="Go on without packages that cannot be taken in, and say so."
)
def command(packages: tuple[Path, ...], to: Path, roster: Path | None, leave_out_unreadable: bool) -> int:  # noqa: FBT001 - click hands flags over so
    """Add several households' published data up into one site.

    Each FOLDER_OR_ZIP is a published site, its data folder, a zip of either, or a journal. Totals are added
    up again from the movements; a package that states others is named with the difference.
    """
    from journal.commands.club.roster import Roster

    read = Roster()
    if roster is not None:
        from journal.commands.club.roster_reading import read_roster

        read, problems = read_roster(roster)
        if problems:
            show_problems(problems)
            return 1
    with tempfile.TemporaryDirectory(prefix="middenbook-club-") as folder:
        return _build(packages, to, read, Path(folder), leave_out=leave_out_unreadable)


def _build(packages: Sequence[Path], to: Path, roster: Roster, folder: Path, *, leave_out: bool) -> int:
    from journal.commands.club.adding import Adding
    from journal.commands.club.joining import Joining
    from journal.commands.club.lines import Reading
    from journal.commands.publication import mend_folder, publish_folder
    from journal.commands.publish import told

    mend_folder(to)
    adding = Adding(folder)
    try:
        joining = Joining(adding, roster, published_in_memory)
        with progress("adding up packages", len(packages)) as step:
            club = joining.club(packages, step)
        mark = as_if_landfilled_in(club, adding.unknown_fate())
        club = replace(club, remarks=[*club.remarks, *([mark] if mark else [])])
        for sentence in club.left_out:
            remark(f"not counted: {sentence}", "red")
        if (club.left_out and not leave_out) or not club.members:
            remark("nothing was published: mend these, or go on without them with --leave-out-unreadable")
            return 1
        _tell(club)
        footprint = footprint_of(adding.used(), club, roster)
        published = publish_folder(
            to, club_files(club, roster, footprint, Reading(joining.joined.candidates).lines)
        )
    finally:
        adding.close()
    say(told(published, to))
    return 0


def as_if_landfilled_in(club: Club, unknown: Mapping[int, float]) -> str:
    """Mark what the club kept out of landfill where nobody knows its fate; ``unknown`` is kg by member."""
    from journal.reckoning.movements import DUST
    from journal.site.wording import as_if_landfilled

    kept = {member: totals["kept_out_of_landfill"].value for member, totals in club.figures.members.items()}
    nobody, known = sum(unknown.values()), sum(kept.values()) - sum(unknown.values())
    if all(abs(kg) <= DUST for kg in unknown.values()):
        share: float | None = 0.0
    elif all(abs(kept.get(member, 0.0) - unknown.get(member, 0.0)) <= DUST for member in kept):
        share = 1.0
    else:
        share = nobody / (nobody + known) if nobody > 0 and known > 0 else None
    words = as_if_landfilled(share)
    return f"{words[:1].lower()}{words[1:]}".removesuffix(".")


def _tell(club: Club) -> None:
    names = {member.number: member.name for member in club.members}
    for sentence in club.remarks:
        remark(sentence, "yellow")
    for one in club.differences[:MOST_DIFFERENCES]:
        of = one.scope if one.name == "all" else f"{one.scope} {one.name}"
        stated = "states nothing" if one.stated is None else f"states {one.stated:,.6g} kg"
        remark(
            f"{one.package}: {names.get(one.member, '')} {stated} as the {one.what} of "
            f"{one.figure.replace('_', ' ')} ({of}), "
            f"but its movements add up to {one.recomputed:,.6g} kg, a difference of {one.by:+,.6g} kg",
            "yellow",
        )
    if len(club.differences) > MOST_DIFFERENCES:
        remark(
            f"and {len(club.differences) - MOST_DIFFERENCES} more differences; see the households' pages",
            "yellow",
        )


def published_in_memory(folder: Path) -> Mapping[str, bytes]:
    """Make the package of a journal.  Raises Refused where it cannot be read without a problem."""
    from journal.commands.club.packages import Refused
    from journal.commands.files import read_journal
    from journal.reckoning.tally import Tally
    from journal.site.dataset import data_files

    notes = read_journal(folder)
    if notes.problems:
        first = notes.problems[0]
        raise Refused(
            f"{folder.name} is a journal with {len(notes.problems)} to mend, "
            f"the first at {first.place}: {first.sentence}"
        )
    return data_files(Tally(notes))


def footprint_of(used: Sequence[tuple[object, ...]], club: Club, roster: Roster) -> Footprint | None:
    """Give the club's footprint with one edition of the factors.  Raises Refusal for an unknown edition."""
    from journal.commands import shipped
    from journal.reckoning.club_footprint import Used, club_footprint
    from journal.reckoning.footprint import FootprintFault

    if roster.edition == "none":
        return None
    factors = shipped.factors()
    edition = roster.edition or factors.newest
    if edition not in factors.tables:
        raise Refusal(
            f'there is no edition "{edition}" of the factors',
            f"the editions here are {', '.join(factors.tables)}; or none",
        )
    willing = {member.number for member in club.members if member.footprint}
    listed = [Used(*row) for row in used if row[0] in willing]  # type: ignore[arg-type]
    try:
        return club_footprint(listed, factors, shipped.catalogue(), edition)
    except FootprintFault as fault:
        remark(str(fault), "red")
        return None


def club_files(
    club: Club, roster: Roster, footprint: Footprint | None, lines: Lines
) -> Iterator[tuple[str, bytes]]:
    """Give every file of the club's site.  Raises Refusal where a template cannot be used."""
    from journal.commands.shipped import template_folders
    from journal.site.club_edition import ClubEdition, Imprint
    from journal.site.club_pages import club_site
    from journal.site.templates import TemplateProblem, Templates

    imprint = Imprint(roster.name, roster.web_address, roster.units, roster.goals)
    edition = ClubEdition(club, imprint, footprint, lines)
    try:
        yield from club_site(edition, Templates(template_folders(Path())))
    except TemplateProblem as problem:
        raise Refusal(
            str(problem), "mend or remove the template; the earlier site stands as it was"
        ) from None

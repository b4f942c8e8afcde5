"""Reads club.yaml: every key is optional, unknown ones are problems with the nearest key.

club:  {name: Mill Lane worm club, units: us, web address: https://…, footprint: 2024}
goals: {per week: 60 lb, 2026: 3000 lb}
members:
  Ash House:                                  # as its package names it, or any name with `packages`
    shown as: The Ashes
    packages: [ash-house.zip]
    givers: {a house on our street: Elm House}  # as Ash House shows it: which member it is
"""

from __future__ import annotations

import re
from pathlib import Path

from journal.commands.club.roster import Roster, RosterMember
from journal.commands.files import decode_one
from journal.commands.yaml_tree import TreeProblem, read_tree
from journal.notes import tree
from journal.notes.faults import Fault
from journal.notes.fields import (
    Sheet,
    check_keys,
    check_names,
    choice_of,
    mapping_of,
    measured_of,
    text_of,
    texts_of,
)
from journal.notes.household import Goals
from journal.notes.names import fold
from journal.notes.place import Problem

EXAMPLE = "club: {name: Mill Lane worm club}"
_YEAR = re.compile(r"\d{4}")


def read_roster(file: Path) -> tuple[Roster, list[Problem]]:
    """Read the roster in a file; with problems, what could be read.  Raises OSError."""
    text, wrong = decode_one(file.name, file.read_bytes())
    if text is None or wrong is not None:
        return Roster(), [] if wrong is None else [wrong]
    sheet = Sheet()
    try:
        node = read_tree(text, file.name)
    except TreeProblem as problem:
        return Roster(), [problem.problem]
    if node is None:
        return Roster(), []
    roster = _roster(sheet, node)
    return roster, sheet.problems


def _roster(sheet: Sheet, node: tree.Node) -> Roster:
    fields = mapping_of(sheet, node, "this file", EXAMPLE)
    if fields is None:
        return Roster()
    found = check_keys(sheet, fields, ("club", "goals", "members"))
    members = _members(sheet, found["members"]) if "members" in found else ()
    goals = _goals(sheet, found["goals"]) if "goals" in found else Goals()
    about = mapping_of(sheet, found["club"], "club", EXAMPLE) if "club" in found else None
    if about is None:
        return Roster(goals=goals, members=members)
    known = check_keys(sheet, about, ("name", "units", "web address", "footprint"))
    words = {
        key: text_of(sheet, known[key], EXAMPLE) if key in known else ""
        for key in ("name", "web address", "footprint")
    }
    units = choice_of(sheet, known["units"], ("us", "metric"), "units: metric") if "units" in known else None
    return Roster(words["name"], units or "us", words["web address"], words["footprint"], goals, members)


def _goals(sheet: Sheet, node: tree.Node) -> Goals:
    example = "goals: {per week: 60 lb, 2026: 3000 lb}"
    fields = mapping_of(sheet, node, "goals", example)
    per_week: float | None = None
    years: dict[int, float] = {}
    for key, value in fields.pairs if fields is not None else ():
        name = " ".join(key.text.lower().split())
        if name != "per week" and not _YEAR.fullmatch(name):
            sheet.wrong(
                Fault.UNKNOWN_KEY, key.place, key.text, keys="per week, and years such as 2026", meant=""
            )
            continue
        read = measured_of(sheet, value, ("mass",), example)
        if read is not None and name == "per week":
            per_week = read[1]
        elif read is not None:
            years[int(name)] = read[1]
    return Goals(per_week, years)


def _members(sheet: Sheet, node: tree.Node) -> tuple[RosterMember, ...]:
    example = "members: {Ash House: {shown as: The Ashes}}"
    fields = mapping_of(sheet, node, "members", example)
    members: list[RosterMember] = []
    shown: dict[str, str] = {}
    for name, value in check_names(sheet, fields, "a member") if fields is not None else ():
        member = _member(sheet, name, value, example)
        goes_by = member.shown_as or name
        other = shown.setdefault(fold(goes_by), name)
        if other != name:
            sheet.wrong(Fault.SAME_NAME, value.place, goes_by, other=other)
        members.append(member)
    return tuple(members)


def _member(sheet: Sheet, name: str, node: tree.Node, example: str) -> RosterMember:
    fields = mapping_of(sheet, node, name, example)
    known = check_keys(sheet, fields, ("shown as", "packages", "givers")) if fields is not None else {}
    givers: dict[str, str] = {}
    if "givers" in known:
        example = "givers: {a house on our street: Elm House}"
        listed = mapping_of(sheet, known["givers"], "givers", example)
        for shown, value in check_names(sheet, listed, "a giver") if listed is not None else ():
            other = text_of(sheet, value, example)
            if other:
                givers[shown] = other
    return RosterMember(
        name,
        text_of(sheet, known["shown as"], example) if "shown as" in known else "",
        texts_of(sheet, known["packages"], "packages: [ash-house.zip]") if "packages" in known else (),
        givers,
    )

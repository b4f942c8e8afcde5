"""The club's roster: its name, its goals, and which giver of a household is which other member."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from journal.notes.household import Goals
from journal.notes.names import fold


@dataclass(frozen=True, slots=True)
class RosterMember:
    """One member as the roster tells of it; ``givers`` maps givers as it shows them to members' names."""

    name: str
    shown_as: str = ""
    packages: tuple[str, ...] = ()
    givers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Roster:
    """What club.yaml says; all of it may be missing."""

    name: str = ""
    units: str = "us"
    web_address: str = ""
    edition: str = ""  # of the emission factors; "none" for no footprint
    goals: Goals = field(default_factory=Goals)
    members: tuple[RosterMember, ...] = ()

    def name_of(self, label: str, household: str) -> str:
        """Say which member a package is of: the one that the roster gives it to, else its household."""
        for member in self.members:
            if label in member.packages:
                return member.name
        return household

    def givers_of(self, name: str) -> Mapping[str, str]:
        """Give a member's givers that are members, by their folded names as shown."""
        member = self._find(name)
        return {} if member is None else {fold(shown): other for shown, other in member.givers.items()}

    def shown(self, name: str) -> str:
        """Give the name that a member goes by in the club."""
        member = self._find(name)
        return member.shown_as if member is not None and member.shown_as else name

    def _find(self, name: str) -> RosterMember | None:
        return next((member for member in self.members if fold(member.name) == fold(name)), None)

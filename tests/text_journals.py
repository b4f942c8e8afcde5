"""Random journals as a keeper writes them: text of every verb, in several files, with secrets if wanted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st

HOUSEHOLD = """\
household: {name: Test house, people: 2, units: us}
bins: {Lower Bin: {worms: red wigglers, surface: 4 sq ft}, Upper Bin: {worms: red wigglers}}
givers:
  Nora Quist: {shown as: a friend, otherwise: {landfill: 60%, recycling: 40%}}
  Elm House: {shown as: a house nearby}
  Ivo: {}
plantings: {Plum: {kind: fruit tree}, Long Bed: {kind: vegetable bed}}
measures: {bag of shredded paper: {weighed: [2.4 lb, 2.9 lb, 2.5 lb]}, bucket: 5 gal}
otherwise: {food scraps: landfill}
"""
FIRST = dt.date(2023, 12, 20)
NUMBERS = ("1", "2.5", "1/4", "1 1/2", "about 3", "1-2", "0.75", "12")
WEIGHTS = ("lb", "oz", "kg", "g")
VOLUMES = ("cups", "L", "quarts")
WASTE = ("newspaper", "junk mail", "banana peels", "coffee grounds", "bread")
PLACES = {"bin": ("Lower Bin", "Upper Bin"), "giver": ("Nora Quist", "Elm House", "Ivo")}


def _amount(draw: st.DrawFn, *materials: str) -> str:
    number, unit = draw(st.sampled_from(NUMBERS)), draw(st.sampled_from(WEIGHTS))
    return f"{number} {unit} {draw(st.sampled_from(materials))}"


def _amounts(draw: st.DrawFn, *materials: str) -> str:
    many = [_amount(draw, *materials) for _ in range(draw(st.integers(1, 3)))]
    return many[0] if len(many) == 1 else f"{', '.join(many[:-1])} and {many[-1]}"


@st.composite
def lines(draw: st.DrawFn) -> str:
    """Draw one record line, without its dash."""
    in_bin, giver = draw(st.sampled_from(PLACES["bin"])), draw(st.sampled_from(PLACES["giver"]))
    from_giver = draw(st.sampled_from(["", f" from {giver}"]))
    volume = f"{draw(st.sampled_from(NUMBERS))} {draw(st.sampled_from(VOLUMES))} coffee grounds"
    shapes: tuple[Callable[[], str], ...] = (
        lambda: f"took in {_amounts(draw, *WASTE)}{from_giver}",
        lambda: f"took in 2 bags of shredded paper{from_giver}",
        lambda: f"shredded {_amount(draw, 'newspaper', 'junk mail')}{from_giver}",
        lambda: f"fed {_amounts(draw, *WASTE[2:])}{from_giver} to {in_bin}",
        lambda: f"fed {volume} and 5 eggshells to {in_bin}",
        lambda: f"bedded {in_bin} with {_amounts(draw, 'shredded paper', 'coir', 'newspaper')}",
        lambda: f"bought {_amount(draw, 'coir', 'worms')} for $9.50 from the shop",
        lambda: f"added {_amount(draw, 'worms')} to {in_bin}",
        lambda: f"harvested {_amount(draw, 'castings')} from {in_bin}",
        lambda: f"spread {_amount(draw, 'castings')} on {draw(st.sampled_from(['Plum', 'Long Bed']))}",
        lambda: f"gave {_amount(draw, 'castings')} to {giver}",
        lambda: f"threw out {_amount(draw, 'plastic windows')} out of junk mail",
        lambda: f"threw out {_amount(draw, 'newspaper')} out of newspaper",
        lambda: f"recycled {_amount(draw, 'newspaper')}",
        lambda: f"checked {in_bin}: 68 F, moisture 80%",
        lambda: f"spent ${draw(st.integers(1, 90))} on screens",
    )
    return draw(st.sampled_from(shapes))()


@dataclass(frozen=True)
class Day:
    """One entry: its date, whether it is private, its prose and its record lines."""

    date: dt.date
    private: bool
    prose: str
    lines: tuple[str, ...]

    def text(self) -> str:
        """Write the entry."""
        mark = " (private)" if self.private else ""
        items = "".join(f"- {line}\n" for line in self.lines)
        return f"## {self.date.isoformat()}{mark}\n\n{self.prose}\n\n{items}\n"


def days(most: int = 8, *, private: bool = True) -> st.SearchStrategy[list[Day]]:
    """Draw the entries of a journal."""
    one = st.builds(
        Day,
        st.integers(0, 500).map(lambda day: FIRST + dt.timedelta(days=day)),
        st.booleans() if private else st.just(value=False),
        st.sampled_from(["", "Rain.", "A *fine* day with [a link](https://example.org)."]),
        st.lists(lines(), max_size=4).map(tuple),
    )
    return st.lists(one, min_size=1, max_size=most)


def lay_out(folder: Path, files: Mapping[str, str], household: str = HOUSEHOLD) -> Path:
    """Write a journal's files into a folder, and give the folder."""
    for name, text in {"household.yaml": household, **files}.items():
        path = folder / "entries" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder

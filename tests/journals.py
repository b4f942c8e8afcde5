"""Small journals for tests: made from text as a keeper writes it, or at random for the laws."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from hypothesis import strategies as st

from journal.notes.household import Bin, Giver, Household, Planting
from journal.notes.materials import Catalogue, Material
from journal.notes.place import Place
from journal.notes.records import Amount, Entry, Notes, Record
from journal.reckoning.tally import Tally

HOUSEHOLD = """\
household: {name: Test house, people: 2, units: us}
bins: {Lower Bin: {worms: red wigglers}, Upper Bin: {worms: red wigglers}}
givers: {Nora Quist: {shown as: a friend}, Elm House: {shown as: a house nearby}}
plantings: {Plum: {kind: fruit tree}}
"""


def lay_out(folder: Path, entries: str, household: str = HOUSEHOLD) -> Path:
    """Write a journal of one file into a folder and give the folder."""
    (folder / "entries").mkdir(parents=True, exist_ok=True)
    (folder / "entries" / "household.yaml").write_text(household, encoding="utf-8")
    (folder / "entries" / "all.md").write_text(entries, encoding="utf-8")
    return folder


def tally_of(folder: Path, entries: str, household: str = HOUSEHOLD) -> Tally:
    """Read a journal of one file and give its tally; a line that cannot be read fails the test."""
    from journal.commands.files import read_journal

    notes = read_journal(lay_out(folder, entries, household))
    assert not notes.problems, [str(problem) for problem in notes.problems]
    return Tally(notes)


# -- random journals, straight from records, so that the laws are not held up by reading -----------------

PAPERS = ("junk mail", "newspaper", "shredded paper")
FOODS = ("banana peels", "coffee grounds")
SUPPLIES = ("coir", "castings")
CATALOGUE = Catalogue.of(
    [
        *(
            Material(name, "paper", waste=True, form_of=("paper",) if name == "shredded paper" else ())
            for name in PAPERS
        ),
        *(Material(name, "food scraps", waste=True) for name in FOODS),
        *(Material(name, "supplies", waste=False) for name in SUPPLIES),
        Material("plastic windows", "other", waste=True),
    ]
)
PEOPLE = Household(
    name="Test house",
    bins={name: Bin(name) for name in ("Lower Bin", "Upper Bin")},
    givers={
        "Nora": Giver("Nora", 1, "a friend", otherwise={"landfill": 0.6, "recycling": 0.4}),
        "Elm": Giver("Elm", 2, "a house nearby"),
    },
    plantings={"Plum": Planting("Plum")},
    otherwise={"food scraps": {"landfill": 1.0}},
)
FIRST = dt.date(2023, 12, 20)


def amounts(*materials: str, batches: tuple[str, ...] = ()) -> st.SearchStrategy[tuple[Amount, ...]]:
    """Draw one to three amounts of some of the materials or batches."""
    one = st.builds(
        lambda grams, name, doubt: Amount(
            grams / 1000,
            name,
            f"{grams} g",
            own=doubt * grams / 1e5,
            shared={f"density of {name}": grams / 2e4} if doubt == 3 else {},
            is_batch=name in batches,
        ),
        st.integers(1, 5000),
        st.sampled_from(materials + batches),
        st.integers(0, 3),
    )
    return st.lists(one, min_size=1, max_size=3).map(tuple)


def _record(verb: str, day: int, many: tuple[Amount, ...], number: int, **sides: str | None) -> Record:
    words = ", ".join(f"{amount.words} {amount.material}" for amount in many)
    told = " ".join(f"{key} {value}" for key, value in sorted(sides.items()) if value)
    place = Place("all.md", number + 1, 1)
    return Record(verb, FIRST + dt.timedelta(days=day), many, place, 0, f"{verb} {words} {told}", **sides)  # type: ignore[arg-type]


@st.composite
def records(draw: st.DrawFn, number: int = 0) -> Record:
    """Draw one record of any verb that moves material."""
    day, bin_name = draw(st.integers(0, 400)), draw(st.sampled_from(["Lower Bin", "Upper Bin"]))
    giver = draw(st.sampled_from([None, "Nora", "Elm"]))
    batch = draw(st.sampled_from(["Batch A", "Batch B"]))
    waste = PAPERS + FOODS
    batches = ("Batch A", "Batch B")
    kind = draw(st.sampled_from(["batch", "bin", "material"]))
    out_of = {"batch": batch, "bin": bin_name, "material": draw(st.sampled_from(waste))}[kind]
    shapes: dict[str, tuple[st.SearchStrategy[tuple[Amount, ...]], dict[str, str | None]]] = {
        "took in": (amounts(*waste), {"giver": giver}),
        "shredded": (amounts("junk mail", "newspaper"), {"giver": giver}),
        "bought": (amounts(*SUPPLIES), {}),
        "mixed": (amounts(*waste, *SUPPLIES, batches=batches), {"batch": batch, "batch_kind": "bedding"}),
        "fed": (amounts(*waste), {"giver": giver, "bin": bin_name}),
        "bedded": (amounts("shredded paper", batches=batches), {"bin": bin_name}),
        "harvested": (amounts("castings"), {"bin": bin_name}),
        "returned": (amounts("castings"), {"bin": bin_name}),
        "spread": (amounts("castings", batches=batches), {"planting": "Plum"}),
        "gave": (amounts("castings"), {"giver": giver}),
        "recycled": (amounts("newspaper"), {}),
        "threw out": (amounts("plastic windows", *waste), {"out_of": out_of, "out_of_kind": kind}),
    }
    verb = draw(st.sampled_from(sorted(shapes)))
    many, sides = shapes[verb]
    return _record(verb, day, draw(many), number, **sides)


def notes_of(listed: list[Record]) -> Notes:
    """Give notes that hold just these records, all written in one entry."""
    newest = max((record.date for record in listed), default=FIRST)
    entry = Entry(newest, "", private=False, place=Place("all.md", 1, 1), blocks=())
    return Notes(PEOPLE, CATALOGUE, [entry], listed, [], [], {"Batch A": "bedding", "Batch B": "bedding"})


def journals(most: int = 25) -> st.SearchStrategy[Notes]:
    """Draw a journal of up to ``most`` records."""
    return st.lists(records(), max_size=most).map(notes_of)

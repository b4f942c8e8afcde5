"""Slips: each is pointed out once, at its line, and each can be silenced by saying that it is right."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from journal.notes.household import Household
from journal.notes.materials import Catalogue, Material
from journal.notes.place import Fault, Problem
from journal.notes.records import Record
from journal.reckoning.ledger import build_ledger
from journal.reckoning.slips import slips
from tests.handwritten import MATERIALS, PEOPLE, amount, day, journal, written
from tests.reader_words import read

NOBODY = replace(PEOPLE, givers={})


def found(
    records: list[Record], household: Household = NOBODY, today: dt.date | None = None
) -> list[Problem]:
    """The slips of a journal."""
    notes = journal(records, household)
    return slips(notes, build_ledger(notes), today)


def of_fault(fault: Fault, records: list[Record], household: Household = NOBODY) -> list[Problem]:
    """The slips of one kind."""
    return [slip for slip in found(records, household) if slip.fault is fault]


def fed(on: int, kg: float, bin_: str = "Crate", **sides: object) -> Record:
    """A feeding of peels; with ``confirmed`` the keeper said that it is right."""
    return written("fed", on, amount(kg, "peels"), bin=bin_, **sides)


USUAL = [fed(on, kg) for on, kg in enumerate((0.8, 1.0, 1.1, 1.2, 0.9))]


def usual() -> list[Record]:
    """Five feedings of about a kilogram, as fresh records."""
    return [replace(record) for record in USUAL]


def test_ten_times_the_usual_is_pointed_out() -> None:
    """Twelve kilograms where one is usual is likely to be 1.2; the remark stands at the amount's words."""
    (slip,) = of_fault(Fault.TEN_TIMES, [*usual(), fed(9, 12.0)])
    assert slip.is_remark
    assert slip.sentence == '12 kg of peels is 11 times the usual for "fed", which is about 1.05 kg'
    assert (slip.place.line, slip.words) == (12, "12 kg")
    assert slip.source[slip.place.column - 1 :].startswith("12 kg")


def test_nine_times_the_usual_may_be_a_pumpkin() -> None:
    """A big but possible meal is no slip."""
    assert of_fault(Fault.TEN_TIMES, [*usual(), fed(9, 8.0)]) == []


def test_a_material_too_new_to_have_a_usual_goes_by_its_stream() -> None:
    """The first cores fed are held against all food scraps fed, once there are eight of those."""
    new = written("fed", 20, amount(15, "cores"), bin="Crate")
    assert of_fault(Fault.TEN_TIMES, [*(fed(on, 1.0) for on in range(7)), new]) == []
    (slip,) = of_fault(Fault.TEN_TIMES, [*(fed(on, 1.0) for on in range(8)), new])
    assert "15 kg of cores" in slip.sentence


def test_a_confirmed_amount_is_no_slip() -> None:
    """Where the keeper says that it is right, the remark is gone."""
    assert of_fault(Fault.TEN_TIMES, [*usual(), fed(9, 12.0, confirmed=True)]) == []


def test_a_day_to_come_is_pointed_out() -> None:
    """An entry dated next year is a remark, once for its entry."""
    records = [fed(0, 1.0), fed(365, 1.0)]
    (slip,) = [each for each in found(records, today=day(1)) if each.fault is Fault.FUTURE_DATE]
    assert "2027-01-01 is still to come: today is 2026-01-02" in slip.sentence
    assert [each for each in found(records, today=day(365)) if each.fault is Fault.FUTURE_DATE] == []


def test_a_line_with_a_date_of_its_own_to_come_is_pointed_out() -> None:
    """A line that gives itself a date to come stands out at itself, not at its entry."""
    records = [fed(0, 1.0), fed(40, 1.0)]
    notes = journal(records, NOBODY)
    notes.entries[1] = notes.entries[1]._replace(date=day(0))  # type: ignore[index]
    dated = [slip for slip in slips(notes, build_ledger(notes), day(1)) if slip.fault is Fault.FUTURE_DATE]
    assert [slip.place.line for slip in dated] == [records[1].place.line]


def test_the_same_line_twice_names_the_other() -> None:
    """Two equal lines of one day are a remark at the second; the same words on another day are none."""
    (slip,) = of_fault(Fault.SAME_LINE_TWICE, [fed(0, 1.0), fed(1, 1.0), fed(0, 1.0)])
    assert slip.place.line == 6
    assert "all.md:2:3" in slip.sentence
    assert of_fault(Fault.SAME_LINE_TWICE, [fed(0, 1.0), fed(0, 1.0, confirmed=True)]) == []


def test_a_harvest_bigger_than_what_went_in() -> None:
    """Five kilograms out of a bin that got three are a remark; the next harvest is judged anew."""
    sift = [
        written("harvested", on, amount(kg, "castings"), bin="Crate") for on, kg in ((50, 5.0), (90, 1.0))
    ]
    (slip,) = of_fault(Fault.HARVEST_TOO_BIG, [fed(0, 3.0), sift[0], fed(60, 2.0), sift[1]])
    assert slip.place.line == 4
    assert "more than the 3 kg that went in" in slip.sentence
    sift[0].confirmed = True
    assert of_fault(Fault.HARVEST_TOO_BIG, [fed(0, 3.0), sift[0]]) == []


def test_a_harvest_within_what_went_in_is_fine() -> None:
    """Feed and bedding both count as what went in."""
    bedded = written("bedded", 0, amount(3, "newspaper"), bin="Crate")
    sift = written("harvested", 50, amount(5, "castings"), bin="Crate")
    assert of_fault(Fault.HARVEST_TOO_BIG, [fed(0, 3.0), bedded, sift]) == []


def test_a_bin_before_its_start_and_after_its_end() -> None:
    """Lines outside a bin's days are remarks at the bin's name; its first and last day are inside."""
    crate = PEOPLE.bins["Crate"]._replace(started=day(5), ended=day(50))
    household = replace(NOBODY, bins={"Crate": crate, "Trough": PEOPLE.bins["Trough"]})
    records = [fed(on, 1.0) for on in (4, 5, 50, 51)]
    assert [slip.place.line for slip in of_fault(Fault.BIN_NOT_STARTED, records, household)] == [2]
    assert [slip.place.line for slip in of_fault(Fault.BIN_ENDED, records, household)] == [8]
    moved = written("moved", 60, amount(0.1, "worms"), bin="Trough", source_bin="Crate")
    (slip,) = of_fault(Fault.BIN_ENDED, [moved], household)
    assert slip.words == "Crate"


def test_a_giver_that_never_gives() -> None:
    """A giver no line names is a remark in household.yaml, but an empty journal is left in peace."""
    (slip,) = of_fault(Fault.GIVER_NEVER_GIVES, [fed(0, 1.0)], PEOPLE)
    assert slip.place.file == "household.yaml"
    assert "Ada" in slip.sentence
    assert of_fault(Fault.GIVER_NEVER_GIVES, [], PEOPLE) == []
    assert of_fault(Fault.GIVER_NEVER_GIVES, [fed(0, 1.0, giver="Ada")], PEOPLE) == []


def test_waste_on_hand_for_sixty_days() -> None:
    """Paper taken in and never used is a remark after sixty days; supplies may lie as long as they like."""
    taken = written("took in", 0, amount(2, "newspaper"), giver="Ada")
    bought = written("bought", 0, amount(5, "grit"))
    assert of_fault(Fault.LONG_ON_HAND, [taken, bought, fed(59, 1.0)]) == []
    (slip,) = of_fault(Fault.LONG_ON_HAND, [taken, bought, fed(60, 1.0)])
    assert slip.sentence.startswith("2 kg of newspaper from this line has been on hand for 60 days")
    taken.confirmed = True
    assert of_fault(Fault.LONG_ON_HAND, [taken, fed(60, 1.0)]) == []


def test_many_rows_of_one_material_are_one_remark_that_one_word_silences() -> None:
    """Old paper of many lines is told once, at its last line, and "it is right" there holds for all of it."""
    rows = [written("took in", on, amount(2, "newspaper"), giver="Ada") for on in range(5)]
    (slip,) = of_fault(Fault.LONG_ON_HAND, [*rows, fed(90, 1.0)])
    assert slip.sentence.startswith(
        "10 kg of newspaper from this line and 4 earlier has been on hand for 86 days"
    )
    rows[-1].confirmed = True
    assert of_fault(Fault.LONG_ON_HAND, [*rows, fed(90, 1.0)]) == []
    later = written("took in", 20, amount(2, "newspaper"), giver="Ada")
    (slip,) = of_fault(Fault.LONG_ON_HAND, [*rows, later, fed(90, 1.0)])
    assert slip.sentence.startswith("2 kg of newspaper from this line has been on hand for 70 days")


def test_a_batch_used_beyond_what_was_made() -> None:
    """Seven kilograms out of a batch of five are a remark that names both; a weighing error is none."""
    mix = written("mixed", 0, amount(5, "newspaper"), batch="Mix 1", batch_kind="bedding")
    much = written("bedded", 9, amount(7, "Mix 1", batch=True), bin="Crate")
    (slip,) = of_fault(Fault.BATCH_OVERDRAWN, [mix, much])
    assert slip.sentence.startswith("2 kg more of Mix 1 is used than was left of it (5 kg made)")
    little = written("bedded", 9, amount(5.1, "Mix 1", batch=True), bin="Crate")
    assert of_fault(Fault.BATCH_OVERDRAWN, [mix, little]) == []


def test_a_batch_used_before_it_was_mixed() -> None:
    """However little it is, what is used of a batch before its day is a remark that names both days."""
    mix = written("mixed", 9, amount(50, "newspaper"), batch="Mix 1", batch_kind="bedding")
    early = written("bedded", 2, amount(1, "Mix 1", batch=True), bin="Crate")
    (slip,) = [each for each in found([mix, early]) if each.fault.code.startswith("batch-")]
    assert slip.fault is Fault.BATCH_NOT_MIXED
    assert slip.sentence == "Mix 1 is used on 2026-01-03, before it was mixed on 2026-01-10"
    assert of_fault(Fault.BATCH_NOT_MIXED, [mix, replace(early, confirmed=True)]) == []


def mixed_with(water: str) -> list[Problem]:
    """The slips of five batches alike, and a sixth whose water is so much."""
    usual_mixes = "".join(f"- mixed bedding Mix {n}: 3 lb newspaper, 7 L water\n" for n in range(1, 6))
    text = f"## 2026-03-14\n{usual_mixes}- mixed bedding Mix 6\n    - 3 lb newspaper\n    - {water}\n"
    notes = read(text)
    assert not notes.problems
    return [slip for slip in slips(notes, build_ledger(notes)) if slip.fault is Fault.TEN_TIMES]


def test_an_ingredient_is_pointed_out_on_its_own_line() -> None:
    """Ten times the usual water is remarked on where it stands, below the line that mixes."""
    (slip,) = mixed_with("70 L water")
    assert (slip.place.line, slip.place.column) == (9, 7)
    assert slip.source[slip.place.column - 1 :] == "70 L water"


def test_an_ingredient_may_be_confirmed_on_its_own_line() -> None:
    """What the keeper says to be right on an ingredient's line holds for that ingredient alone."""
    assert mixed_with("70 L water (it is right)") == []
    assert len(mixed_with("70 L water\n    - 1 lb bread (it is right)")) == 1


def sifted(on: int, kg: float) -> Record:
    """Castings out of a bin."""
    return written("harvested", on, amount(kg, "castings"), bin="Crate")


def spread(on: int, kg: float, **sides: object) -> Record:
    """Castings onto a bed."""
    return written("spread", on, amount(kg, "castings"), planting="Bed", **sides)


def test_castings_used_beyond_what_was_harvested() -> None:
    """Twelve kilograms spread of four sifted are a remark that names the eight; a weighing error is none."""
    (slip,) = of_fault(Fault.CASTINGS_OVERDRAWN, [fed(0, 30), sifted(9, 4), spread(10, 12)])
    assert slip.sentence == "8 kg more castings are used here than was on hand"
    assert (slip.place.line, slip.words) == (6, "12 kg")
    assert of_fault(Fault.CASTINGS_OVERDRAWN, [fed(0, 30), sifted(9, 4), spread(10, 4.1)]) == []
    assert of_fault(Fault.CASTINGS_OVERDRAWN, [spread(10, 12, confirmed=True)]) == []
    bought = written("bought", 9, amount(8, "castings"))
    assert of_fault(Fault.CASTINGS_OVERDRAWN, [fed(0, 30), sifted(9, 4), bought, spread(10, 12)]) == []


GENERAL = Catalogue.of(
    [
        *MATERIALS,
        Material("scraps", "food scraps", waste=True, form_of=("garden scraps",)),
        Material("garden scraps", "food scraps", waste=True, form_of=("scraps", "peels", "cores")),
        Material("cards", "paper", waste=True),
    ]
)


def beside(*records: Record) -> list[str]:
    """What is said of waste that seems to be counted twice, with a catalogue of general names."""
    notes = replace(journal(records, PEOPLE), catalogue=GENERAL)
    found_here = slips(notes, build_ledger(notes))
    return [slip.sentence for slip in found_here if slip.fault is Fault.COUNTED_BESIDE]


def test_the_same_scraps_under_another_name_are_pointed_out_at_once() -> None:
    """Scraps lie on hand and peels of the same giver are fed: one sentence, on the day, with both names."""
    taken = written("took in", 0, amount(3, "scraps"), giver="Ada")
    said = ["3 kg of scraps from Ada is on hand, and 3 kg of peels is counted beside it"]
    assert beside(taken, fed(0, 3, giver="Ada")) == said
    assert beside(taken, written("fed", 0, amount(3, "scraps"), giver="Ada", bin="Crate")) == []
    assert beside(taken, fed(0, 3, giver="Ada", confirmed=True)) == []


def test_our_own_is_pointed_out_where_one_of_the_names_stands_for_others() -> None:
    """Cores taken in and scraps fed may be one; cores and peels are two things."""
    cores = written("took in", 0, amount(3, "cores"))
    (said,) = beside(cores, written("fed", 1, amount(2, "scraps"), bin="Crate"))
    assert said == "3 kg of cores is on hand, and 2 kg of scraps is counted beside it"
    assert beside(cores, fed(1, 3)) == []


def test_what_is_anothers_or_too_little_or_another_stream_is_no_slip() -> None:
    """Ada's scraps are not ours, a handful does not cover a bucket, and paper is no food."""
    taken = written("took in", 0, amount(3, "scraps"), giver="Ada")
    assert beside(taken, fed(0, 3)) == []
    assert beside(taken, fed(0, 7, giver="Ada")) == []
    assert beside(taken, written("shredded", 0, amount(3, "cards"), giver="Ada")) == []


def test_two_narrow_names_are_pointed_out_where_the_giver_is_named() -> None:
    """Newspaper of Ada's on hand and cards of Ada's shredded: only where the first covers the second."""
    taken = written("took in", 0, amount(3, "newspaper"), giver="Ada")
    assert len(beside(taken, written("shredded", 1, amount(3, "cards"), giver="Ada"))) == 1
    assert beside(taken, written("shredded", 1, amount(4, "cards"), giver="Ada")) == []


def test_shreds_on_hand_are_not_shredded_again() -> None:
    """A sack of shreds on hand is no reason to doubt the mail that is shredded beside it."""
    taken = written("took in", 0, amount(3, "shredded paper"), giver="Ada")
    assert beside(taken, written("shredded", 1, amount(3, "cards"), giver="Ada")) == []


def test_one_remark_an_arrival_and_one_word_silences_it() -> None:
    """A stock that is passed by day after day is told of once, and not at all where one line is right."""
    taken = written("took in", 0, amount(9, "scraps"))
    fed_daily = [fed(on, 1) for on in range(1, 5)]
    assert len(beside(taken, *fed_daily)) == 1
    more = written("took in", 3, amount(1, "scraps"))
    assert len(beside(taken, *fed_daily, more)) == 2
    fed_daily[2].confirmed = True
    assert len(beside(taken, *fed_daily)) == 0


def test_a_clean_journal_has_no_slips() -> None:
    """An ordinary month gives no remark at all."""
    records = [*usual(), written("bedded", 6, amount(2, "newspaper"), bin="Crate")]
    assert found(records, today=day(30)) == []


def test_slips_come_in_the_order_of_their_places() -> None:
    """Remarks are listed as the files are read, whatever their kind."""
    slips_found = found([*usual(), fed(9, 12.0), replace(USUAL[0])])
    assert [slip.place for slip in slips_found] == sorted(slip.place for slip in slips_found)
    assert len(slips_found) == 2

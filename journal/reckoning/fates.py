"""How much of what was kept out of landfill is waste whose fate otherwise nobody knows."""

from __future__ import annotations

from collections.abc import Iterable

from journal.notes.household import Household
from journal.reckoning.diversion import PRODUCT, Cell, Figures, would_be_landfilled
from journal.reckoning.movements import DUST

ALL = 1.0
"""The share where nobody knows it of any of the waste."""


def unknown_share(household: Household, cells: Iterable[tuple[Cell, Figures]]) -> float | None:
    """Give the part (0 to 1) of what the cells kept out of landfill whose fate otherwise nobody knows.

    None where it is some of it, but no part can be given: more of some waste was thrown out than came in.
    """
    heaps: dict[tuple[str | None, str], float] = {}
    for cell, figures in cells:
        kept = figures.heaps.get("kept_out_of_landfill")
        if kept is not None and cell.stream != PRODUCT:
            key = (cell.giver, cell.stream)
            heaps[key] = heaps.get(key, 0.0) + kept.value
    parts: list[tuple[float, float]] = []  # kg, and the part of it that nobody knows
    for (giver, stream), kg in heaps.items():
        counted = would_be_landfilled(household, giver, stream)
        if abs(kg) > DUST and counted > 0:
            parts.append((kg, household.shares(giver, stream).get("unknown", 0.0) / counted))
    unknown = [part for _, part in parts if part > 0]
    if not unknown:
        return 0.0
    if min(part for _, part in parts) >= ALL:
        return ALL
    if any(kg < 0 for kg, _ in parts):
        return None
    return sum(kg * part for kg, part in parts) / sum(kg for kg, _ in parts)

"""The title block of a sheet: whose job it is, on whose order, when, taken by whom."""

from __future__ import annotations

from dataclasses import dataclass

from service.documents.blocks import Facts
from service.drawing.lettering import clean


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the counter knows of an order; what is empty is a line to write on."""

    job: str = ""
    customer: str = ""
    po: str = ""
    date: str = ""
    taken_by: str = ""

    def facts(self) -> Facts:
        """Return it as entries with their names."""
        entries = (
            ("Job", self.job),
            ("Customer", self.customer),
            ("Purchase order no.", self.po),
            ("Date", self.date),
            ("Taken by", self.taken_by),
            ("Lot number", ""),
        )
        return Facts(tuple((name, clean(value)) for name, value in entries))

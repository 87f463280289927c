"""The cautions that come with every plan: each hazard is named, with what printed sources say of it."""

from __future__ import annotations

import time

import pytest

from service.documents.blocks import Paragraph
from service.documents.take_off_pages import take_off_sheet
from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength, cautions_for
from solver.required import Required
from solver.takeoff import take_off
from tests.scenario import inches
from tests.support.measured_shed import house_of, plain_wall
from tests.support.sheets import MADE, sheet

HAZARDS = {
    # common practice, no source
    "eyes and hands": ("eye protection", "blade"),
    # Vinyl Siding Done Right (Fine Homebuilding): a fine-tooth blade, mounted backward
    "brittle in the cold": ("Cold", "chips or cracks", "reversed"),
    # ladders stand one out for four up and reach 3 ft past the landing: 29 CFR 1926.1053 (US OSHA), from memory
    "ladders": ("one out for every four up", "3 ft past"),
    # homes built before 1978: 40 CFR 745, renovation by certified renovators (US EPA)
    "lead paint": ("1978", "lead", "certified"),
    # vinyl distorts by grills and by sunlight that windows throw back: howtolookatahouse.com
    "heat": ("Grills", "windows", "distort"),
    # local code overrides maker and manual: Installation Manual, Important Notes (Polymeric Exteriors Association)
    "who has the last word": ("maker", "local code", "licensed"),
}
"""What a hazard's caution must name, and where it is printed."""
VINYL = [category for category in Category if category is not Category.OTHER]


def material(category: Category) -> Material:
    """Return a material of 12 ft."""
    return Material("stock", category, (StockLength("12", inches(144)),), DEFAULTS[category])


@pytest.mark.parametrize("category", VINYL)
@pytest.mark.parametrize("hazard", HAZARDS)
def test_every_hazard_of_vinyl_work_is_named_with_the_plan(category: Category, hazard: str) -> None:
    """A crew that strips an old wall must hear of lead before it begins, whatever it came to hang."""
    job = Job("the lean-to", Unit("in"), (material(category),), (Required("A", "stock", inches(100)),))
    words = HAZARDS[hazard]
    assert any(all(word in told for word in words) for told in plan_job(job, time.monotonic).cautions)


def test_timber_and_metal_are_spared_what_is_of_vinyl_alone() -> None:
    """Of any other stock only the saw and who has the last word are known."""
    told = cautions_for((material(Category.OTHER),))
    named = {hazard for hazard, words in HAZARDS.items() if any(all(w in one for w in words) for one in told)}
    assert named == {"eyes and hands", "who has the last word"}


# siding is not watertight, a barrier and flashing go behind it: Vinyl Siding Done Right (Fine Homebuilding)
WATER = ("water barrier", "flashing", "first")


@pytest.mark.parametrize("words", [*HAZARDS.values(), WATER], ids=[*HAZARDS, "water"])
def test_every_hazard_is_named_with_a_take_off(words: tuple[str, ...]) -> None:
    """In the answer and on the first page of the sheet, whoever measures reads it before anything is ordered."""
    found = take_off(house_of(plain_wall()))
    first = take_off_sheet(found, MADE, sheet().paper).pages[0]
    printed = [block.text for block in first.blocks if isinstance(block, Paragraph)]
    assert any(all(word in told for word in words) for told in found.cautions)
    assert set(found.cautions) <= set(printed)

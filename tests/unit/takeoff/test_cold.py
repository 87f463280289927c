"""Gaps and laps by temperature and stock length, set in the materials that the take-off hands on."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from solver.categories import Category
from solver.lengths import Unit, say
from solver.materials import Material
from solver.takeoff import take_off
from solver.takeoff.measured import Role
from solver.takeoff.rules import SLIVER, TABLE, Settings, rules_used
from tests.scenario import inches
from tests.support.measured_shed import MATERIALS, house_of, material, plain_wall


def panel_after(panel: Material, **settings: object) -> Material:
    """Return the panel as the take-off hands it on."""
    materials = (panel, *(made for role, made in MATERIALS.items() if role is not Role.PANEL))
    house = house_of(plain_wall(), materials=materials, settings=Settings(**settings))  # type: ignore[arg-type]
    found = take_off(house).house.material_for(Role.PANEL)
    assert found is not None
    return found


SHORT = MATERIALS[Role.PANEL]
LONG = material("panel-sand", Category.SIDING, 150, 200)


def test_warm_short_sticks_keep_their_settings() -> None:
    """12 ft 6 in: 1/4 in and 1 in, as they are."""
    assert panel_after(SHORT) == SHORT


def test_cold_widens_the_gap() -> None:
    """Said to be cold, or below 40 F: 3/8 in."""
    for said in ({"cold": True}, {"temperature": Fraction(39)}):
        assert say(panel_after(SHORT, **said).settings.end_gap, Unit.IN) == '3/8"'


def test_said_beats_measured() -> None:
    """``cold: false`` at 20 F keeps the normal gap."""
    assert panel_after(SHORT, cold=False, temperature=Fraction(20)) == SHORT


def test_long_sticks_take_their_own_row() -> None:
    """16 ft 8 in: 3/8 in and 1 1/4 in, 1/2 in when cold; the short row beside it stays."""
    short, long = panel_after(LONG).stock
    assert (short.end_gap, short.lap) == (None, None)
    assert (long.end_gap, long.lap) == (inches("0.375"), inches("1.25"))
    assert panel_after(LONG, cold=True).stock[1].end_gap == inches("0.5")


def test_what_a_person_set_stays() -> None:
    """A row's own gap and a material's own lap are not touched."""
    row = replace(LONG.stock[1], end_gap=inches("0.125"))
    own = replace(LONG, stock=(LONG.stock[0], row), settings=replace(LONG.settings, lap=inches(2)))
    assert panel_after(own, cold=True).stock[1] == row


def test_exactly_forty_degrees_is_named_as_a_conflict() -> None:
    """The association says below 40, one maker 40 or below."""
    house = house_of(plain_wall(), settings=Settings(temperature=Fraction(40)))
    assert [n.code for n in take_off(house).notices if n.code == "temperature_conflict"] == ["temperature_conflict"]


def test_the_cold_gap_reaches_the_runs() -> None:
    """A 20 ft run between channels is cut 3/4 in shorter when cold."""
    house = house_of(plain_wall(), settings=Settings(cold=True))
    assert say(take_off(house).walls[0].courses[0].runs[0].cut, Unit.IN) == "19'-11 1/4\""


def test_no_two_rules_share_a_name() -> None:
    """The answer lists rules by name, so two of one name could not be told apart."""
    assert len({rule.name for rule in TABLE}) == len(TABLE)


def test_the_answer_says_which_rules_were_asked_for_otherwise() -> None:
    """All of them come back; a sliver of 3 in is the person's own."""
    usual, used = rules_used(Settings(), Unit.IN), rules_used(Settings(sliver=inches(3)), Unit.IN)
    (changed,) = [now for before, now in zip(usual, used, strict=True) if before != now]
    assert (changed.name, changed.value, changed.source) == (SLIVER.name, '3"', "as asked for")

"""What a house needs besides panels: each quantity by hand, with its sum, and what stands on the order for it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from solver.lengths import Unit
from solver.takeoff import TakeOff, take_off
from solver.takeoff.answer import Needed
from solver.takeoff.goods import Need, Product, SoldAs
from solver.takeoff.measured import Eave, House, Opening, OpeningKind, Role, rectangle
from solver.takeoff.rules import Settings, settings_for
from tests.scenario import MILLIMETRE, inches
from tests.support.measured_shed import DOOR, LAMP, MATERIALS, VENT, WINDOW, house_of, plain_wall, post

WALL = plain_wall(240, 96, DOOR, WINDOW, LAMP, left=post("a"), right=post("b"))
"""20 ft by 8 ft between two posts: a door of 64 x 83 in, a window of 34 x 45 in, a lamp's block of 7 x 9 in."""


def need_of(house: House, need: Need) -> Needed | None:
    """Return how much of a need a house has."""
    return next((found for found in take_off(house).needs if found.need is need), None)


def goods_of(found: TakeOff) -> dict[str, tuple[Decimal, str | None]]:
    """Return what stands on the order beside what is cut: quantity and product by name."""
    return {good.what: (good.quantity, good.product) for good in found.goods}


BY_HAND = [
    (Need.HOUSE_WRAP, 176, "sq ft"),  # 20 x 8 = 160 sq ft, and 10 % for laps
    (Need.WRAP_TAPE, 8, "ft"),  # (96 - 6) / (108 - 6): one row, so only an upright seam of 8 ft
    (Need.FLASHING, "41.7", "ft"),  # 2 x (64 + 34) + 2 x (83 + 45) + 8 x 6 = 500 in = 41 2/3 ft
    (Need.CORNER_FLASHING, "16.1", "ft"),  # two posts of 96 1/2 in = 193 in = 16.08 ft
    (Need.MOUNTING_BLOCKS, 1, "pieces"),
    (Need.CASING_COIL, "8.1", "ft"),  # 64 + 2 x 83 and 2 x (34 + 45) = 388 in, 24 / 6 = 4 strips: 97 in
    # under the sill 34 1/2 in; the top course is ripped to 7 3/4 in, which is no more than 1 in off
    (Need.FURRING, "2.9", "ft"),
]


@pytest.mark.parametrize(("need", "quantity", "unit"), BY_HAND, ids=[need for need, *_ in BY_HAND])
def test_a_need_by_hand(need: Need, quantity: int | str, unit: str) -> None:
    """Lengths are rounded up to a tenth of a foot; the sums stand beside each line."""
    found = need_of(house_of(WALL), need)
    assert found is not None
    assert (found.quantity, found.unit) == (Fraction(quantity), unit), found.text


def test_every_need_has_its_sum_and_its_source() -> None:
    """Nobody has to believe a quantity: the words end in it, and say who prints the rule or that nobody was found."""
    for found in take_off(house_of(WALL, eaves=(Eave("rear", inches(240), inches(16)),))).needs:
        assert found.text.endswith((f"{float(found.quantity):g} {found.unit}", f"{found.quantity}")), found.text
        assert found.source


def test_nails_by_weight() -> None:
    """160 to the pound: a steel nail of 0.12 by 1 3/4 in, head 5/16 in, has 0.022 cu in of 0.284 lb each (geometry).

    How many there are is held elsewhere; here the division is.
    """
    found = take_off(house_of(WALL))
    total = sum(int(figure.value) for figure in found.figures if figure.name.startswith("nails for"))
    need = next(need for need in found.needs if need.need is Need.NAILS)
    assert need.quantity - Fraction(1, 10) < Fraction(total, 160) <= need.quantity


def test_furring_behind_a_top_course_that_lost_more_than_an_inch() -> None:
    """99 in at 8 in: course 13 is 2 3/4 in high; behind its utility trim 20 ft less two gaps of 1/4 in, 239 1/2 in."""
    found = need_of(house_of(plain_wall(240, 99)), Need.FURRING)
    assert found is not None
    assert (float(found.quantity), found.text) == (20, "north, course 13 19'-11 1/2\" = 20 ft")


def test_a_wall_higher_than_a_roll_is_taped_between_its_rows() -> None:
    """18 ft at rolls of 9 ft lapped 6 in: (216 - 6) / 102, three rows: 2 x 20 ft, and 18 ft upright."""
    found = need_of(house_of(plain_wall(240, 216)), Need.WRAP_TAPE)
    assert found is not None
    assert found.quantity == 58
    assert found.text == "north 2 x 20'-0\" and an upright seam of 18'-0\" = 58 ft"


def test_vents_and_blocks_are_told_apart() -> None:
    """Two fixtures, a vent and one that brings its own: one block, one vent."""
    openings = LAMP, replace(VENT, bottom=inches(60), sold_as=SoldAs.VENT)
    own = Opening("meter", OpeningKind.FIXTURE, inches(20), inches(20), inches(9), inches(12), sold_as=SoldAs.NOTHING)
    found = take_off(house_of(plain_wall(240, 96, *openings, own)))
    assert {need.need: need.quantity for need in found.needs if need.unit == "pieces"} == {
        Need.MOUNTING_BLOCKS: 1, Need.VENTS: 1,
    }  # fmt: skip


def test_fascia_is_covered_by_coil_where_none_is_bought() -> None:
    """20 ft of fascia, strips of 8 in: 3 out of a coil of 24 in, 6.7 ft of coil; a fascia that is bought needs none."""
    eave = Eave("rear", inches(240), inches(16))
    found = take_off(house_of(eaves=(eave,)))
    assert next(n.quantity for n in found.needs if n.need is Need.FASCIA_COIL) == Fraction("6.7")
    assert "fascia cover" not in goods_of(found)
    bought = house_of(eaves=(eave,), uses={**house_of().uses, Role.FASCIA: "drip-cap"})
    assert need_of(bought, Need.FASCIA_COIL) is None


def test_strapping_only_where_it_is_asked_for() -> None:
    """20 ft at 16 in: 15 spaces, 16 strips of 8 ft = 128 ft."""
    assert need_of(house_of(plain_wall()), Need.STRAPPING) is None
    found = need_of(house_of(plain_wall(), settings=Settings(strapping=inches(16))), Need.STRAPPING)
    assert found is not None
    assert found.quantity == 128


def test_what_is_switched_off_stays_off() -> None:
    """Neither listed nor on the order, and trim not planned either."""
    off = frozenset({Need.HOUSE_WRAP, Need.NAILS, Role.DRIP_CAP})
    found = take_off(house_of(WALL, without=off))
    assert {need.need for need in found.needs} & off == set()
    assert Role.DRIP_CAP not in {piece.role for piece in found.trim}
    assert {"house wrap", "nails", "drip cap"} & goods_of(found).keys() == set()
    assert "drip-cap" not in {item.material for item in found.required}


def test_what_has_no_material_is_named_as_not_ordered() -> None:
    """Starter has no material here: 237 1/2 in are 19.8 ft; wrap has a product, two packs of 100."""
    uses = {role: name for role, name in house_of().uses.items() if role is not Role.STARTER}
    wrap = Product(Need.HOUSE_WRAP, "wrap 100", Fraction(100))
    goods = goods_of(take_off(house_of(plain_wall(left=post("a"), right=post("b")), uses=uses, goods=(wrap,))))
    assert goods["starter strip"] == (Decimal("19.8"), None)
    assert goods["house wrap, 176 sq ft"] == (Decimal(2), "wrap 100")
    assert goods["nails"][1] is None


def test_posts_of_two_faces_are_two_materials() -> None:
    """One corner has a wider post: each is planned from its own material."""
    wide = replace(MATERIALS[Role.OUTSIDE_POST], id="post-wide")
    wall = plain_wall(left=replace(post("a"), material="post-wide"), right=post("b"))
    found = take_off(house_of(wall, materials=(*MATERIALS.values(), wide)))
    posts = {item.ref: item.material for item in found.required if item.mark.startswith("P")}
    assert posts == {"corner a": "post-wide", "corner b": "post"}


def test_a_metric_house_is_told_in_metres_and_kilograms() -> None:
    """6 x 2.4 m: 14.4 m2 and 10 %; 350 nails to the kilogram."""
    wall = replace(plain_wall(), outline=rectangle(6000 * MILLIMETRE, 2400 * MILLIMETRE))
    house = house_of(wall, unit=Unit.MM, exposure=200 * MILLIMETRE, settings=settings_for(Unit.MM))
    found = {need.need: need for need in take_off(house).needs}
    assert (float(round(found[Need.HOUSE_WRAP].quantity, 2)), found[Need.HOUSE_WRAP].unit) == (15.84, "m2")
    assert (found[Need.NAILS].unit, found[Need.WRAP_TAPE].unit) == ("kg", "m")

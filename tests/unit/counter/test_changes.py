"""The buttons of the forms: whatever stands behind their colon, and in the fields that name a row."""

from __future__ import annotations

import pytest

from service.counter.changes import LIST_CHANGES, changed
from service.counter.form import MaterialRow, OffcutRow, read_form
from service.counter.house.changes import HOUSE_CHANGES
from service.counter.house.form import read_house

STRANGE = ("9" * 5_000, "-1", "²", "٣" * 5_000, "0" * 5_000 + "1", "", "1.5")
"""Numbers of thousands of digits, and what is a digit and no number."""
FIELDS = {"m0-name": "sand", "m0-s0-length": "12' 6", "m1-name": "clay", "text": "4 @ 9'\n2 @ 8'"}


@pytest.mark.parametrize("written", STRANGE, ids=lambda written: written[:4])
@pytest.mark.parametrize("button", sorted({*LIST_CHANGES, *HOUSE_CHANGES}))
def test_a_button_with_a_number_that_is_none_changes_nothing_else(button: str, written: str) -> None:
    """It does not raise, and the materials that were typed stay."""
    offcut = {"o0-length": "60", "o0-material": written}
    wall = {"w0-id": "N", "w0-width": "10'", "w0-p0-along": "0", "w0-p0-up": "0", "w0-e0-edge": written}
    house = read_house({**FIELDS, **offcut, **wall, "use-starter": written})
    rows = (f"{written}-{written}-8", f"w{written}", f"w0-p{written}")
    for where in (written, f"{written}:sand", f"sand:{written}", *rows):
        pressed = f"{button}:{where}"
        of_list = changed(read_form({**FIELDS, **offcut}), pressed, LIST_CHANGES)
        for form in (of_list, changed(house, pressed, HOUSE_CHANGES)):
            assert {"sand", "clay"} <= {row.name for row in form.materials}


def test_what_is_left_over_of_a_material_behind_one_that_goes_moves_up() -> None:
    """The third material is the second then; an offcut of none stays of none."""
    offcuts = {"o0-length": "60", "o0-material": "2", "o1-length": "50", "o1-material": ""}
    form = read_form({**FIELDS, "m2-name": "J", **offcuts})
    after = changed(form, "drop-material:1", LIST_CHANGES)
    assert [row.name for row in after.materials] == ["sand", "J"]
    assert after.offcuts == (OffcutRow("60", material="1"), OffcutRow("50"))
    assert isinstance(after.materials[0], MaterialRow)

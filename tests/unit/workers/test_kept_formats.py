"""What earlier versions kept is read: a folder of records for each format that there ever was."""

from __future__ import annotations

import json
import zlib
from datetime import date
from pathlib import Path

import pytest

from tests.support.records import FOLDER, KINDS, todays
from workers.codec import FORMAT, Unreadable, pack, unpack
from workers.orders.particulars import Handover, particulars_of
from workers.plans.record import FIELDS, State, record_of

KEPT = sorted(FOLDER.glob("*/*.json"))


def lost(before: object, after: object, place: str = "") -> list[str]:
    """Return where JSON that was kept says something that it does not say once it is read and kept again."""
    if isinstance(before, dict) and isinstance(after, dict):
        return [gone for name in before for gone in lost(before[name], after.get(name), f"{place}/{name}")]
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        pairs = enumerate(zip(before, after, strict=True))
        return [gone for number, pair in pairs for gone in lost(*pair, f"{place}/{number}")]
    return [] if before == after else [place]


@pytest.mark.parametrize("file", [file for file in KEPT if file.stem in KINDS], ids=lambda file: str(file)[-20:])
def test_nothing_of_a_record_is_lost_on_the_reader(file: Path) -> None:
    """Read and kept again it says all that it said: a field that goes or is renamed takes a new format."""
    kept = json.loads(file.read_text())
    again = json.loads(zlib.decompress(pack(unpack(zlib.compress(file.read_bytes()), KINDS[file.stem]))))
    assert lost(kept | {"format": FORMAT}, again) == []


def test_every_format_has_its_folder_with_one_of_every_kind() -> None:
    """Today's too, written before anything is kept in it."""
    assert {file.parent.name for file in KEPT} == {str(number) for number in range(1, FORMAT + 1)}
    for number in range(1, FORMAT + 1):
        assert {file.stem for file in KEPT if file.parent.name == str(number)} == {*KINDS, "record"}


def test_todays_records_say_their_format() -> None:
    """And those of a format to come are read where they only say more."""
    for name, value in todays().items():
        kept = json.loads(zlib.decompress(pack(value)))
        assert kept["format"] == FORMAT
        later = kept | {"format": FORMAT + 1, "what_only_a_later_version_knows": 1}
        assert unpack(zlib.compress(json.dumps(later).encode()), KINDS[name]) == value


@pytest.mark.parametrize("folder", {file.parent for file in KEPT}, ids=lambda folder: folder.name)
def test_the_fields_beside_them_are_read(folder: Path) -> None:
    """A finished plan of the first version is one for the last."""
    kept = json.loads((folder / "record.json").read_text())
    record = record_of("a" * 32, {name: kept[name].encode() if name in kept else None for name in FIELDS})
    assert (record.state, record.client, record.failure) == (State.SUCCEEDED, "anybody", None)
    assert (record.particulars.customer, record.particulars.wanted_by) == ("Ada", date(2026, 11, 30))
    assert record.particulars.handover is Handover.PICK_UP


def test_particulars_of_a_later_version_are_read_less_what_is_new() -> None:
    """Two versions at once: the older shows what it knows."""
    assert particulars_of('{"customer": "Ada", "colour_of_van": "red"}').customer == "Ada"
    with pytest.raises(Unreadable):
        particulars_of("[1]")

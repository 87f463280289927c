"""Files that are damaged, or are none, are refused in words; nothing else is raised, whatever the bytes."""

from __future__ import annotations

from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st

from service.spreadsheets import Unreadable, opened
from tests.support.files import opendocument, workbook

TABLE = (
    '<table:table table:name="L"><table:table-row><table:table-cell office:value-type="float" office:value="4">'
    "<text:p>4</text:p></table:table-cell></table:table-row></table:table>"
)
FILES = (
    workbook({"North": [["Qty", "Length"], ["4", "115"], ["error:#REF!", "date:2026-09-07"]], "South": [["4 @ 8'"]]}),
    opendocument(TABLE),
    b'Qty,Length\n4,"9\' 7"""\n',
)
damage = st.lists(st.tuples(st.integers(0, 1 << 16), st.integers(0, 255)), min_size=1, max_size=12)


@given(st.sampled_from(FILES), damage, st.integers(0, 1 << 16))
@settings(max_examples=150, deadline=None)
def test_a_damaged_file_is_read_or_refused(data: bytes, changes: list[tuple[int, int]], end: int) -> None:
    """Bytes changed and the end cut off."""
    broken = bytearray(data)
    for place, value in changes:
        broken[place % len(broken)] = value
    with suppress(Unreadable):
        opened(bytes(broken[: end % (2 * len(broken))]))


@given(st.binary(max_size=400) | st.text(max_size=200).map(str.encode))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    """Each line has its row."""
    with suppress(Unreadable):
        file = opened(data)
        assert len(file.rows) == (file.text.count("\n") + 1 if file.rows else 0)

"""A workbook's archive, made small and honest before a library reads it.

The sizes in an archive's directory are what its maker says they are. So the parts that hold sheets are unpacked here,
up to a limit, and packed anew, as they are; macros, pictures and links to other files stay behind.
"""

from __future__ import annotations

import io
import zipfile
import zlib

from service.spreadsheets.rows import Unreadable

MOST_UNPACKED = 64 * 1024 * 1024
_MOST_PARTS = 2_000
_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""How parts may be packed (ISO/IEC 29500-2, from memory); the others take as much memory as they are told to."""
_WANTED = (
    "[Content_Types].xml",
    "_rels/.rels",
    "xl/workbook.xml",
    "xl/_rels/workbook.xml.rels",
    "xl/sharedStrings.xml",
    "xl/styles.xml",
    "mimetype",
    "content.xml",
    "META-INF/manifest.xml",
)
_SHEETS = ("xl/worksheets/", "xl/worksheets/_rels/")


def repacked(data: bytes) -> zipfile.ZipFile:
    """Return the parts of an archive that hold sheets. Raises ``Unreadable``."""
    copy = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as found, zipfile.ZipFile(copy, "w") as made:
            parts = found.infolist()
            wanted = [part for part in parts if _is_wanted(part.filename)]
            if len(parts) > _MOST_PARTS or sum(part.file_size for part in wanted) > MOST_UNPACKED:
                raise Unreadable("it unpacks to more than can be read: keep the sheets that are the list")
            if any(part.compress_type not in _PACKED for part in wanted):
                raise Unreadable("it is packed as no workbook is: save it anew")
            for part in wanted:
                with found.open(part) as packed:
                    made.writestr(part.filename, packed.read(MOST_UNPACKED))
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        raise Unreadable("it is damaged, or has a password: save it anew without one") from None
    return zipfile.ZipFile(copy)


def _is_wanted(name: str) -> bool:
    return name in _WANTED or (name.startswith(_SHEETS) and name.endswith((".xml", ".rels")))

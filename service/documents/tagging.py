"""The logical structure of a PDF, so that it is read aloud and reflowed in order: headings, tables, lists, figures.

fpdf2 knows such a structure, but builds it for pictures alone; this one takes the place of its builder.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from fpdf import FPDF
from fpdf.encryption import StandardSecurityHandler
from fpdf.structure_tree import StructElem, StructTreeRoot
from fpdf.syntax import PDFObject


@dataclass(frozen=True, slots=True)
class _Leaves:
    """The elements that hold content, as fpdf2 looks for them to tell each its page."""

    k: list[StructElem]


class _Element(StructElem):
    """An element that says what is written of it, for there are thousands, and fpdf2 looks through all that it has."""

    __slots__ = ()

    def _build_obj_dict(self, security_handler: StandardSecurityHandler | None = None) -> dict[str, object]:
        alt = self.alt and self.alt.serialize(_security_handler=security_handler, _obj_id=self.id)
        kids = self.k.serialize(_security_handler=security_handler, _obj_id=self.id)
        page = getattr(self.pg, "ref", None)
        told = {"/Alt": alt, "/K": kids, "/P": self.p.ref, "/Pg": page, "/S": self.s, "/Type": self.type}
        return {name: value for name, value in told.items() if value is not None}


class Structure:
    """The tree of a document's elements, and which of them its pages' contents belong to."""

    def __init__(self) -> None:
        self.root = StructTreeRoot()
        self.document = StructElem("/Document", self.root, [])
        self.root.k.append(self.document)
        self.doc_struct_elem = _Leaves([])
        self._elements: list[StructElem] = [self.document]
        self._pages: dict[int, int] = {}

    def begin(self, tag: str, within: StructElem | None = None) -> StructElem:
        """Return a new element of elements, the last of its parent."""
        return self._add(_Element(f"/{tag}", within or self.document, []))

    def hold(self, tag: str, page: int, within: StructElem | None, words: str | None) -> tuple[int, int]:
        """Add an element that holds content of a page; return the content's number there, and the page's."""
        number = self._pages.setdefault(page, len(self._pages))
        held = self.root.parent_tree.nums[number]
        element = self._add(_Element(f"/{tag}", within or self.document, [len(held)], page, None, words))
        held.append(element)
        self.doc_struct_elem.k.append(element)
        return len(held) - 1, number

    def _add(self, element: StructElem) -> StructElem:
        parent = element.p
        assert isinstance(parent, StructElem)
        parent.k.append(element)
        self._elements.append(element)
        return element

    def empty(self) -> bool:
        """Whether nothing is in it: an asking of fpdf2."""
        return not self.document.k

    def __iter__(self) -> Iterator[PDFObject]:
        """Yield everything that is written, the root first."""
        yield self.root
        yield self.root.parent_tree
        yield from self._elements


class TaggedPDF(FPDF):
    """A PDF of which every mark on a page is content of an element, or told to be none."""

    def __init__(self, size: tuple[float, float]) -> None:
        super().__init__(format=size)
        self.structure = Structure()
        self.struct_builder = self.structure  # type: ignore[assignment]

    @contextmanager
    def tagged(self, tag: str, within: StructElem | None = None, words: str | None = None) -> Iterator[None]:
        """Set what belongs to a new element; ``words`` say what a picture shows."""
        number, place = self.structure.hold(tag, self.page, within, words)
        self.pages[self.page].struct_parents = place
        self._set_min_pdf_version("1.7")
        self._out(f"/{tag} <</MCID {number}>> BDC")
        yield
        self._out("EMC")

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """Set what is no content: lines between rows, the foot of a page."""
        self._out("/Artifact BMC")
        yield
        self._out("EMC")

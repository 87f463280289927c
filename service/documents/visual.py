"""Text in the order in which it is seen: PDF sets letters from left to right, whichever way they are read."""

from __future__ import annotations

import unicodedata

from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection

from service.drawing.lettering import LEFT_TO_RIGHT


def visual(text: str) -> str:
    """Return a line of text with its right-to-left words turned round; Arabic letters stay unjoined."""
    if not any(unicodedata.bidirectional(character) in ("R", "AL") for character in text):
        return text.replace(LEFT_TO_RIGHT, "")
    turned = BidiParagraph(text, base_direction=TextDirection.LTR).get_reordered_string()
    return str(turned).replace(LEFT_TO_RIGHT, "")

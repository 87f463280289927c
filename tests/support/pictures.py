"""Printed pages as pictures: small, grey, a little blurred, so that only what somebody would see makes a difference."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image, ImageFilter

_DPI = 36
_BLOCK = 18
"""Pixels of half an inch."""
Picture = NDArray[np.uint8]


def pictures(document: bytes) -> list[Picture]:
    """Return every page of a PDF."""
    with pypdfium2.PdfDocument(document) as opened:
        return [np.asarray(page.render(scale=_DPI / 72, grayscale=True).to_pil().convert("L")) for page in opened]


def unlike(one: Picture, other: Picture) -> float:
    """Return how far pictures differ where they differ most: the mean over half an inch square, from 0 to 1."""
    if one.shape != other.shape:
        return 1.0
    apart = np.abs(_blurred(one) - _blurred(other)) / 255
    high, wide = (size // _BLOCK * _BLOCK for size in apart.shape)
    blocks = apart[:high, :wide].reshape(high // _BLOCK, _BLOCK, wide // _BLOCK, _BLOCK)
    return float(blocks.mean(axis=(1, 3)).max())


def _blurred(picture: Picture) -> NDArray[np.float64]:
    return np.asarray(Image.fromarray(picture).filter(ImageFilter.GaussianBlur(2)), dtype=np.float64)


def golden(path: Path) -> Picture:
    """Return a picture that was kept."""
    with Image.open(path) as kept:
        return np.asarray(kept.convert("L"))


def keep(picture: Picture, path: Path) -> None:
    """Keep a picture, of sixteen greys."""
    Image.fromarray(picture).quantize(16).save(path, optimize=True)

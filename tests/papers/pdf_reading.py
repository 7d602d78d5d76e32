"""What a PDF says: its text by page, its fonts, its page size."""

from __future__ import annotations

import ctypes
import re

import pypdfium2 as pdfium
from pypdfium2 import raw


def pages(pdf: bytes) -> list[str]:
    """Text of each page, white space made one blank."""
    document = pdfium.PdfDocument(pdf)
    texts = [page.get_textpage().get_text_range() for page in document]
    return [re.sub(r"\s+", " ", text) for text in texts]


def text(pdf: bytes) -> str:
    return " ".join(pages(pdf))


def page_size(pdf: bytes) -> tuple[int, int]:
    """Width and height of the first page in points."""
    width, height = pdfium.PdfDocument(pdf)[0].get_size()
    return round(width), round(height)


def fonts(pdf: bytes) -> set[tuple[str, bool]]:
    """Base name and embeddedness of the font of every text object, drawings included."""
    document = pdfium.PdfDocument(pdf)
    found = set()
    for page in document:
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=8):
            font = raw.FPDFTextObj_GetFont(item.raw)
            size = raw.FPDFFont_GetBaseFontName(font, None, 0)
            buffer = ctypes.create_string_buffer(size)
            raw.FPDFFont_GetBaseFontName(font, buffer, size)
            found.add((buffer.value.decode(), bool(raw.FPDFFont_GetIsEmbedded(font))))
    return found


def images(pdf: bytes) -> int:
    """How many pixel images the paper holds."""
    document = pdfium.PdfDocument(pdf)
    kinds = [raw.FPDF_PAGEOBJ_IMAGE]
    return sum(len(list(page.get_objects(filter=kinds, max_depth=8))) for page in document)

"""One file a village to be printed: its statements in order, each on a sheet of its own."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

import pikepdf


def print_file(pdfs: Sequence[Path], *, title: str) -> bytes:
    """The statements after each other for a printer that prints both sides; same in, same out.

    A statement of an odd number of pages is followed by a blank one, so that none begins on the
    back of another's. Tags for screen readers stay in the single files.
    """
    made = io.BytesIO()
    with pikepdf.new() as whole:
        for path in pdfs:
            with pikepdf.open(path) as one:
                whole.pages.extend(one.pages)
                if len(one.pages) % 2:
                    whole.add_blank_page(page_size=_size(one.pages[0]))
        for page in whole.pages:
            if "/StructParents" in page.obj:
                del page.obj["/StructParents"]
        whole.docinfo["/Title"] = title
        whole.save(
            made,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            compress_streams=True,
            deterministic_id=True,
        )
    return made.getvalue()


def _size(page: pikepdf.Page) -> tuple[float, float]:
    left, low, right, high = (float(edge) for edge in page.mediabox)
    return right - left, high - low

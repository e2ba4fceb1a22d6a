"""All papers of a span in one zip, made while it is sent: one paper at a time is in memory, nothing lies on the disk."""

import io
import zipfile
from collections.abc import Iterator
from datetime import datetime
from typing import cast

from workshop.files.queries import path
from workshop.invoices.actions import ensure_paper
from workshop.invoices.models import Document

CHUNK = 1 << 16


class _Pipe(io.RawIOBase):
    """What the zip wrote since it was last asked."""

    def __init__(self) -> None:
        super().__init__()
        self.held = bytearray()

    def writable(self) -> bool:
        """Always."""
        return True

    def write(self, data: object) -> int:
        """Keeps it until it is taken."""
        piece = bytes(cast(bytes, data))
        self.held += piece
        return len(piece)

    def take(self) -> bytes:
        """All of it, once."""
        taken = bytes(self.held)
        self.held.clear()
        return taken


def zip_of(documents: Iterator[Document]) -> Iterator[bytes]:
    """The pieces of a zip of the papers, each named by the number of its document; not packed, because a PDF is. A paper that was not
    rendered when it was issued is rendered now. The same documents make the same bytes."""
    pipe = _Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:
        for document in documents:
            issued: datetime = document.issued_at
            info = zipfile.ZipInfo(f"{document.number}.pdf", issued.timetuple()[:6])
            file = path(cast(str, ensure_paper(document).pdf_id))
            info.file_size = file.stat().st_size
            with archive.open(info, "w") as out, file.open("rb") as paper:
                while piece := paper.read(CHUNK):
                    out.write(piece)
                    yield pipe.take()
    yield pipe.take()

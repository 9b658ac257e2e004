"""A small picture that stands for a photograph of a paper sheet."""

from struct import pack
from zlib import adler32, crc32

import numpy as np

WIDTH, HEIGHT = 208, 288


def sheet_photo() -> bytes:
    """Return a PNG of a ruled sheet with scribbled cells, one bit a pixel.

    The pixels are stored and not compressed, as what a compressor makes differs with its version.
    """
    paper = np.ones((HEIGHT, WIDTH), dtype=np.uint8)
    paper[16:-16:16, 8:-8] = 0
    paper[16:-16, 8:-8:32] = 0
    across, down = np.meshgrid(np.arange(WIDTH), np.arange(HEIGHT))
    wave = 8 + np.round(4 * (((across * 7 + down // 16 * 29) % 11) / 10 - 0.5)).astype(np.int64)
    written = (down % 16 == wave) & (across % 32 > 4) & (across % 32 < 26) & (across > 8)
    inside = (down > 16) & (down < HEIGHT - 20) & (across < WIDTH - 8)
    paper[written & inside] = 0
    lines = b"".join(b"\0" + bytes(line) for line in np.packbits(paper, axis=1))
    stored = pack("<BHH", 1, len(lines), 0xFFFF - len(lines)) + lines
    data = b"\x78\x01" + stored + pack(">I", adler32(lines))
    header = pack(">IIBBBBB", WIDTH, HEIGHT, 1, 0, 0, 0, 0)
    parts = ((b"IHDR", header), (b"IDAT", data), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        pack(">I", len(body)) + name + body + pack(">I", crc32(name + body)) for name, body in parts
    )

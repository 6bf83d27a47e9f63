"""Pictures for tests, also ones that no camera makes."""

import io
import struct
import zlib

from PIL import Image

# A place, as a camera writes it (Exif 2.3 §4.6.6): 45.5° N, 30.25° W.
LATITUDE, LONGITUDE = (45.0, 30.0, 0.0), (30.0, 15.0, 0.0)
GPS, CAMERA, TURNED = 0x8825, 0x0110, 0x0112
REMARK = "Isolde was here"


def a_picture(kind: str = "JPEG", *, width: int = 40, height: int = 30) -> bytes:
    """Return a plain blue picture."""
    return _written(Image.new("RGB", (width, height), "blue"), kind)


def from_a_phone() -> bytes:
    """Return a picture that tells where and with what it was taken, lying on its side."""
    picture = Image.new("RGB", (40, 30), "blue")
    exif = Image.Exif()
    exif[CAMERA] = "Quill Phone 3"
    exif[TURNED] = 6  # to be turned by 90° to the right
    exif[GPS] = {1: "N", 2: LATITUDE, 3: "W", 4: LONGITUDE}
    return _written(picture, "JPEG", exif=exif, comment=REMARK)


def unfolding(*, width: int, height: int) -> bytes:
    """Return a PNG of few bytes that says it has so many pixels, all black."""
    rows = zlib.compressobj(9)
    row = b"\x00" * (width // 8 + 1)
    packed = b"".join(rows.compress(row * 100) for _ in range(height // 100)) + rows.flush()
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    parts = ((b"IHDR", header), (b"IDAT", packed), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in parts)


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def _written(picture: Image.Image, kind: str, **more: object) -> bytes:
    content = io.BytesIO()
    picture.save(content, kind, **more)
    return content.getvalue()

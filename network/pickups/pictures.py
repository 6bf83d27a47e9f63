"""What is kept of a picture that somebody sends: its pixels, and nothing that came along."""

import io
import struct

from PIL import Image, ImageOps

from network.errors import InvalidInput

# What the file is, by its own first bytes: neither its name nor its stated type is asked.
FORMATS = ("JPEG", "PNG", "WEBP")
FILE_BYTES_MAX = 4 * 1024 * 1024
# A small file may unfold to gigabytes; 25 million pixels are 75 MB while they are looked at.
PIXELS_MAX = 25_000_000
KEPT_PX_MAX = 1_600
QUALITY = 82

# All that Pillow raises for a file that is broken, cut short, made up or too large to unfold.
_UNREADABLE = (
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
    OSError,
    ValueError,
    SyntaxError,
    struct.error,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    MemoryError,
)


def clean_picture(content: bytes) -> bytes:
    """Return the picture as a new JPEG of at most 1600 by 1600 pixels.

    It is drawn anew, so that its place, its device, its text and whatever was hidden behind it are
    gone. Raises InvalidInput naming `file` for what is too large or no picture.
    """
    if len(content) > FILE_BYTES_MAX:
        raise _refused("This file has more than 4 MB.", "Send a smaller picture.")
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as picture:
            return _drawn_anew(picture)
    except _UNREADABLE:
        raise _refused(
            "This is no picture that can be read.", "Send a JPEG, a PNG or a WebP."
        ) from None


def _drawn_anew(picture: Image.Image) -> bytes:
    if picture.width * picture.height > PIXELS_MAX:
        raise _refused("This picture has more than 25 million pixels.", "Send a smaller one.")
    # Lets a large JPEG be unfolded at half or a quarter of its size.
    picture.draft("RGB", (KEPT_PX_MAX, KEPT_PX_MAX))
    upright = ImageOps.exif_transpose(picture).convert("RGBA")
    upright.thumbnail((KEPT_PX_MAX, KEPT_PX_MAX))
    drawn = Image.new("RGB", upright.size, "white")
    drawn.paste(upright, mask=upright)
    kept = io.BytesIO()
    drawn.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return kept.getvalue()


def _refused(detail: str, mend: str) -> InvalidInput:
    return InvalidInput.of("file", detail, mend)

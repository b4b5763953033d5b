"""Photo files: what a file is, its pixels upright in sRGB, one crop of them, a copy without private data.

Conventions: pixels come after EXIF rotation, RGB, (height, width, 3), uint8, or uint16 where the file holds more than
8 bits; boxes are (x, y, width, height) in those pixels. The file itself is never changed. JPEG, PNG, TIFF, WebP, and
HEIC where its decoder is installed (``photo.heic``).
"""

from __future__ import annotations

import io
import os
import stat
import threading
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import ExifTags, Image, UnidentifiedImageError
from PIL.TiffImagePlugin import TiffImageFile

from readaid.core.errors import PhotoError, ZoneError
from readaid.core.identity import sha256_of
from readaid.core.progress import Progress, unheard
from readaid.photo import colour_profile as profile
from readaid.photo import first_bytes, heic, sixteen_bit
from readaid.photo.raster import Image as Array
from readaid.photo.raster import eight_bit, fitted, white_point

#: What is tried on a file from anywhere. Without a list Pillow tries all it knows, and a PostScript file that calls
#: itself photo.jpg starts Ghostscript.
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
#: Most pixels we open: Pillow's own bomb limit, 13,377 x 13,377; a decoded photo then takes at most 0.54 GB at 8 bits.
MAX_PIXELS = 178_956_970
#: What Pillow's readers raise on damaged bytes: they divide by a width of nought, run out of buffer, miss a key.
DAMAGED = (OSError, SyntaxError, ValueError, TypeError, ArithmeticError, LookupError, EOFError, MemoryError)
_OPENING = threading.Lock()
# a lying EXIF block is told of by nothing but its missing date; Pillow would print a line for each entry, each time
warnings.filterwarnings("ignore", "Corrupt EXIF data|Possibly corrupt EXIF data|Truncated File Read", UserWarning)


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """What a photo file says of itself. ``width`` and ``height`` are after EXIF rotation; ``taken`` is ISO 8601 in the
    camera's own time ("" if unknown); ``private`` names what the file tells of place, owner and camera."""

    width: int
    height: int
    bits: int
    sha256: str
    taken: str
    format: str = "JPEG"
    orientation: int = 1
    profile: str = ""
    private: tuple[str, ...] = ()


def sha256(path: str | os.PathLike[str], progress: Progress = unheard) -> str:
    """SHA-256 of the file's bytes as 64 hexadecimal digits; raises PhotoError if it cannot be read."""
    _ordinary(path)
    try:
        return sha256_of(path, progress)
    except OSError as error:
        raise _unreadable(path, error) from error


def describe(path: str | os.PathLike[str], progress: Progress = unheard) -> PhotoFile:
    """Check that ``path`` is a whole photo and say what it is; raises PhotoError with the cure if it is not.

    A JPEG or WebP is decoded to find a cut-off end (JPEG at an eighth of its size), a PNG's checksums are read, a
    TIFF's strips are looked for. ``progress`` is told while its bytes are read.
    """
    digest = sha256(path, progress)
    with opened(path) as picture:
        bits, turned = depth(picture), orientation(picture)
        found = PhotoFile(*size(picture), bits=bits, sha256=digest, taken=_taken(picture),
                          format=picture.format or "", orientation=turned,
                          profile=profile.name_of(picture.info.get("icc_profile")), private=_private(picture))
        if found.bits > 16:
            raise PhotoError(f"The photo has {found.bits} bits a channel", _name(path), "save it as a 16-bit TIFF")
        _whole(picture, path)
    return found


def load(path: str | os.PathLike[str]) -> Array:
    """Pixels upright in sRGB: (height, width, 3), uint8, or uint16 for a file of more than 8 bits.

    Raises PhotoError as ``describe`` does.
    """
    with opened(path) as picture:
        icc, bits, turned = picture.info.get("icc_profile"), depth(picture), orientation(picture)
        try:
            if bits > 8:
                pixels = profile.deep_to_srgb(sixteen_bit.stored(path, picture), icc)
            else:
                pixels = _array(profile.to_srgb(flat(picture), icc))
                turned = still_turned(picture, turned)
        except DAMAGED as error:
            raise _damaged(path, error) from error
        picture.close()  # lets Pillow's own copy of the pixels go before the turned one is made
    return upright(pixels, turned)


def window(size: tuple[int, int], box: tuple[float, float, float, float],
           margin: float = 0.0) -> tuple[int, int, int, int]:
    """Whole pixels (left, top, right, bottom) that ``box`` covers in a photo of ``size`` (width, height), clipped.

    Raises ZoneError for a box without area or wholly outside.

    >>> window((80, 100), (70.5, 90, 20, 30))
    (70, 90, 80, 100)
    """
    x, y, w, h = (float(v) for v in box)
    if not np.isfinite([x, y, w, h, margin]).all() or w <= 0 or h <= 0:
        raise ZoneError("The zone has no area", f"{w:g} x {h:g} px", "draw it again", box=box)
    more = margin * max(w, h)
    width, height = size
    left, top = max(0, int(np.floor(x - more))), max(0, int(np.floor(y - more)))
    right, bottom = min(width, int(np.ceil(x + w + more))), min(height, int(np.ceil(y + h + more)))
    if left >= right or top >= bottom:
        raise ZoneError("The zone lies outside the photo", f"x {x:g}, y {y:g}; photo {width} x {height}",
                        "move it onto the photo", box=box)
    return left, top, right, bottom


def cut(pixels: Array, box: tuple[float, float, float, float], margin: float = 0.0) -> Array:
    """The part of an array that ``box`` (x, y, width, height) covers, clipped; raises ZoneError if there is none.

    >>> cut(np.zeros((100, 80, 3), np.uint8), (70, 90, 20, 30)).shape
    (10, 10, 3)
    """
    left, top, right, bottom = window((pixels.shape[1], pixels.shape[0]), box, margin)
    return pixels[top:bottom, left:right]


def clean_jpeg(path: str | os.PathLike[str], max_px: int = 2000, quality: int = 88) -> bytes:
    """A JPEG for exports, longer side at most ``max_px``, with no metadata: no position, owner or serial number."""
    if max_px < 1:
        raise PhotoError(f"A picture of {max_px} px cannot be made", _name(path), "ask for at least 1 px")
    pixels = load(path)
    small, _ = fitted(eight_bit(pixels, white_point(pixels)), max_px)
    return jpeg(small, quality)


def jpeg(pixels: Array, quality: int = 85) -> bytes:
    """JPEG bytes of a uint8 RGB or grey array, no metadata."""
    stream = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(stream, "JPEG", quality=quality)
    return stream.getvalue()


def header(path: str | os.PathLike[str]) -> Image.Image:
    """The Pillow image, its header read by a reader of ``FORMATS``; the caller bounds its size and closes it."""
    # warning filters belong to the whole process: two threads that open photos would undo each other's
    with _OPENING, warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # bounds of our own take its place
        return Image.open(path, formats=formats(first_bytes.head(path)))


def formats(head: bytes) -> tuple[str, ...]:
    """What is tried on a file that begins with ``head``: HEIC only where it looks so and its decoder is here."""
    return (heic.NAME,) if heic.is_heic(head) and heic.decoder() else FORMATS


def opened(path: str | os.PathLike[str]) -> Image.Image:
    """The Pillow image, header read and checked, pixels not; the caller closes it. Raises PhotoError."""
    _ordinary(path)
    try:
        if os.path.getsize(path) == 0:
            raise PhotoError("The photo file is empty", _name(path), "copy it again from the camera")
        if raw := first_bytes.raw(path):
            raise PhotoError(f"This is a camera's raw file ({raw}): what the sensor saw, and no finished picture",
                             _name(path), "develop it in the camera's program, save a 16-bit TIFF and take that in; "
                             "keep the raw file beside it")
        picture = header(path)
    except Image.DecompressionBombError as error:
        raise _too_large(path) from error
    except UnidentifiedImageError as error:
        if heic.is_heic(first_bytes.head(path)):
            raise PhotoError("HEIC photographs need a decoder that is not installed here", _name(path),
                             "install it with: pip install readaid[heic], or save the photo as JPEG") from error
        if other := first_bytes.other(path):
            raise PhotoError(f"{other} files are not read", _name(path),
                             "save it as JPEG, PNG, TIFF or WebP") from error
        raise PhotoError("This file is not a photo that can be opened", _name(path),
                         "choose a JPEG, PNG, TIFF, WebP or HEIC") from error
    except (SyntaxError, ValueError) as error:
        raise _damaged(path, error) from error
    except OSError as error:
        raise (_unreadable if error.errno else _damaged)(path, error) from error
    # Asked by its header, before a pixel is decoded: a file of 2 KB may say that it is 100,000 pixels wide.
    if picture.width * picture.height > MAX_PIXELS:
        picture.close()
        raise _too_large(path, picture.size)
    return picture


def size(picture: Image.Image) -> tuple[int, int]:
    """Width and height after EXIF rotation. A TIFF is asked itself: Pillow turns its size at opening, others later."""
    width, height = picture.size
    if isinstance(picture, TiffImageFile):
        width, height = int(picture.tag_v2[256]), int(picture.tag_v2[257])
    return (height, width) if orientation(picture) >= 5 else (width, height)


def still_turned(picture: Image.Image, turned: int) -> int:
    """What is left to turn once the pixels are loaded: Pillow turns a TIFF by itself and then drops the tag."""
    return orientation(picture) if isinstance(picture, TiffImageFile) else turned


def orientation(picture: Image.Image) -> int:
    """EXIF orientation 1..8; anything else counts as 1."""
    if picture.format == "PNG" and not _png_has_exif(picture):
        return 1
    try:
        value = picture.getexif().get(ExifTags.Base.Orientation, 1)
    except (SyntaxError, ValueError, OSError):  # a damaged EXIF block does not spoil the photo
        return 1
    return int(value) if isinstance(value, int) and 1 <= value <= 8 else 1


def _png_has_exif(picture: Image.Image) -> bool:
    """Whether there is an eXIf chunk; asking Pillow would decode the whole PNG (3 s at 60 MP) to look behind it."""
    stream = getattr(picture, "fp", None)
    if stream is None or "exif" in picture.info or "Raw profile type exif" in picture.info:
        return True
    place, kind = stream.tell(), b""
    stream.seek(8)
    while kind not in (b"eXIf", b"IEND"):
        head = stream.read(8)
        if len(head) < 8:
            break
        kind = head[4:]
        stream.seek(int.from_bytes(head[:4], "big") + 4, os.SEEK_CUR)
    stream.seek(place)
    return kind == b"eXIf"


def upright(pixels: Array, turned: int) -> Array:
    """Turn stored pixels upright by EXIF orientation ``turned`` (1..8; EXIF 2.32, tag 274).

    >>> upright(np.array([[1, 2], [3, 4]], np.uint8), 6).tolist()
    [[3, 1], [4, 2]]
    """
    if turned in (2, 3):
        pixels = pixels[:, ::-1]
    if turned in (3, 4):
        pixels = pixels[::-1]
    if turned in (5, 6, 7, 8):
        pixels = np.swapaxes(pixels, 0, 1)
    if turned in (6, 7):
        pixels = pixels[:, ::-1]
    if turned in (7, 8):
        pixels = pixels[::-1]
    return np.ascontiguousarray(pixels)


def depth(picture: Image.Image) -> int:
    """Bits a channel as stored in the file; Pillow's mode hides it (it opens a 16-bit RGB TIFF as 8 bits)."""
    if isinstance(picture, TiffImageFile):
        bits = picture.tag_v2.get(258, (1,))
        return int(max(bits)) if isinstance(bits, tuple) else int(bits)
    stream = getattr(picture, "fp", None)
    if picture.format == "PNG" and stream is not None:
        place = stream.tell()
        stream.seek(24)  # IHDR: bit depth is the byte after width and height
        (bits,) = stream.read(1)
        stream.seek(place)
        return int(bits)
    return 8


def flat(picture: Image.Image) -> Image.Image:
    """An 8-bit picture as RGB, L or CMYK, transparency laid on white."""
    if picture.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in picture.info:
        over = picture.convert("RGBA")
        white = Image.new("RGB", over.size, "white")
        white.paste(over, mask=over.getchannel("A"))
        return white
    if picture.mode in ("RGB", "L", "CMYK"):
        picture.load()
        return picture
    return picture.convert("L" if picture.mode == "1" else "RGB")


def _array(picture: Image.Image) -> Array:
    """Pillow pixels as an RGB array, by strips: asking for all at once holds a 60 MP photo three times."""
    out = np.empty((picture.height, picture.width, 3), np.uint8)
    for top in range(0, picture.height, 512):
        bottom = min(top + 512, picture.height)
        strip = picture.crop((0, top, picture.width, bottom))
        out[top:bottom] = np.asarray(strip if strip.mode == "RGB" else strip.convert("RGB"))
    return out


def _whole(picture: Image.Image, path: str | os.PathLike[str]) -> None:
    try:
        if isinstance(picture, TiffImageFile):
            tags = picture.tag_v2
            starts, sizes = (tags.get(273) or tags.get(324) or ()), (tags.get(279) or tags.get(325) or ())
            length = os.path.getsize(path)
            if not starts or any(int(a) + int(n) > length for a, n in zip(starts, sizes, strict=True)):
                raise OSError("strips lie outside the file")
        elif picture.format == "PNG":
            # verify() leaves a picture unusable, so a second one is opened for it
            with opened(path) as fresh:
                fresh.verify()
        else:
            # a JPEG that is cut off shows it at an eighth of its size too
            picture.draft("RGB", (picture.width // 8, picture.height // 8))
            picture.load()
    except DAMAGED as error:
        raise _damaged(path, error) from error


def _taken(picture: Image.Image) -> str:
    try:
        exif = picture.getexif()
        more = exif.get_ifd(ExifTags.IFD.Exif)
    except (SyntaxError, ValueError, OSError):
        return ""
    text = str(more.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime) or "").strip("\0 ")
    day, _, time = text.partition(" ")
    parts = day.split(":")
    if len(parts) != 3 or not all(p.isdigit() for p in parts) or int(parts[0]) == 0:
        return ""
    offset = str(more.get(ExifTags.Base.OffsetTimeOriginal) or "").strip("\0 ")
    return "-".join(parts) + (f"T{time}{offset}" if time else "")


def _private(picture: Image.Image) -> tuple[str, ...]:
    try:
        exif = picture.getexif()
        more: dict[int, Any] = exif.get_ifd(ExifTags.IFD.Exif)
        found = {"position": bool(exif.get_ifd(ExifTags.IFD.GPSInfo)),
                 "owner": bool(more.get(ExifTags.Base.CameraOwnerName) or exif.get(ExifTags.Base.Artist)
                               or exif.get(ExifTags.Base.Copyright)),
                 "camera serial number": bool(more.get(ExifTags.Base.BodySerialNumber)
                                              or more.get(ExifTags.Base.LensSerialNumber))}
    except (SyntaxError, ValueError, OSError):
        return ()
    return tuple(name for name, there in found.items() if there)


def _ordinary(path: str | os.PathLike[str]) -> None:
    """Refuse what never ends or never answers (devices, pipes) before anything reads it, and names no system takes."""
    if not isinstance(path, str | os.PathLike):  # a number would be taken for an open file
        raise PhotoError(f"{type(path).__name__} is no file name", cure="give the photo's path")
    try:
        kind = os.stat(path).st_mode
    except ValueError as error:  # a NUL in the name
        raise PhotoError("This is no file name", ascii(str(path))[:80], "choose a photo from the folder") from error
    except OSError as error:
        raise _unreadable(path, error) from error
    if not stat.S_ISREG(kind) and not stat.S_ISDIR(kind):
        raise PhotoError("This is a device or a pipe, not a photo", _name(path), "choose a photo file")


def _name(path: str | os.PathLike[str]) -> str:
    return Path(path).name or str(path)


def _unreadable(path: str | os.PathLike[str], error: OSError) -> PhotoError:
    if isinstance(error, FileNotFoundError):
        return PhotoError("The photo is not there", _name(path), "check its name, or put it back into the folder")
    if isinstance(error, IsADirectoryError) or os.path.isdir(path):  # Path.is_dir raises for a name that is too long
        return PhotoError("This is a folder, not a photo", _name(path), "choose a photo inside it")
    return PhotoError(f"The photo cannot be read: {error.strerror or error}", _name(path),
                      "check that the file is whole and may be read")


def _damaged(path: str | os.PathLike[str], error: BaseException) -> PhotoError:
    return PhotoError("The photo is damaged or cut off", _name(path), "copy it again from the camera",
                      reason=str(error))


def _too_large(path: str | os.PathLike[str], size: tuple[int, int] | None = None) -> PhotoError:
    told = f" ({size[0]:,} x {size[1]:,} px)" if size else ""
    return PhotoError(f"The photo is too large{told}; at most {MAX_PIXELS // 1_000_000} million pixels are opened",
                      _name(path), "crop it or save it at a smaller size")

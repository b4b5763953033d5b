"""The pictures of a school: one file a specimen, named by its content, never changed; their prepared forms beside them.

Conventions: ``pictures/`` holds originals byte for byte (or the crop of a zone as PNG), named by the first 20 hex
digits of their SHA-256, so that one form met twice is one file. ``forms.npz`` holds descriptors of ``form_index.KIND``
by the same name; it can be made again at any time.
"""

from __future__ import annotations

import contextlib
import io
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from readaid.core.errors import ReadaidError
from readaid.core.identity import sha256_of
from readaid.photo.file import describe, load
from readaid.schools.form_index import KIND, LENGTH

FOLDER = "pictures"
INDEX = "forms.npz"
_SUFFIX = {"JPEG": ".jpg", "MPO": ".jpg", "PNG": ".png", "TIFF": ".tif", "WEBP": ".webp"}


class Pictures:
    """The pictures in one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def take_in(self, source: Path) -> tuple[str, str]:
        """Copy a picture in, byte for byte; returns its relative path and its SHA-256. Raises PhotoError."""
        facts = describe(source)
        return self._put(source.read_bytes(), facts.sha256, _SUFFIX[facts.format]), facts.sha256

    def put(self, pixels: npt.NDArray[np.uint8]) -> tuple[str, str]:
        """Keep a crop, (H, W[, 3]) uint8, as PNG; returns its relative path and its SHA-256."""
        buffer = io.BytesIO()
        Image.fromarray(np.ascontiguousarray(pixels)).save(buffer, "PNG")
        part = self._part(buffer.getvalue())
        digest = sha256_of(part)
        return self._move(part, digest, ".png"), digest

    def drop(self, images: Iterable[str]) -> None:
        """Take pictures away that came in and got no record; one that is gone already is no fault."""
        for image in images:
            (self.folder / image).unlink(missing_ok=True)

    def pixels(self, image: str) -> Any:
        """The pixels of a picture kept under this relative path, (H, W, 3) uint8."""
        path = (self.folder / image).resolve()
        if not path.is_relative_to(self.folder.resolve()):
            raise ReadaidError("The register names a picture outside the school's folder", image, "take it in again")
        return load(path)

    def _put(self, data: bytes, digest: str, suffix: str) -> str:
        return self._move(self._part(data), digest, suffix)

    def _part(self, data: bytes) -> Path:
        place = self.folder / FOLDER
        part = place / f"{os.getpid()}-{os.urandom(4).hex()}.part"  # two processes may take in at the same moment
        try:
            place.mkdir(parents=True, exist_ok=True)
            with part.open("wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            with contextlib.suppress(OSError):
                part.unlink()
            raise ReadaidError("The picture cannot be kept", f"{place}: {error.strerror}",
                               "make room on the disk or choose a folder in which you may write") from error
        return part

    def _move(self, part: Path, digest: str, suffix: str) -> str:
        name = f"{FOLDER}/{digest[:20]}{suffix}"
        os.replace(part, self.folder / name)  # the same content where it is there already
        return name

    # -- descriptors ---------------------------------------------------------------------------------
    def descriptors(self, wanted: dict[str, str]) -> npt.NDArray[np.float16]:
        """Descriptors (n, 704) of pictures, ``wanted`` being relative paths by SHA-256; made once and kept."""
        from readaid.schools.form_index import descriptor_of

        kept = self._kept()
        new = {sha: descriptor_of(self.pixels(image)).astype(np.float16)
               for sha, image in wanted.items() if sha not in kept}
        if new:
            kept |= new
            self._keep(kept)
        return np.stack([kept[sha] for sha in wanted]) if wanted else np.zeros((0, LENGTH), np.float16)

    def _kept(self) -> dict[str, npt.NDArray[np.float16]]:
        path = self.folder / INDEX
        try:
            with np.load(path, allow_pickle=False) as kept:
                if str(kept["kind"]) == KIND and kept["vectors"].shape[1:] == (LENGTH,):
                    return dict(zip(kept["names"].tolist(), kept["vectors"], strict=True))
        except (OSError, ValueError, KeyError):  # none yet, cut off, or of an older making: it is made again
            pass
        return {}

    def _keep(self, kept: dict[str, npt.NDArray[np.float16]]) -> None:
        part = self.folder / f"{INDEX}.{os.getpid()}.part"
        with contextlib.suppress(OSError):  # a folder that cannot be written makes its descriptors each time
            with part.open("wb") as stream:
                np.savez(stream, kind=np.array(KIND), names=np.array(list(kept)), vectors=np.stack(list(kept.values())))
            os.replace(part, self.folder / INDEX)

"""The character model: a small net run by onnxruntime on one thread of the CPU.

Conventions: input windows (n, 1, 48, 48) float32 (see ``window``); ``scores`` (n, classes
+ 1) are log likelihoods up to a constant of each row (the shares of the training
set are already taken out), the last column "none of these"; ``embedding`` (n, 128) has unit
length, so that a dot product is a cosine.
"""

from __future__ import annotations

import threading
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from readaid.core.errors import ShapeError
from readaid.glyphs.classes import FOLDER, classes
from readaid.photo.ink import Floats

FILE = FOLDER / "characters.onnx"
_LOCK = threading.Lock()


@lru_cache(maxsize=2)
def _session(path: Path) -> Any:
    if not path.is_file():
        raise ShapeError("The character model is missing", path.name, "install readaid again")
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def run(windows: Floats) -> tuple[Floats, Floats]:
    """Scores (n, classes + 1) and embeddings (n, 128) of windows (n, 1, 48, 48).

    >>> scores, embedding = run(np.zeros((1, 1, 48, 48), np.float32))
    >>> scores.shape[1] == len(classes()) + 1, embedding.shape
    (True, (1, 128))
    """
    with _LOCK:
        session = _session(FILE)
    scores, embedding = session.run(None, {"windows": np.ascontiguousarray(windows, np.float32)})
    if scores.shape[1] != len(classes()) + 1:
        raise ShapeError("The character model and its class table do not belong together", FILE.name,
                         "install readaid again")
    return np.asarray(scores, np.float32), np.asarray(embedding, np.float32)

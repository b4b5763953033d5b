"""Turn a checkpoint into the ONNX file that ships: weights stored in 16 bit.

Run: ``python export.py CLASSES.tsv EYE.pt OUT.onnx``. Needs torch and onnx.
"""

from __future__ import annotations

import sys
from pathlib import Path

import net
import numpy as np
import onnx
import torch
import torch.nn.functional as F
from glyphs_table import rows
from onnx import TensorProto, helper, numpy_helper
from torch import nn


def load(file: Path, outputs: int) -> net.Net:
    model = net.eye(outputs)
    state = torch.load(file, map_location="cpu", weights_only=True)
    model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in state.items()})
    return model.eval()


class Plain(nn.Module):
    """The same with the directions of the classes at their full length, as one product."""

    def __init__(self, model: net.Net) -> None:
        super().__init__()
        self.model = model
        self.classes = nn.Parameter((F.normalize(model.out.weight, dim=1) * model.scale.exp()).T.contiguous())

    def forward(self, x: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        x = F.relu(self.model.reduce(self.model.body(x)))
        e = F.normalize(self.model.norm(self.model.embed(F.avg_pool2d(x, 2).flatten(1))), dim=1)
        return e @ self.classes, e


def main(table: Path, file: Path, out: Path) -> None:
    torch.onnx.export(
        Plain(load(file, len(rows(table)) + 1)).eval(),
        torch.zeros(1, 1, 48, 48),
        str(out),
        input_names=["windows"],
        output_names=["scores", "embedding"],
        dynamic_axes={k: {0: "n"} for k in ("windows", "scores", "embedding")},
        dynamo=False,
    )
    graph = onnx.load(out)
    casts, held = [], []
    for tensor in graph.graph.initializer:
        array = numpy_helper.to_array(tensor)
        if array.dtype == np.float32 and array.size > 64:
            half = numpy_helper.from_array(array.astype(np.float16), tensor.name + "_half")
            casts.append(helper.make_node("Cast", [half.name], [tensor.name], to=TensorProto.FLOAT))
            held.append(half)
        else:
            held.append(tensor)
    del graph.graph.initializer[:]
    graph.graph.initializer.extend(held)
    nodes = list(graph.graph.node)
    del graph.graph.node[:]
    graph.graph.node.extend(casts + nodes)
    onnx.checker.check_model(graph)
    onnx.save(graph, out)
    print(out, out.stat().st_size / 2**20, "MiB")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]))

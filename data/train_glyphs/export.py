"""Turn a checkpoint into the ONNX file that ships: training shares taken out, weights stored in 16 bit.

Run: ``python export.py CLASSES.tsv CHECKPOINT_FOLDER OUT.onnx [student|teacher]``. Needs torch and onnx.
"""

from __future__ import annotations

import sys
from pathlib import Path

import net
import numpy as np
import onnx
import torch
from glyphs_table import rows
from onnx import TensorProto, helper, numpy_helper


def load(folder: Path, name: str, outputs: int) -> net.Net:
    model = getattr(net, name)(outputs)
    state: dict[str, torch.Tensor] = {}
    for part in sorted(folder.glob(f"{name}_*.pt")):
        state |= torch.load(part, map_location="cpu", weights_only=True)
    model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in state.items()})
    return model.eval()


def main(table: Path, folder: Path, out: Path, name: str = "student") -> None:
    shares = np.load(folder / "prior.npy")
    model = load(folder, name, len(rows(table)) + 1)
    with torch.no_grad():
        model.out.bias[:-1] -= torch.from_numpy(np.log(np.maximum(shares, 1e-7)))
        model.out.bias[-1] -= float(np.log(0.05))
    torch.onnx.export(
        model,
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
    main(Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3]), *sys.argv[4:5])

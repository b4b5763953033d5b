"""Write trained weights as ONNX with 16-bit numbers: python export.py ZONES.pt zones.onnx (needs PyTorch and onnx).

Batch normalisation is folded into the convolutions; OpenCV's reader gets plain convolutions, sums and enlargements.
"""

import sys
from pathlib import Path

import net
import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper


def main(weights: str, out: str) -> None:
    stored = torch.load(weights, weights_only=True, map_location="cpu")
    model = net.Net()
    model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in stored.items()})
    torch.onnx.export(
        model.eval(),
        torch.zeros(1, 2, 64, 96),
        out,
        input_names=["maps"],
        output_names=["cells"],
        dynamic_axes={"maps": {2: "h", 3: "w"}, "cells": {2: "ch", 3: "cw"}},
        dynamo=False,
        opset_version=13,
        do_constant_folding=True,
    )
    graph = onnx.load(out)
    casts, halves = [], []
    for tensor in list(graph.graph.initializer):
        values = numpy_helper.to_array(tensor)
        if values.dtype == np.float32 and values.size > 64:
            halves.append(numpy_helper.from_array(values.astype(np.float16), tensor.name + "_h"))
            casts.append(helper.make_node("Cast", [tensor.name + "_h"], [tensor.name], to=TensorProto.FLOAT))
            graph.graph.initializer.remove(tensor)
    graph.graph.initializer.extend(halves)
    nodes = list(graph.graph.node)
    del graph.graph.node[:]
    graph.graph.node.extend(casts + nodes)
    onnx.checker.check_model(graph)
    onnx.save(graph, out)
    print(out, round(Path(out).stat().st_size / 2**10), "KiB")


if __name__ == "__main__":
    main(*sys.argv[1:3])

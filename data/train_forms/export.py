"""Write trained weights as ONNX with 16-bit numbers: python export.py TRAIN.pt forms.onnx (needs PyTorch and onnx)."""

import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import nn


def network():
    """The classes Net and Score as train.py defines them, without its data and loop."""
    source = Path(__file__).with_name("train.py").read_text(encoding="utf-8")
    space = {"nn": nn, "torch": torch, "F": nn.functional}
    exec(source[source.index("class Block("):source.index("net=Net()")], space)
    return space["Net"]


class Plain(nn.Module):
    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        middle = self.net.mid(self.net.stem(x))
        return self.net.loc(middle), self.net.lin(self.net.top(middle).flatten(1))


def main(weights, out):
    stored = torch.load(weights, weights_only=True, map_location="cpu")["net"]
    net = network()()
    net.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in stored.items()})
    torch.onnx.export(Plain(net.eval()), torch.zeros(1, 1, 56, 56), out, input_names=["form"],
                      output_names=["local", "whole"], dynamo=False, opset_version=13)
    model = onnx.load(out)
    casts, halves = [], []
    for tensor in list(model.graph.initializer):
        values = numpy_helper.to_array(tensor)
        if values.dtype == np.float32 and values.size > 1000:
            halves.append(numpy_helper.from_array(values.astype(np.float16), tensor.name + "_h"))
            casts.append(helper.make_node("Cast", [tensor.name + "_h"], [tensor.name], to=TensorProto.FLOAT))
            model.graph.initializer.remove(tensor)
    model.graph.initializer.extend(halves)
    nodes = list(model.graph.node)
    del model.graph.node[:]
    model.graph.node.extend(casts + nodes)
    onnx.checker.check_model(model)
    onnx.save(model, out)


if __name__ == "__main__":
    main(*sys.argv[1:3])

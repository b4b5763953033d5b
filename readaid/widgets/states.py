"""States of the panels, as types: what Python tells and what the browser may rely on.

Conventions: the names are those of the panel's ``state``; a pair is a value and its words. Each module of states has
one of the same name in ``static/``, written from it for the browser's type check; every state that a panel tells in a
test is held against its type. Coordinates are full-size pixels of the picture as it is read, shares and confidences
0..1.
"""

from __future__ import annotations

from readaid.widgets import board_states, reading_states, register_states, school_states, sign_states

#: Modules that hold the types, in the order in which one may rely on another.
MODULES = (board_states, sign_states, reading_states, school_states, register_states)
#: The type of each panel's state, by the name of the panel's class.
STATES: dict[str, type] = {
    "PhotoBoard": board_states.PhotoBoardState,
    "SheetPanel": sign_states.SheetPanelState,
    "CharacterPanel": sign_states.CharacterPanelState,
    "TracingPanel": sign_states.TracingPanelState,
    "FormTracing": sign_states.TracingPanelState,
    "ReadingPanel": reading_states.ReadingPanelState,
    "SignaturePanel": school_states.SignaturePanelState,
    "ComparePanel": school_states.ComparePanelState,
    "SchoolPanel": school_states.SchoolPanelState,
    "AlbumPanel": school_states.AlbumPanelState,
    "HeadPanel": register_states.HeadPanelState,
    "PiecePanel": register_states.PiecePanelState,
    "RegisterPanel": register_states.RegisterPanelState,
    "LogPanel": register_states.LogPanelState,
    "ReportPanel": register_states.ReportPanelState,
    "SharingPanel": register_states.SharingPanelState,
}

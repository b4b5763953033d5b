"""States of the panels about the whole piece, as types; ``states`` says what they are for.

Conventions: as in ``states``. These panels show records as text, made in Python in the language spoken.
"""

from __future__ import annotations

from typing import NotRequired, TypedDict

from readaid.widgets.board_states import Busy, Pair


class StageWords(TypedDict):
    """What is said of a place of the bench: steps, keys with what they do, the caution."""

    steps: list[str]
    keys: list[Pair]
    caution: str


class HeadPanelState(TypedDict):
    """State of the head of the bench; ``undo`` and ``redo`` say what would be taken back or done again."""

    title: str
    folder: str
    reader: str
    stages: list[Pair]
    stage: str
    languages: list[Pair]
    language: str
    undo: str
    redo: str
    locked: bool
    saved: str
    notices: list[str]
    help: StageWords


class PieceField(TypedDict):
    """A fact about the piece as a field."""

    name: str
    label: str
    number: bool
    long: bool
    choices: list[Pair]
    value: str


class DescribedPhoto(TypedDict):
    """What is said about a photograph."""

    id: str
    file: str
    title: str
    surface: str
    light: str
    evidence: str
    rights: str
    words: str


class DescribedInscription(TypedDict):
    """What is said about an inscription."""

    id: str
    words: str
    kind: str
    title: str
    surface: str
    place: str
    technique: str
    order_note: str
    note: str


class SourceRow(TypedDict):
    """Evidence beside the piece."""

    kind: str
    citation: str
    weight: str


class NoteRow(TypedDict):
    """A note about the piece."""

    text: str


class PiecePanelState(TypedDict):
    """State of the facts about the piece; ``sensitive`` as (part, whether it is marked, words)."""

    fields: list[PieceField]
    sensitive: list[tuple[str, bool, str]]
    evidence: list[Pair]
    source_kinds: list[Pair]
    photos: list[DescribedPhoto]
    kinds: list[Pair]
    inscriptions: list[DescribedInscription]
    sources: list[SourceRow]
    notes: list[NoteRow]


class TableColumn(TypedDict):
    """A column of a table."""

    name: str
    title: str


class TableRow(TypedDict):
    """A row of a table, a cell a column."""

    id: str
    cells: list[str]


class HistoryRow(TypedDict):
    """A revision of a record: what it changed, in words."""

    when: str
    reader: str
    reason: str
    what: str


class Standing(TypedDict):
    """An attempt's status and how sure the reader is of it."""

    status: str
    confidence: float


class RecordDetail(TypedDict):
    """One record with its history, the newest first; an attempt's standing can be changed."""

    id: str
    title: str
    facts: list[Pair]
    history: list[HistoryRow]
    attempt: NotRequired[Standing]


class RegisterPanelState(TypedDict):
    """State of the register's tables; ``sort`` is a column and 1 or -1, ``moment`` the day it is looked at as of."""

    columns: list[TableColumn]
    rows: list[TableRow]
    total: int
    start: int
    kind: str
    kinds: list[Pair]
    query: str
    status: str
    moment: str
    statuses: list[Pair]
    sort: tuple[str, int]
    selected: str
    nothing: str
    words: list[tuple[str, float]]
    values: list[tuple[str, float]]
    locked: bool
    detail: RecordDetail | None


class LogRow(TypedDict):
    """A sentence of the log; ``stands`` where it was not taken back, ``back`` where there is a way back to it."""

    id: str
    when: str
    who: str
    words: str
    character: str
    stands: bool
    back: bool


class LogPanelState(TypedDict):
    """State of the log."""

    open: bool
    locked: bool
    lines: list[LogRow]


class RegionRow(TypedDict):
    """A damaged place: the photograph it lies on in words, its cause, what to do about it."""

    id: str
    words: str
    cause: str
    advice: str
    note: str


class EntryField(TypedDict):
    """A field of an entry; ``offer`` is what is proposed where nothing stands."""

    name: str
    label: str
    long: bool
    value: str
    offer: str


class EntryRow(TypedDict):
    """The catalogue entry of one inscription."""

    id: str
    words: str
    fields: list[EntryField]


class ReportPanelState(TypedDict):
    """State of the report: what is chosen, the condition, the entries."""

    formats: list[Pair]
    busy: Busy | None
    regions: list[RegionRow]
    causes: list[Pair]
    advices: list[Pair]
    layers: list[str]
    layer_kinds: list[Pair]
    entries: list[EntryRow]
    format: str
    edition: str
    language: str
    part: str
    private: bool
    blind: bool


class MergedCopy(TypedDict):
    """What came back with a copy; conflicts as (record, field, before, ours, theirs)."""

    words: str
    conflicts: list[tuple[str, str, str, str, str]]
    notices: list[str]


class SharingPanelState(TypedDict):
    """State of copies and checks; ``calibration`` as (reader, judged, score, sentence)."""

    ready: bool
    busy: Busy | None
    where: str
    locked: bool
    merged: MergedCopy | None
    agreement: list[str]
    calibration: list[tuple[str, str, str, str]] | None
    checked: list[str] | None

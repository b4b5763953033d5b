"""readaid: an inscription and signature reading aid.

Few public names, kept stable; richer things live in the rooms. Importing this
package is light: each function loads its room when first called.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from readaid._version import __version__
from readaid.core.errors import ReadaidError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readaid.core.candidate import Suggestion
    from readaid.core.dating import Dating
    from readaid.core.reading import Reading, Verse, VerseMatch
    from readaid.forms.comparison import Comparison
    from readaid.piece.open_piece import OpenPiece
    from readaid.reading.line_reading import Line
    from readaid.schools.album import School
    from readaid.script.signature_reading import SignatureReading

    Characters = str | Sequence[Any]
    Image = Any

__all__ = ["ReadaidError", "__version__", "compare", "date", "find_verse", "line", "new", "open", "read", "school",
           "signature", "suggest", "verse"]


def open(folder: str | Path, reader: str | None = None, read_only: bool = False,
         photos: str | Path | None = None) -> OpenPiece:
    """Open a piece: photos, zones, characters, register, report.

    Parameters
    ----------
    folder: the piece folder, or the ``postgresql://`` address of a register; then ``photos`` is the folder of pictures.
    reader: name written beside every revision; by default the piece's reader, else the account name.
    read_only: open without the right to write.
    photos: the folder of pictures beside a register on a server.

    Raises
    ------
    ReadaidError: no piece is kept there. RegisterError: its register cannot be read.

    >>> open("no-such-folder")
    Traceback (most recent call last):
    readaid.core.errors.ReadaidError: There is no such folder (...)...: start a piece with: ...
    """
    from readaid.piece.open_piece import OpenPiece

    return OpenPiece(folder, reader=reader, read_only=read_only, photos=photos)


def new(folder: str | Path, reader: str | None = None, photos: str | Path | None = None,
        **fields: Any) -> OpenPiece:
    """Start an empty piece in a folder.

    Parameters
    ----------
    folder: where; it is made if it is not there. Or a ``postgresql://`` address, with ``photos`` as for ``open``.
    reader: name written beside every revision.
    photos: the folder of pictures beside a register on a server.
    fields: what is known of the piece: title, material, width, height and depth in mm ... (``core.piece.Piece``).

    Raises
    ------
    ReadaidError: a piece is kept there already. OptionError: an unknown field.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place, new(place + "/lid", reader="Mori", title="A lid") as piece:
    ...     piece.piece.title
    'A lid'
    """
    from readaid.piece.open_piece import OpenPiece

    return OpenPiece.new(folder, reader=reader, photos=photos, **fields)


def read(characters: Characters, form: str | None = None, k: int = 5) -> list[Reading]:
    """Ranked readings of typed text or of candidates per sign, best first.

    Parameters
    ----------
    characters: text (``?`` an unread sign, line breaks mean columns), or one entry per sign, each a list of
        ``(character, confidence 0..1)`` pairs or ``"?"``.
    form: verse form (hokku, tanka, linked, dodoitsu, sedoka, imayo, prose ...) or the lengths of its lines as "5-7-5";
        None finds the best-fitting one.
    k: how many distinct readings at most.

    Raises
    ------
    TextError: signs that are no Japanese writing. OptionError: an unknown form.

    >>> best = read("すゝはらひ", form="prose")[0]
    >>> best.kana
    'すすはらひ'
    """
    from readaid.reading.solve import read as run

    return run(characters, form=form, k=k)


def line(characters: Characters, kind: str | None = None, k: int = 5, period: tuple[int, int] | None = None) -> Line:
    """Recognise what a line is (verse, signature, date, title, Chinese line, seal text, prose) and read it as that.

    Parameters
    ----------
    characters: as for ``read``. kind: reads it as that kind instead of the likeliest.
    k: how many readings at most. period: working period of dates in Western years (1600 to 1912 if None).

    Raises
    ------
    TextError: signs that are no Japanese writing. OptionError: an unknown kind.

    >>> found = line("於江都蘆香鐫之")
    >>> found.kind, found.signatures[0].persons[0].name
    ('signature', '蘆香')
    """
    from readaid.reading.line_reading import line as run
    from readaid.script.period import PERIOD

    return run(characters, kind=kind, k=k, period=period or PERIOD)


def signature(characters: Characters, k: int = 5, period: tuple[int, int] | None = None) -> list[SignatureReading]:
    """Ways to take a signature apart, best first: parts, persons with roles, date, checks, what was not analysed.

    Parameters
    ----------
    characters: as for ``read``, line breaks or spaces between columns.
    k: how many ways at most. period: working period of dates in Western years (1600 to 1912 if None).

    Raises
    ------
    TextError: signs that are no Japanese writing. A name on a piece is a claim, not a proof.

    >>> [(p.kind, p.text) for p in signature("江戸住 蘆香作")[0].parts]
    [('residence', '江戸住'), ('name', '蘆香'), ('verb', '作')]
    """
    from readaid.script.period import PERIOD
    from readaid.script.signature_reading import read as run

    return run(characters, k=k, period=period or PERIOD)


def verse(text: str, form: str | None = None) -> Verse:
    """Count morae line by line against a verse form; running text is broken where words end. Nothing is corrected.

    Parameters
    ----------
    text: kana, or kanji and kana; line breaks are ends of lines. form: a verse form, or "5-7-5"; None finds it.

    Raises
    ------
    TextError: signs that are no Japanese writing. OptionError: an unknown form.

    >>> verse("ふるいけや かはづとびこむ みづのおと").morae
    (5, 7, 5)
    """
    from readaid.reading.verse import verse as run

    return run(text, form=form)


def suggest(image: Image, k: int = 10, among: str = "all") -> list[Suggestion]:
    """Characters whose form a crop resembles, best first.

    Parameters
    ----------
    image: a path, a Pillow image or an array (H, W) or (H, W, 3) uint8, dark on light or light on dark.
    k: how many characters at most. among: "all", "kana" or "kanji".

    Returns suggestions whose ``probability`` 0..1 sums, with "none of these", to at most 1.

    Raises
    ------
    ShapeError: a crop without strokes. OptionError: an unknown ``among``.

    >>> import numpy as np
    >>> page = np.full((80, 80), 240, np.uint8); page[38:43, 10:70] = 30
    >>> 0 < sum(s.probability for s in suggest(page, k=3)) <= 1
    True
    """
    from readaid.glyphs.candidates import suggest as run

    return list(run(image, k=k, among=among))


def compare(a: Image, b: Image) -> Comparison:
    """Lay one form over another. A likeness is evidence of form, never of authorship.

    Parameters
    ----------
    a, b: a path, a Pillow image, an array (H, W) or (H, W, 3) uint8, dark on light or light on dark, or a stored form.

    Returns ``likeness`` 0..1 with its ``parts``; ``transform``, six numbers, a row-major 2 x 3 matrix that maps pixels
    of b's crop to pixels of a's; ``notes`` to be read beside the figure; ``picture()``.

    Raises
    ------
    ShapeError: a crop without strokes, or a single dot.

    >>> import numpy as np
    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30; page[10:50, 40:44] = 30
    >>> compare(page, page).likeness > 0.95
    True
    """
    from readaid.forms.comparison import compare as run

    return run(a, b)


def date(text: str, period: tuple[int, int] | None = None, signer: tuple[int, int] | None = None) -> list[Dating]:
    """Datings that fit a date text in any subset of era, year, cycle, month and day.

    Parameters
    ----------
    text: the date as it stands; ``?`` or 〇 is an unread sign.
    period: working period in Western years (1600 to 1912 if None); datings outside stand last and are ``folded``.
    signer: years in which the signer worked, to rank what a cycle name alone leaves open.

    Returns datings, best first: ``first`` and ``last`` as ISO days, ``era``, ``year``, ``cycle``, ``agrees``.

    Raises
    ------
    TextError: a text that is no date.

    >>> [d.first for d in date("文政元年四月廿二日")]
    ['1818-05-26']
    >>> [d.first[:4] for d in date("庚辰") if not d.folded]
    ['1640', '1700', '1760', '1820', '1880']
    """
    from readaid.script.dates import read as run
    from readaid.script.period import PERIOD, Evidence

    evidence = (Evidence(*signer, "the signer's working years"),) if signer else ()
    return list(run(text, period=period or PERIOD, evidence=evidence))


def find_verse(characters: Characters, collection: Any = None, k: int = 5) -> list[VerseMatch]:
    """Known verses near an uncertain reading, nearest first.

    Parameters
    ----------
    characters: as for ``read``. k: how many verses at most.
    collection: path of a CSV, TSV, TEI or text file (one verse a line), a list of verses, or None for what comes along;
        a list of ``Path`` and None searches several together.

    Returns matches: the verse, verdict, differences, among how many, and the chance of such a match.

    Raises
    ------
    TextError: signs that are no Japanese writing. TableError: a collection with faults.

    >>> find_verse("ふるいけや", collection=["ふるいけやかはつとひこむみつのおと"], k=1)[0].verse
    'ふるいけやかはつとひこむみつのおと'
    """
    from readaid.reading.known_verse import find_verse as run

    return list(run(characters, collection=collection, k=k))


def school(place: str | Path, title: str | None = None, reader: str | None = None,
           pictures: str | Path | None = None) -> School:
    """Open a school: makers, specimens and kept studies, in a register of its own beside the pieces.

    Parameters
    ----------
    place: a folder, or a ``postgresql://`` address (then ``pictures`` names the folder of pictures).
    title: begins a new school where there is none yet. reader: name written beside every revision.
    pictures: the folder of pictures, by default the school's own.

    Raises
    ------
    ReadaidError: there is no school and no title is given.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place, school(place, title="Hands", reader="Mori") as opened:
    ...     opened.add_maker("蘆香", active_from=1800).name
    '蘆香'
    """
    from readaid.schools.album import School

    return School(place, title=title, reader=reader, pictures=pictures)

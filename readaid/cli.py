"""The command line: thin, every answer also as JSON.

Conventions: an error is one sentence with the cure on standard error and exit
code 2; a traceback only with ``--debug``. JSON is UTF-8, one object per answer,
with the field names of the Python results.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from readaid import cli_catalogue, cli_custody, cli_lines, cli_school
from readaid._version import __version__
from readaid.cli_answers import (
    SETTINGS,
    answer,
    as_json,
    dating_words,
    example,
    match_words,
    proposal_words,
    reading_words,
    verse_words,
)
from readaid.core.errors import ReadaidError

PICTURES_HELP = "Folder of pictures, for a piece whose register lies on a server (data/department.md)."
FORM_HELP = ("Verse form: hokku, tanka, linked, dodoitsu, sedoka, imayo, prose ..., or the lengths of its lines, as "
             "5-7-5; left out: the best-fitting one.")


class Commands(click.Group):
    """A group that tells our own errors in one sentence."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except ReadaidError as error:
            if ctx.params.get("debug"):
                raise
            click.echo(f"readaid: {error}", err=True)
            ctx.exit(2)
        except BrokenPipeError:
            raise  # `readaid search ... | head` has read enough: click ends without a word
        except OSError as error:
            if ctx.params.get("debug"):
                raise
            name = f" ({error.filename})" if error.filename else ""
            click.echo(f"readaid: {error.strerror or error}{name}: check the disk and the folder's rights.", err=True)
            ctx.exit(2)


@click.group(cls=Commands, context_settings=SETTINGS,
             epilog=example("readaid demo\nreadaid open my-piece\nreadaid read 'すゝはらひ'"))
@click.version_option(__version__, prog_name="readaid")
@click.option("--debug", is_flag=True, help="Show the traceback of an error.")
def main(debug: bool) -> None:
    """Read inscriptions and signatures: photo, characters, readings, register, report."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")


@main.command(epilog=example("readaid demo demo-piece"))
@click.argument("folder", type=click.Path(path_type=Path), default=Path("readaid-demo"))
def demo(folder: Path) -> None:
    """Do the whole job on the demo piece, step by step, and leave a piece FOLDER behind."""
    from readaid.piece.demo import run

    report = run(folder, say=click.echo)
    click.echo(f"\nReport: {report}")
    click.echo(f'Open it on the bench with: readaid open "{report.parent.parent}"')


@main.command(epilog=example("readaid new water-dropper --title 'Water dropper, signed' --reader Mori"))
@click.argument("folder")
@click.option("--title", default="", help="Name of the piece.")
@click.option("--reader", default=None, help="Your name, written beside every entry.")
@click.option("--photo", "photos", multiple=True, type=click.Path(path_type=Path), help="A photo to take in.")
@click.option("--pictures", type=click.Path(path_type=Path), default=None, help=PICTURES_HELP)
def new(folder: str, title: str, reader: str | None, photos: tuple[Path, ...], pictures: Path | None) -> None:
    """Start an empty piece in FOLDER, or at a postgresql:// address with --pictures FOLDER."""
    import readaid
    from readaid.photo.file import describe
    from readaid.piece.folder import clear, inside

    for path in photos:  # before anything is made: a slip in the fourth name must not leave a piece with three photos
        describe(path)
    before = inside((pictures or Path(folder)).expanduser().resolve())
    piece = readaid.new(folder, reader=reader, photos=pictures, **({"title": title} if title else {}))
    try:
        with piece:
            taken = piece.add_photos(photos)
    except BaseException:
        clear(piece.folder, before)
        raise
    for photo in taken:
        click.echo(f"{photo.file}: {photo.width} x {photo.height} pixels, SHA-256 {photo.sha256[:16]}…")
    click.echo(f"{piece.folder} holds the piece. Go on with: readaid open \"{folder}\"")


@main.command(name="open", epilog=example("readaid open water-dropper"))
@click.argument("folder", type=click.Path(path_type=Path), default=Path("."))
@click.option("--browser/--no-browser", default=True, help="Open the browser, or only print the address.")
@click.option("--port", type=int, default=None, help="Port of the server.")
@click.option("--language", type=click.Choice(["en", "ja"]), default=None,
              help="Language of the screen; kept for the reader. The bench has a switch, too.")
@click.option("--notebooks", is_flag=True,
              help="Open the four notebooks in JupyterLab, with room for Python of your own.")
def open_(folder: Path, browser: bool, port: int | None, language: str | None, notebooks: bool) -> None:
    """Open the bench on the piece in FOLDER."""
    from readaid.piece.lab import start

    sys.exit(start(folder, browser=browser, port=port, language=language, notebooks=notebooks))


@main.command(epilog=example("readaid read 'すゝはらひ?ひらのうらにわらひこゑ' --form hokku\n"
                             "readaid read '須ゝ者良飛' --json"))
@click.argument("text")
@click.option("--form", default=None, metavar="NAME", help=FORM_HELP)
@click.option("-k", default=5, show_default=True, type=click.IntRange(1, 200), help="How many readings at most.")
@as_json
def read(text: str, form: str | None, k: int, json_out: bool) -> None:
    """Read typed TEXT: `?` is an unread sign, line breaks mean columns."""
    import readaid

    readings = readaid.read(text.replace("\\n", "\n"), form=form, k=k)
    answer(readings, json_out, reading_words)
    if not json_out and (known := getattr(readings, "known", None)):
        click.echo(f"Beside it, a known verse. {known.words}")


@main.command(epilog=example("readaid verse 'ふるいけやかはづとびこむみづのおと'"))
@click.argument("text")
@click.option("--form", default=None, metavar="NAME", help=FORM_HELP)
@as_json
def verse(text: str, form: str | None, json_out: bool) -> None:
    """Count the morae of TEXT line by line; nothing is corrected."""
    import readaid

    answer([readaid.verse(text.replace("\\n", "\n"), form=form)], json_out, verse_words)


@main.command(epilog=example("readaid suggest crop.png --among kana"))
@click.argument("image", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--among", type=click.Choice(["all", "kana", "kanji"]), default="all", show_default=True)
@click.option("-k", default=10, show_default=True, type=click.IntRange(1, 500))
@as_json
def suggest(image: tuple[Path, ...], among: str, k: int, json_out: bool) -> None:
    """Candidates by shape for each IMAGE of one character."""
    import readaid

    for path in image:
        if not json_out and len(image) > 1:
            click.echo(f"{path}:")
        answer(readaid.suggest(path, k=k, among=among), json_out,
               lambda s: f"  {s.character}  {'、'.join(s.sounds):<8} {s.probability:6.1%}")


@main.command(epilog=example("readaid compare monogram_a.png monogram_b.png --picture overlay.png"))
@click.argument("a", type=click.Path(path_type=Path))
@click.argument("b", type=click.Path(path_type=Path))
@click.option("--picture", type=click.Path(path_type=Path), default=None, help="Write the overlay as a PNG.")
@as_json
def compare(a: Path, b: Path, picture: Path | None, json_out: bool) -> None:
    """Lay form B over form A. Likeness is evidence of form, never of authorship."""
    import readaid

    result = readaid.compare(a, b)
    if picture is not None:
        result.picture().save(picture)
    answer([result], json_out, lambda r: f"likeness {r.likeness:.2f}  " + "  ".join(
        f"{name} {value:.2f}" for name, value in dict(r.parts).items())
        + "".join(f"\n{note}" for note in r.notes) + "\nA likeness is evidence of form, not of authorship.")


@main.command(epilog=example("readaid date '文政十二年己丑季冬'\nreadaid date '文化〇年壬申' --json"))
@click.argument("text")
@click.option("--period", metavar="FROM-TO", default=None, help="Working period in Western years. [1600-1912]")
@click.option("--signer", metavar="FROM-TO", default=None, help="Years in which the signer worked, to rank by.")
@click.option("--all", "everything", is_flag=True, help="Also the datings outside the working period.")
@as_json
def date(text: str, period: str | None, signer: str | None, everything: bool, json_out: bool) -> None:
    """Datings that fit TEXT, with their Western days."""
    import readaid
    from readaid.script.period import written

    found = readaid.date(text, period=written(period) if period else None, signer=written(signer) if signer else None)
    answer(found if json_out or everything else [d for d in found if not d.folded], json_out, dating_words)
    if (folded := sum(d.folded for d in found)) and not (json_out or everything):
        click.echo(f"{folded} more outside the working period: add --all, or set --period.")


@main.command(name="find-verse", epilog=example("readaid find-verse 'すす?らひ?ひらのうらに'\n"
                                                "readaid find-verse 'はつしぐれ' --collection mine.txt"))
@click.argument("text")
@click.option("--collection", "collections", multiple=True, type=click.Path(path_type=Path),
              help="Your own verses: CSV, TSV, TEI, or text with one verse a line; may be given more than once.")
@click.option("--only", is_flag=True, help="Search your own collections only.")
@click.option("-k", default=5, show_default=True, type=click.IntRange(1, 100))
@as_json
def find_verse(text: str, collections: tuple[Path, ...], only: bool, k: int, json_out: bool) -> None:
    """Known verses near an uncertain reading, among those that come along and your own."""
    import readaid

    if only and not collections:
        raise click.UsageError("--only searches your own collections: name one with --collection.")
    searched = [*collections] if only else [None, *collections]
    found = readaid.find_verse(text.replace("\\n", "\n"), collection=searched, k=k)
    if not found and not json_out:
        click.echo("Nothing near in this collection.")
    answer(found, json_out, match_words)


@main.command(epilog=example("readaid propose water-dropper\nreadaid propose water-dropper --among kana --json"))
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--form", default=None, metavar="NAME", help=FORM_HELP)
@click.option("--among", default="all", show_default=True, help="What unread signs may be: all, kana or kanji.")
@click.option("-k", default=3, show_default=True, type=click.IntRange(1, 200), help="How many readings at most.")
@as_json
def propose(folder: Path, form: str | None, among: str, k: int, json_out: bool) -> None:
    """Read each inscription of the piece in FOLDER, by shape where nobody has judged a sign; nothing is saved."""
    import readaid

    with readaid.open(folder, read_only=True) as piece:
        for inscription in piece.contents.inscriptions:
            if inscription.characters:
                answer([piece.propose_reading(inscription, form, k, among)], json_out, proposal_words)


@main.command(epilog=example("readaid report water-dropper --format html --edition japanese"))
@click.argument("folder")
@click.option("--format", "formats", multiple=True, default=("html",), show_default=True,
              help="html, pdf, docx, catalogue, markdown, tei, annotations, iiif, csv, xlsx, parquet; may be given "
                   "more than once.")
@click.option("--edition", type=click.Choice(["leiden", "japanese"]), default="leiden", show_default=True)
@click.option("--language", type=click.Choice(["en", "ja"]), default="en", show_default=True)
@click.option("--part", type=click.Choice(["full", "entry"]), default="full", show_default=True,
              help="The entry and the evidence behind it, or the entry alone.")
@click.option("--address", default="", metavar="URL", help="Where the piece will lie on the web, for a IIIF manifest.")
@click.option("--pictures", type=click.Path(path_type=Path), default=None, help=PICTURES_HELP)
@as_json
def report(folder: str, formats: Iterable[str], edition: str, language: str, part: str, address: str,
           pictures: Path | None, json_out: bool) -> None:
    """Write the report of the piece in FOLDER again; FOLDER may be a postgresql:// address, with --pictures."""
    import readaid

    with readaid.open(folder, read_only=True, photos=pictures) as piece:
        for name in formats:
            path = piece.report(format=name, edition=edition, language=language, part=part, address=address)
            click.echo(json.dumps({"format": name, "path": str(path)}, ensure_ascii=False) if json_out else str(path))
        troubles = [*piece.contents.faults, *piece.check_photos()]
    for trouble in troubles:
        click.echo(f"readaid: {trouble}", err=True)
    if troubles:  # the report is written and says so, too; a script must not take it for a whole one
        raise click.exceptions.Exit(1)


for _command in (*cli_custody.COMMANDS, *cli_lines.COMMANDS, *cli_school.COMMANDS, *cli_catalogue.COMMANDS):
    main.add_command(_command)
